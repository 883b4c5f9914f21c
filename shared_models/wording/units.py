"""Units that are words; those that are symbols are the same in every language."""

from __future__ import annotations

from shared_models.language import Phrases

_WORDS = Phrases({
    "entries": "entries", "falls": "falls", "of 10": "of 10", "pixels": "pixels", "points": "points",
    "steps": "steps", "times": "times",
})


def unit_words(unit: str) -> str:
    """Return how a unit of a field is said; a symbol, and a unit that a clinic's sheet names, stays as it is."""
    return _WORDS.get(unit, unit)
