"""Words of the sheet that the person takes home; cautions come from where they are said elsewhere."""

from __future__ import annotations

TITLE = "Your new knee"
DRAFT = "NOT COMPLETE"
PRACTICE, PRACTICE_STATUS = "PRACTICE", "Practice: nobody was fitted, and nothing here is anybody's leg."
NOT_COMPLETE = "This sheet is not complete: {steps}."
NOT_SIGNED = "The technician has not signed off the screws yet: do not leave wearing the knee unsupervised."
NOT_RECORDED = "not recorded yet"
NOBODY = "nobody has signed yet"
MAKER_FIRST = "The maker's instructions for the knee come first. Where this sheet says anything else, follow the maker."
WRITE_BY_HAND = "{what} holds {scripts} writing that this sheet can't print rightly. Write it by hand on the line."

WHO, KNEE, SETTINGS, FIRST_DAYS = "Who and where", "The leg", "How it is set", "The first days"
STOP, NEXT, FITTED, CAUTIONS, DRAWING = (
    "Stop, take it off, and call", "Next review", "Who fitted and who checked", "Mind this", "How the leg stood, from the side",
)
SETTING_MEANS = {
    "stance_threshold": "how much of your weight it takes until the knee begins to brake",
    "swing_flexion": "how far the heel rises behind you",
    "swing_extension": "how gently the leg comes straight",
    "stance_damping": "how slowly the knee gives on slopes and stairs",
}
SETTING = "{name}: {position} of {highest} {unit}. It sets {means}."
SETTING_UNKNOWN = "{name}: " + NOT_RECORDED + "."
STAIRS = {
    "shown": "Stairs and slopes: shown to you, and you tried them.",
    "told": "Stairs and slopes: told only. Do not take them alone before they were shown.",
}
CALL = "Call: {whom}."
CURES = "The locking compound of the screws cures until {until}. Do not walk on the leg before."
CURE_UNKNOWN = "When the locking compound of {screws} has cured is not stated. Ask before you walk on the leg."
RESTRICTED_UNTIL = "Not the {ground} before it was looked at again, on {day}."
REVIEW_ON, LOOK_AT = "Come again on {day}.", "Then we look at: {what}."
FITTED_BY, CHECKED_BY, MADE_ON = "Fitted by {name}.", "Screws checked and signed by {name}, {day}.", "State of the record: {moment}."
NOT_CHECKED = "Screws: " + NOBODY + "."

FILE_NAME = "person-sheet"
SAVED_AS = "Saved on this tablet as {name}."
READABLE = "A saved sheet is not sealed: whoever opens the tablet's folder can read it. Hand it over, then take it away."
PREVIEW_LEAD = "This is what the person takes home. Saving makes it a PDF on this tablet."
MAKING = {
    "content": "Putting the sheet together", "faces": "Reading the typefaces", "pages": "Setting the pages",
    "drawing": "Drawing the leg", "saving": "Saving",
}
CANCELLED = "Not saved: cancelled. Nothing is left of it."

#: Why no sheet was saved.
REFUSALS = {
    "paper_cancelled": CANCELLED,
    "paper_disk_full": "The sheet was not saved: the disk is full. Make room on this tablet, then save it again. Nothing of it is left behind.",
    "paper_not_saved": "The sheet was not saved: its folder can't be written. Nothing of it is left behind; what is recorded stays recorded.",
    "paper_too_many": "The sheet was not saved: this day holds {count} sheets of this file already. Take some of them away first.",
}
