"""Words of the drawing that shows where caps, screws and adjusters sit."""

from __future__ import annotations

from shared_models.language import Phrases, spoken

VIEWS = Phrases({"front": "Front", "back": "Rear", "left": "Left side", "right": "Right side"})
STATES = Phrases({
    "open": "open", "met": "done", "doubt": "look again", "stale": "stale", "disputed": "disputed",
    "waived": "waived",
})


def no_drawing_words(name: str) -> str:
    """Say that a sheet holds no drawing; places are never made up."""
    return spoken("The sheet of {name} has no drawing, so only the list is shown.", name=name)


def not_placed_words(name: str) -> str:
    """Say that a sheet has a drawing, but not of where this one sits."""
    return spoken("{name}: its place is not drawn in the sheet.", name=name)


def map_words(marks: list[tuple[int, str, str]]) -> str:
    """Return what the drawing shows, for whoever can't see it; marks are number, name and state."""
    return ". ".join(f"{number}, {name}: {STATES.get(state, state)}" for number, name, state in marks)
