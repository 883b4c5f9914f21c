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


def test_the_list_of_fittings_begins_right_beneath_the_search(rounds, window):
    around = rounds.setdefault("round", Round(window))
    state = next(s for s in catalogue() if s.screen == "HomePage" and s.how == "typical")
    found = {}

    def look():
        page = window.children[0].page
        found.update(gap=page.search.y - page.list.top)

    theme.name, theme.font_scale = "dim", 1.5
    with in_language("de"):
        around.show(state, look)
    theme.name, theme.font_scale = "sun", 1.0
    assert 0 <= found["gap"] <= 2 * theme.gap
