"""Words of the record of a fitting on paper; what is recorded speaks in its own words."""

from __future__ import annotations

from shared_models.language import PhraseRow, Phrases, phrase

TITLE = phrase("Record of a fitting")
FILE_NAME = "fitting-record"
SAVE = phrase("Save the record")
VERDICT, PARTS, SETTINGS, COURSE = phrase("How it stands"), phrase("What is built in"), phrase("Settings"), phrase("The course of tuning")
ALIGNMENT, TORQUE, CAPS, TRIALS = phrase("Alignment"), phrase("Final torques"), phrase("Caps"), phrase("Trials and events")
MEASURES, SIGNED, MATCHING = phrase("Outcome measures"), phrase("Signed"), phrase("To match this paper with the record")
PARTS_HEAD = PhraseRow(("Place", "Component", "Sheet", "Serial", "Lot", "Device identifier"))
SETTINGS_HEAD = PhraseRow(("Adjuster", "Last confirmed", "Now", "Range", "Largest step"))
ALIGNMENT_HEAD = PhraseRow(("Alignment", "When", "Readings", "Holds"))
ASKED, STANDS = phrase("asked {asked}"), phrase("stands")
TORQUE_HEAD = PhraseRow(("Screw", "Asked", "Reading", "Wrench, calibrated", "Locking", "By, when"))
COURSE_HEAD = PhraseRow(("When", "What", "Seen and felt, or why", "Came to", "Pain"))
#: Over a narrow column each; the settings above have the whole names and the units.
ADJUSTER_HEAD = Phrases({
    "stance_threshold": "Threshold", "swing_flexion": "Flexion", "swing_extension": "Extension", "stance_damping": "Damping",
})
SIGNED_HEAD = PhraseRow(("What", "In which sense", "Printed name", "When", "Key"))
MEANING = Phrases({"signs_off": "checked and signed off", "requests_review": "asked for review", "decides": "decided on review"})
TIMES = phrase("Times without a day are of {day}, {zone}.")
NO_TRIAL = phrase("No trial was recorded.")
NOTHING = phrase("nothing recorded")
NOT_CONFIRMED = phrase("not confirmed")
AT, FOUND_AT = phrase("{position} {unit}"), phrase("{position} {unit}, as found, not turned at this visit")
NOT_TURNED = phrase("not turned at this visit; left at {position} {unit} last time")
VISIT_TITLE = phrase("Record of a later visit")
OUTSIDE = phrase("outside of what is asked")
VERDICT_LINE = phrase("{verdict}; review: {review}.")
MATCH = phrase("Verdict of {day}, SHA-256 {verdict}. Record: {count} entries, SHA-256 over their digests {record}.")
CHART = "{name}, {unit}"
CHART_SIGNS = phrase("Disc with a tick: confirmed. Ring: not right yet. Square: stopped. Pale ground: what the trials left open, while all of them count.")
BY_HAND = phrase("(written by hand)")
