"""Words in and beside the drawings of the component chain and of the shoe."""

from __future__ import annotations

from shared_models.language import Phrases, phrase, spoken

IN_HAND, RECORDED, OPEN, DISPUTED = "in hand", "recorded", "open", "disputed"
_STATES = Phrases({IN_HAND: "in hand", RECORDED: "recorded", OPEN: "open", DISPUTED: "disputed"})
CHAIN_CAPTION = phrase("From socket to foot; a plan, not to scale.")
SHOE_CAPTION = phrase("The shoe from the side, to scale. Heel height: sole under the heel minus sole under the ball.")
NOT_MEASURED = phrase("not measured yet")


def chain_state(state: str) -> str:
    """Return how the state of a piece is said beside it, in the reader's language."""
    return _STATES[state]


def chain_says(states: list[tuple[str, str]]) -> str:
    """Return the chain in words: each piece and its state."""
    return "; ".join(f"{name}: {state}" for name, state in states) + "."


def heel_words(heel_mm: str) -> str:
    """Return the heel height as it stands in the drawing."""
    return spoken("{heel_mm}\u00a0mm", heel_mm=heel_mm)


def built_for_words(heel_mm: str) -> str:
    """Return the heel height that the leg is built for, where the shoe has another."""
    return spoken("leg built for {heel_mm}\u00a0mm", heel_mm=heel_mm)
