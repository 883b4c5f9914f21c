"""What the tests of both ways up share: the round through the catalogue in the window without a display."""

from mobile.gallery.round import Round
from mobile.gallery.states import catalogue

STATES = {state.name: state for state in catalogue()}


def found_in(rounds: dict, window, size, name) -> list[str]:
    """Show one state in a window of this size; return what was found in any theme and size of type."""
    window.set_size(*size)
    if "round" not in rounds:
        rounds["round"] = Round(window)
    return rounds["round"].all_ways(STATES[name])
