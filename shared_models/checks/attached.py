"""Photos and drawn signatures of a fitting, as record and page show them.

Neither is asked for by a step.  But a photo that the record names and whose bytes
a server does not have yet is part of the record that is missing there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from shared_models.checks.freshness import Freshness
from shared_models.checks.strokes import PAPER_WIDE, Stroke, strokes_from
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.entries.slots import WITHDRAWN
from shared_models.quantities.amounts import amount_from

PHOTO, DRAWN = "photo", "drawn_signature"
#: What a drawn signature may stand under, in the order of a fitting.
UNDER = ("consent", "handover", "sign_off")
#: Slots of what stands beside the steps: made apart it is said, and blocks nothing.
BESIDE = ("photo/", "drawn/")
_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class Drawn:
    """A drawn signature that holds its place; ``stands``: what it is under has not changed since."""

    entry: Entry
    under: str
    who: str
    printed_name: str
    strokes: tuple[Stroke, ...]
    because: str
    stands: bool


@dataclass(frozen=True)
class Photo:
    """A photo that holds its place; ``wide`` is its width as a part of its height."""

    entry: Entry
    slot: str
    shows: str
    sha256: str
    marks: tuple[Stroke, ...]
    wide: float


def drawn_in(view: FittingView, under: str) -> list[Drawn]:
    """Return the drawn signatures under one thing: none, one, or those made apart."""
    fresh = Freshness(view)
    return [
        Drawn(
            head, under, _text(head, "who"), _text(head, "printed_name"),
            strokes_from(head.body.get("strokes")), _text(head, "not_signed_because"),
            not fresh.causes(head),
        )
        for head in view.heads(f"drawn/{under}") if head.kind == DRAWN
    ]


def photos_in(view: FittingView) -> list[Photo]:
    """Return the photos of a fitting, oldest first.

    A withdrawn photo is left out whole: what it was said to show before it was
    corrected does not come back in its place.
    """
    found = [
        _photo(head, slot) for slot in view.filled("photo/*") if not _is_taken_out(view, slot)
        for head in view.heads(slot) if head.kind == PHOTO
    ]
    return sorted(found, key=lambda photo: view.slot(photo.slot).root(photo.entry).order)


def taken_on(view: FittingView, entry: Entry) -> str:
    """Return the name of the tablet on which an entry was made, where its bytes lie.

    A correction may be made on another tablet than the photo.
    """
    slot = view.slot(f"photo/{_text(entry, 'photo')}")
    first = slot.root(entry) if entry.digest in slot.entries else entry
    named = view.record.head(Subject("tablet", first.tablet), "tablet")
    return str(named.body.get("name") or first.tablet) if named else first.tablet


def bytes_named(entry: Entry) -> tuple[str, ...]:
    """Return the digests of the bytes that have to be here before this entry is saved.

    A correction changes what is said of a photo, wherever its bytes lie.
    """
    if entry.kind != PHOTO or entry.replaces:
        return ()
    return (_text(entry, "sha256"),)


def named_bytes(entry: Entry) -> tuple[str, ...]:
    """Return the digests of all bytes that an entry names, whatever its kind: ``sha256``.

    Kinds of a later program that name bytes do it the same way.
    """
    named = _text(entry, "sha256")
    return (named,) if _SHA256.fullmatch(named) else ()


def _is_taken_out(view: FittingView, slot: str) -> bool:
    leaves = view.slot(slot).leaves()
    return len(leaves) == 1 and leaves[0].kind == WITHDRAWN


def _photo(entry: Entry, slot: str) -> Photo:
    width, height = amount_from(entry.body.get("width_px")), amount_from(entry.body.get("height_px"))
    wide = float(width / height) if width and height else PAPER_WIDE
    return Photo(
        entry, slot, _text(entry, "shows"), _text(entry, "sha256"),
        strokes_from(entry.body.get("marks")), wide,
    )


def _text(entry: Entry, key: str) -> str:
    found = entry.body.get(key, "")
    return found if isinstance(found, str) else ""
