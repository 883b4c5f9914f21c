"""Drawn signatures and photos of a fitting, as the page shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Collection, Iterable

from shared_models.checks.attached import UNDER, Drawn, Photo, drawn_in, photos_in, taken_on
from shared_models.checks.strokes import PAPER_WIDE, Stroke
from shared_models.drawings.strokes import paths_of
from shared_models.entries.fitting import FittingView
from shared_models.language import Worded, spoken
from shared_models.wording.attachments import (
    STANDS_NO_MORE, WHAT_A_DRAWN_LINE_IS, drawn_words, marked_words, picture_place_words, picture_words,
)
from shared_models.wording.course_lines import anchor_of, stamp
from shared_models.wording.dates import taken_words

#: The paper in the units of the page's drawing.
HIGH = 100.0
WIDE = PAPER_WIDE * HIGH


@dataclass(frozen=True)
class DrawnLine:
    """A drawn signature: ``paths`` are (outline, width) for an SVG of ``WIDE`` by ``HIGH``."""

    anchor: str
    title: str
    said: str
    time: str
    by: str
    paths: tuple[tuple[str, str], ...]
    doubt: str
    what_it_is: str = Worded(WHAT_A_DRAWN_LINE_IS)


@dataclass(frozen=True)
class PhotoLine:
    """A photo: its picture where it has arrived, and all of it in words.

    ``paths`` are the marks drawn over it, as (outline, width) for an SVG of
    ``wide`` by ``HIGH``; ``wide`` is the picture's own width at that height.
    """

    anchor: str
    sha256: str
    is_here: bool
    said: str
    wide: str
    paths: tuple[tuple[str, str], ...]
    shows: str
    note: str
    marked: str
    taken: str
    where: str
    by: str


def drawn_of_fitting(view: FittingView) -> list[DrawnLine]:
    """Return the drawn signatures, in the order of what they stand under."""
    return [_drawn(view, drawn) for under in UNDER for drawn in drawn_in(view, under)]


def photos_of_fitting(view: FittingView, lacking: Collection[str] = ()) -> list[PhotoLine]:
    """Return the photos, oldest first; ``lacking`` are the hashes whose bytes are not here."""
    return [_photo(view, photo, photo.sha256 not in lacking) for photo in photos_in(view)]


def _drawn(view: FittingView, drawn: Drawn) -> DrawnLine:
    words = view.edition.words
    because = words("not_signed_because", drawn.because) if drawn.because else ""
    return DrawnLine(
        anchor_of(f"drawn/{drawn.under}"), words("signed_under", drawn.under),
        drawn_words(drawn.printed_name, words("drawn_by", drawn.who), because),
        stamp(drawn.entry.happened_at), view.record.name_of(drawn.entry.recorded_by),
        _outlines(drawn.strokes, WIDE),
        "" if drawn.stands else spoken(STANDS_NO_MORE),
    )


def _outlines(strokes: Iterable[Stroke], wide: float) -> tuple[tuple[str, str], ...]:
    return tuple(
        (_outline(path.points), f"{max(path.width, 0.8):.2f}") for path in paths_of(strokes, wide, HIGH)
    )


def _outline(points) -> str:
    """The page counts down from the top."""
    return "M" + " L".join(f"{x:.2f} {HIGH - y:.2f}" for x, y in points)


def _photo(view: FittingView, photo: Photo, is_here: bool) -> PhotoLine:
    body = photo.entry.body
    shows, note = view.edition.words("photo_shows", photo.shows), str(body.get("note") or "")
    wide = photo.wide * HIGH
    return PhotoLine(
        anchor_of(photo.slot), photo.sha256, is_here, picture_words(shows, note), f"{wide:.2f}",
        _outlines(photo.marks, wide), shows, note, marked_words(len(photo.marks)), taken_words(str(body.get("taken_at") or "")),
        picture_place_words(taken_on(view, photo.entry), is_here), view.record.name_of(photo.entry.recorded_by),
    )
