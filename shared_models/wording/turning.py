"""Which way an adjuster is turned, in the reader's language."""

from __future__ import annotations

from shared_models.language import Phrases

_WAYS = Phrases({"clockwise": "clockwise", "anticlockwise": "anticlockwise"})


def way_words(direction: str) -> str:
    """Return ``clockwise`` or ``anticlockwise`` as it is said; '' for not at all."""
    return _WAYS[direction] if direction else ""
