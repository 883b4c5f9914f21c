"""Photos and drawn signatures: each in its states."""

from __future__ import annotations

import io
import math

from PIL import Image, ImageDraw

from mobile.flows.photos import PhotoForm, take_in
from mobile.gallery.families import CLOSING, EARLY, LONG_WORDS
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state
from shared_models.checks.strokes import Stroke, strokes_body

_WAVE = [(0.1 + 0.8 * n / 40, 0.5 + 0.3 * math.sin(n / 3)) for n in range(41)]


def _photo(at: Showing, number: int = 0) -> PhotoForm:
    """Take an invented photo in; its draft."""
    image = Image.new("RGB", (640, 480), (150, 140 + number, 120))
    ImageDraw.Draw(image).ellipse((160, 120, 320, 240), fill=(240, 240, 240))
    file = io.BytesIO()
    image.save(file, "JPEG")
    at.tablet.photos_folder.mkdir(exist_ok=True)
    path = at.tablet.photos_folder / f"shoe-{number}.jpg"
    path.write_bytes(file.getvalue())
    work = take_in(at.session, path)
    at.wait_for(lambda: (work.drain(), work.done)[1], "the photo")
    return PhotoForm.begin(at.session, "complete", "bench", work.result)


def _saved_photo(at: Showing, number: int = 0, note: str = "heel wedge under the shoe") -> PhotoForm:
    form = _photo(at, number)
    form.edit("shows", "side_view")
    form.edit("note", note)
    form.save()
    return form


def _seen(at: Showing):
    at.wait_for(lambda: at.page.pad is None or at.page.pad.has_picture, "the picture")


@state("PhotosPage", EMPTY, CLOSING)
def no_photo(at: Showing):
    """Nothing photographed."""
    at.go("complete", "bench", "photos")


@state("PhotosPage", TYPICAL, CLOSING)
def some_photos(at: Showing):
    """One saved, one not yet."""
    _saved_photo(at)
    _photo(at, 1)
    at.go("complete", "bench", "photos")


@state("PhotosPage", ERROR, CLOSING)
def not_a_picture(at: Showing):
    """A file that is no picture."""
    at.go("complete", "bench", "photos")
    at.tablet.photos_folder.mkdir(exist_ok=True)
    path = at.tablet.photos_folder / "damaged.jpg"
    path.write_bytes(b"no picture")
    at.page.take(path)
    at.wait_for(lambda: at.finger.is_there("trouble"), "the refusal")


@state("PhotosPage", FULL, CLOSING)
def many_photos(at: Showing):
    """A dozen, one with much written beside."""
    for number in range(12):
        _saved_photo(at, number, LONG_WORDS if number == 11 else "from the side")
    at.go("complete", "bench", "photos")


@state("PhotoPage", EMPTY, CLOSING)
def photo_not_described(at: Showing):
    """Just taken in."""
    form = _photo(at)
    at.go("complete", "bench", form.slot)
    _seen(at)


@state("PhotoPage", TYPICAL, CLOSING)
def photo_recorded(at: Showing):
    """Saved, with what it shows."""
    form = _saved_photo(at)
    at.go("complete", "bench", form.slot)
    _seen(at)


@state("PhotoPage", ERROR, CLOSING)
def photo_without_what_it_shows(at: Showing):
    """Saved before it was said what it shows."""
    form = _photo(at)
    form.edit("shows", "")
    at.go("complete", "bench", form.slot)
    at.press("save")
    _seen(at)


@state("PhotoPage", FULL, CLOSING)
def photo_with_much_beside(at: Showing):
    """Much written beside it."""
    form = _saved_photo(at, note=LONG_WORDS * 2)
    at.go("complete", "bench", form.slot)
    _seen(at)


@state("DrawnPage", EMPTY, CLOSING)
def nothing_drawn(at: Showing):
    """The paper to sign on."""
    at.go("complete", "handover", "drawn/handover")


@state("DrawnPage", TYPICAL, CLOSING)
def drawn(at: Showing):
    """Signed by hand."""
    subject = at.session.fitting("complete").subject
    at.session.save("drawn_signature", subject, {
        "under": "handover", "who": "person", "printed_name": "Juniper Example-Rook", "strokes": strokes_body([Stroke(tuple(_WAVE))]),
    })
    at.go("complete", "handover", "drawn/handover")


@state("DrawnPage", ERROR, CLOSING)
def saved_without_a_line(at: Showing):
    """Saved with nothing drawn."""
    nothing_drawn(at)
    at.press("save")


@state("DrawnPage", ERROR, EARLY)
def nothing_to_sign_under(at: Showing):
    """Nothing is recorded that could be signed."""
    at.go("new", "handover", "drawn/handover")


@state("DrawnPage", FULL, CLOSING)
def signed_with_a_long_name(at: Showing):
    """A long name, a long line."""
    at.go("complete", "person", "drawn/consent")
    if at.finger.is_there("field:printed_name"):
        at.type("printed_name", LONG_WORDS[:200])
