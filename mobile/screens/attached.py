"""The doors from a fitting's pages to its photos and drawn signatures, and the pages behind them."""

from __future__ import annotations

from shared_models.checks.attached import UNDER, drawn_in, photos_in
from shared_models.language import spoken
from shared_models.wording.attachments import OPTIONAL, STANDS_NO_MORE, drawn_words
from shared_models.wording.dates import clock_words
from mobile.flows.photos import unsaved_photos
from mobile.screens.photos import PHOTOS, PhotosPage
from mobile.widgets.listing import ListRow

#: Slots beside whose form photos are usual.
_PICTURED = ("alignment/", "skin/")


def page_of(stage, fitting: str, step: str, slot: str):
    """Return the page of photos or of a drawn signature; None for any other slot."""
    if slot == PHOTOS:
        return PhotosPage(stage, fitting, step)
    if slot.startswith("photo/"):
        from mobile.screens.photo import PhotoPage

        return PhotoPage(stage, fitting, step, slot)
    if slot.startswith("drawn/") and slot.partition("/")[2] in UNDER:
        from mobile.screens.drawn import DrawnPage

        return DrawnPage(stage, fitting, step, slot.partition("/")[2])
    return None


def step_doors(page) -> None:
    """At the end of a step's list: signatures under what is recorded there, and the photos."""
    for under in UNDER:
        if under in page.step.asks and page.view.heads(under):
            signature_row(page, under)
    photo_door(page)


def photo_door(page) -> None:
    """A quiet way to the photos."""
    count = len(photos_in(page.view)) + len(unsaved_photos(page.session, page.fitting))
    words = spoken("Photos ({count})", count=count) if count else spoken("Photos")
    page.quiet(words, lambda: page.stage.go_fitting(page.fitting, page.step_key, PHOTOS), "photos", page.body)


def doors_beside(page, slot: str) -> None:
    """Beside what is recorded or typed in one slot: its signature, or the photos."""
    if slot in UNDER and page.view.heads(slot):
        signature_row(page, slot)
    if slot.startswith(_PICTURED):
        photo_door(page)


def signature_row(page, under: str) -> None:
    """A row that says who signed by a drawn line, or that nobody has to."""
    view, words = page.view, page.view.edition.words
    found = drawn_in(view, under)
    said, trailing = [spoken(OPTIONAL)], spoken("not signed")
    if found:
        said = [
            drawn_words(d.printed_name, words("drawn_by", d.who), words("not_signed_because", d.because) if d.because else "")
            for d in found
        ]
        trailing = clock_words(found[0].entry.recorded_at)
        if not all(d.stands for d in found):
            said.append(spoken(STANDS_NO_MORE))
    row = ListRow(
        title=spoken("Drawn signature: {under}", under=words('signed_under', under)), subtitle="\n".join(said),
        trailing=trailing, test_name=f"drawn:{under}",
    )
    row.fbind("on_release", lambda *_: page.stage.go_fitting(page.fitting, page.step_key, f"drawn/{under}"))
    page.body.add_widget(row)
