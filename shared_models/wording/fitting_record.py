"""Words of the record of a fitting on paper; what is recorded speaks in its own words."""

from __future__ import annotations

TITLE = "Record of a fitting"
FILE_NAME = "fitting-record"
SAVE = "Save the record"
VERDICT, PARTS, SETTINGS, COURSE = "How it stands", "What is built in", "Settings", "The course of tuning"
ALIGNMENT, TORQUE, CAPS, TRIALS = "Alignment", "Final torques", "Caps", "Trials and events"
MEASURES, SIGNED, MATCHING = "Outcome measures", "Signed", "To match this paper with the record"
PARTS_HEAD = ("Place", "Component", "Sheet", "Serial", "Lot", "Device identifier")
SETTINGS_HEAD = ("Adjuster", "Last confirmed", "Now", "Range", "Largest step")
ALIGNMENT_HEAD = ("Alignment", "When", "Readings", "Holds")
ASKED, STANDS = "asked {asked}", "stands"
TORQUE_HEAD = ("Screw", "Asked", "Reading", "Wrench, calibrated", "Locking", "By, when")
TRIALS_HEAD = ("When", "What", "With", "Seen and felt", "Came to")
SIGNED_HEAD = ("What", "In which sense", "Printed name", "When", "Key")
MEANING = {"signs_off": "checked and signed off", "requests_review": "asked for review", "decides": "decided on review"}
NO_TRIAL = "No trial was recorded."
NOTHING = "nothing recorded"
NOT_CONFIRMED = "not confirmed"
OUTSIDE = "outside of what is asked"
VERDICT_LINE = "{verdict}; review: {review}."
MATCH = "Verdict of {day}, SHA-256 {verdict}. Record: {count} entries, SHA-256 over their digests {record}."
CHART = "{name}, {unit}"
CHART_SIGNS = "Disc with a tick: confirmed. Ring: not right yet. Square: stopped. Pale ground: what the trials left open, while all of them count."
BY_HAND = "(written by hand)"
