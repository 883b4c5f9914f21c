"""Words around the drawings of the review page, and what stands in the tables beside them."""

from __future__ import annotations

from shared_models.language import PhraseRow, Phrases, phrase

COURSE_TITLE = phrase("{name}, position over its trials ({unit})")
COURSE_HEAD = PhraseRow(("Trial", "Position", "How it ended", "What was found"))
#: What the signs of a course mean, for whoever reads it without its colours.
COURSE_SIGNS = (
    phrase("Ring: not right yet. Filled disc with a tick: confirmed. Square: stopped. Coloured ground: what each trial left open (of the last eight). Findings stand above their trial: triangle up asks for a higher position, down for a lower, square for the last confirmed settings, diamond for what this adjuster does not cure; filled is marked, open is slight.")
)
OUTCOMES = Phrases({"confirmed": "confirmed", "change": "not right yet", "stopped": "stopped"})
NOTHING_FOUND = phrase("nothing noted")
ALIGNMENT_TITLES = Phrases({"side": "{title}, from the side", "front": "{title}, from the front"})
