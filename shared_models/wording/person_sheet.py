"""Words of the sheet that the person takes home; cautions come from where they are said elsewhere."""

from __future__ import annotations

from shared_models.language import Phrases, phrase

TITLE = phrase("Your new knee")
VISIT_TITLE = phrase("Your knee")
DRAFT = phrase("NOT COMPLETE")
PRACTICE, PRACTICE_STATUS = phrase("PRACTICE"), phrase("Practice: nobody was fitted, and nothing here is anybody's leg.")
NOT_COMPLETE = phrase("This sheet is not complete: {steps}.")
NOT_SIGNED = phrase("The technician has not signed off the screws yet: do not leave wearing the knee unsupervised.")
NOT_RECORDED = phrase("not recorded yet")
NOBODY = phrase("nobody has signed yet")
MAKER_FIRST = phrase("The maker's instructions for the knee come first. Where this sheet says anything else, follow the maker.")
WRITE_BY_HAND = phrase("{what} holds {scripts} writing that this sheet can't print rightly. Write it by hand on the line.")

WHO, KNEE, SETTINGS, FIRST_DAYS = phrase("Who and where"), phrase("The leg"), phrase("How it is set"), phrase("The first days")
STOP, NEXT, FITTED, CAUTIONS, DRAWING = (
    phrase("Stop, take it off, and call"), phrase("Next review"), phrase("Who fitted and who checked"), phrase("Mind this"), phrase("How the leg stood, from the side"),
)
SETTING_MEANS = Phrases({
    "stance_threshold": "how much of your weight it takes until the knee begins to brake",
    "swing_flexion": "how far the heel rises behind you",
    "swing_extension": "how gently the leg comes straight",
    "stance_damping": "how slowly the knee gives on slopes and stairs",
})
SETTING = phrase("{name}: {position} of {highest} {unit}. It sets {means}.")
SETTING_UNKNOWN = phrase("{name}: " + NOT_RECORDED + ".")
STAIRS = Phrases({
    "shown": "Stairs and slopes: shown to you, and you tried them.",
    "told": "Stairs and slopes: told only. Do not take them alone before they were shown.",
})
CALL = phrase("Call: {whom}.")
CURES = phrase("The locking compound of the screws cures until {until}. Do not walk on the leg before.")
CURE_UNKNOWN = phrase("When the locking compound of {screws} has cured is not stated. Ask before you walk on the leg.")
RESTRICTED_UNTIL = phrase("Not the {ground} before it was looked at again, on {day}.")
REVIEW_ON, LOOK_AT = phrase("Come again on {day}."), phrase("Then we look at: {what}.")
FITTED_BY, CHECKED_BY, MADE_ON = phrase("Fitted by {name}."), phrase("Screws checked and signed by {name}, {day}."), phrase("State of the record: {moment}.")
SEEN_BY, NO_SCREW_TOUCHED = phrase("Seen by {name}."), phrase("Screws: none was tightened at this visit.")
NOT_CHECKED = phrase("Screws: " + NOBODY + ".")

FILE_NAME = "person-sheet"
SAVED_AS = phrase("Saved on this tablet as {name}.")
READABLE = phrase("A saved sheet is not sealed: whoever opens the tablet's folder can read it. Hand it over, then take it away.")
PREVIEW_LEAD = phrase("This is what the person takes home. Saving makes it a PDF on this tablet.")
MAKING = Phrases({
    "content": "Putting the sheet together", "faces": "Reading the typefaces", "pages": "Setting the pages",
    "drawing": "Drawing the leg", "saving": "Saving",
})
CANCELLED = phrase("Not saved: cancelled. Nothing is left of it.")

#: Why no sheet was saved.
REFUSALS = Phrases({
    "paper_cancelled": CANCELLED,
    "paper_disk_full": "The sheet was not saved: the disk is full. Make room on this tablet, then save it again. Nothing of it is left behind.",
    "paper_not_saved": "The sheet was not saved: its folder can't be written. Nothing of it is left behind; what is recorded stays recorded.",
    "paper_too_many": "The sheet was not saved: this day holds {count} sheets of this file already. Take some of them away first.",
})
