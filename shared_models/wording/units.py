"""Units of the edition that are words, for the catalogue: a unit is said by ``spoken(unit)``, a symbol stays as it is."""

from __future__ import annotations

from shared_models.language import PhraseRow

WORDS = PhraseRow(("entries", "falls", "of 10", "pixels", "points", "steps", "times"))
