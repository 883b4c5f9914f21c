"""What is said of photos, marks drawn over them, and drawn signatures."""

from __future__ import annotations

from shared_models.language import Phrases, counted, filled, phrase, spoken

#: Said on the page where a photo is taken or chosen.
ADVICE = (
    phrase("Show the leg, the shoe or the skin, and leave faces out. Where it was taken and what else the camera wrote into the file is taken out before it is kept; only the day and time stay, in the record.")
)
#: Said beside every drawn signature: it proves nobody's identity.
WHAT_A_DRAWN_LINE_IS = (
    phrase("A line drawn by hand on the tablet, kept as it was drawn. It shows that somebody agreed in their own way; it does not prove who drew it.")
)
STANDS_NO_MORE = phrase("What it stands under has changed since it was signed. Have it signed again, or say why not.")
STAFF_SIGN_OTHERWISE = phrase("What staff sign is held by their own PIN and key; a drawn line adds nothing to that.")

OPTIONAL = phrase("Signing by hand on the tablet, where the person wants to. Nothing waits for it.")
FILE_STAYS = phrase("The newest first. What is chosen is copied into the record, sealed; the file itself stays where it is.")
NO_CAMERA = phrase("There is no camera here that the app may use: choose a file instead.")

#: What is signed, as it stands above the pad; what was recorded follows.
SIGNED_UNDER = Phrases({
    "consent": "I agree to the fitting and to this record being kept.",
    "handover": "The knee was shown to me. I know when to stop and whom to call.",
    "sign_off": "I tightened or read every screw as listed.",
})

REFUSALS = Phrases({
    "attachment_cancelled": "Cancelled: nothing of the photo was kept.",
    "attachment_not_whole": "Not saved: the photo's bytes are not whole on this tablet. Choose or take it again, then save.",
    "attachment_not_here": "The picture itself is not on this tablet. Once the tablet that took it has sent it, it can be fetched from the server.",
    "attachment_damaged": "The photo on this tablet is damaged: its bytes do not match its digest. Keep the record as it is and take the photo again.",
    "photo_gone": "{file} is not there any more. Take the photo again, or choose another file.",
    "photo_unreadable": "{file} can't be read ({reason}). Copy it again, or choose another file.",
    "photo_file_too_large": "{file} has {megabytes} MB, and at most {most} MB are read. Make it smaller first, or choose another.",
    "photo_empty": "{file} is empty. Take the photo again, or choose another file.",
    "photo_not_a_picture": "{file} is no picture, whatever its name says. Choose a JPEG, PNG or WebP file.",
    "photo_heic": "{file} is a HEIC picture, which this tablet can't read. Set the camera to JPEG, or choose a JPEG, PNG or WebP file.",
    "photo_cut_short": "{file} is cut short or damaged: part of the picture is missing. Copy it again, or take the photo again.",
    "photo_too_many_pixels": "{file} has {megapixels} megapixels, and at most {most} are read from a file of this sort. Take it smaller, or save it as an ordinary JPEG.",
    "camera_not_there": "There is no camera that this tablet lets the app use. Choose a file instead.",
    "camera_gave_nothing": "The camera gave no photo. Take it again, or choose a file.",
    "nothing_drawn": "Nothing is drawn yet. Sign in the field, or say why it is not signed.",
    "too_much_drawn": "That is more than is kept of a drawing. Take some strokes back, then go on.",
    "signed_and_not": "There is a drawn line and also a reason why it is not signed. Clear the line, or take the reason away.",
})
#: What was done to a picture before it was kept, by code.
_DONE = Phrases({
    "as_it_was": "Kept as it was taken, without what the camera wrote beside it.",
    "turned": "Turned upright and kept anew as a JPEG, without what the camera wrote beside it.",
    "another_format": "Kept anew as a JPEG, without what was written beside it.",
    "smaller": "Larger than is kept here: kept anew as a JPEG with {width} by {height} pixels instead of {from_width} by {from_height}.",
    "lighter": "Heavier than is kept here ({from_megabytes} MB): kept anew as a JPEG.",
})


def done_words(code: str, **figures: object) -> str:
    """Return what was done to a picture before it was kept."""
    return filled(_DONE[code], figures)


def photo_place_words(tablet: str, here: bool | None = None) -> str:
    """Return where the bytes of a photo lie; ``here`` as a tablet knows it of itself."""
    if here:
        return spoken("photo on this tablet")
    return spoken("photo, on tablet {tablet}", tablet=tablet)


def picture_place_words(tablet: str, here: bool) -> str:
    """Return where a photo was taken, and whether its picture has arrived, as a server knows it."""
    if here:
        return spoken("taken on tablet {tablet}", tablet=tablet)
    return spoken("not yet here: the picture is on tablet {tablet} and comes with its next sync", tablet=tablet)


def picture_words(shows: str, note: str) -> str:
    """Return what a photo shows, for whoever can't see it."""
    return spoken("Photo: {shows}, {note}", shows=shows, note=note) if note else spoken("Photo: {shows}", shows=shows)


def strokes_words(count: int) -> str:
    """Return how much was drawn."""
    return spoken("drawn, {count} {strokes}", count=count, strokes=counted("stroke", "strokes", count)) if count else ""


def nothing_to_sign_words(title: str) -> str:
    """Return why something can't be signed by hand yet."""
    return spoken("{title}: not recorded yet. Record it first; then it can be signed.", title=title)


def marked_words(count: int) -> str:
    """Return how much is drawn over a photo, "" for nothing."""
    return spoken("Marked up, {count} {marks}.", count=count, marks=counted("mark", "marks", count)) if count else ""


def drawn_words(name: str, who: str, because: str) -> str:
    """Return a drawn signature in a few words: who, or why not."""
    named = f"{name} ({who})" if name and who else name or who
    # Nobody knows whose hand it was; the name is what was typed beside it.
    return spoken("not signed by {named}: {because}", named=named, because=because) if because else spoken("drawn under the name {named}", named=named)
