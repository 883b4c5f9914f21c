"""German at 150 %: the pages with keypad, drawing and long foot together keep all words and targets whole."""

import pytest

from mobile.gallery.round import LARGE_LYING, LARGE_UPRIGHT, Round
from mobile.gallery.states import catalogue
from mobile.widgets.theme import theme
from shared_models.language import in_language

#: Where most has to stand on one page, by the name of the screen.
SCREENS = ("TorquePane", "CapsPane", "MissingPane", "EntryPane")


@pytest.fixture(scope="module")
def rounds():
    """The stores that all states of this file are shown on."""
    kept = {}
    yield kept
    kept["round"].close()


@pytest.mark.parametrize("screen", SCREENS)
def test_a_crowded_page_in_german_at_150_percent_has_no_word_broken_and_nothing_cut_off(rounds, window, screen):
    around = rounds.setdefault("round", Round(window))
    states, found = [s for s in catalogue() if s.screen == screen], []
    assert states
    with in_language("de"):
        for state in states:
            found += around.in_ways(state, (LARGE_LYING, LARGE_UPRIGHT))
    theme.name, theme.font_scale = "sun", 1.0
    assert not found, "\n".join(found)
