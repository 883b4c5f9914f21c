"""The round through the catalogue in the window without a display, for the tests of its halves.

Every state is looked over lying and upright in the sun, and in the dim at 150 % in one of the two:
upright the first, lying the next, and so on.  The other of the two is looked at by
`stancebook screens --theme dim --font 1.5`, which `.ci/run` runs.
"""

import gc

from mobile.gallery.round import LARGE_LYING, LARGE_UPRIGHT, LYING, UPRIGHT, Round
from mobile.gallery.states import catalogue
from mobile.widgets.theme import theme

STATES = catalogue()
#: The screens in the order they are met; each half of them has a file, so that two workers share them.
SCREENS = list(dict.fromkeys(state.screen for state in STATES))
_MIDDLE = len(STATES) // 2


def half(first: bool) -> list[str]:
    """Return the screens of the first or the second half of the states."""
    early = {s.screen for s in STATES[:_MIDDLE]}
    return [screen for screen in SCREENS if (screen in early) == first]


def found_on(rounds: dict, window, screen: str) -> list[str]:
    """Show every state of a screen; return what was found in any way of holding the tablet."""
    if "round" not in rounds:
        # What stands by now stays: collecting what each page leaves need not look through it.
        gc.freeze()
        rounds["round"] = Round(window)
    said = []
    for number, state in enumerate(STATES):
        if state.screen == screen:
            # The last is one turn or none away from the one before.
            ways = (LYING, UPRIGHT, LARGE_UPRIGHT) if number % 2 else (UPRIGHT, LYING, LARGE_LYING)
            said += rounds["round"].in_ways(state, ways)
    theme.name, theme.font_scale = "sun", 1.0
    return said
