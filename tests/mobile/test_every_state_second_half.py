"""Every screen in every state, the second half: nothing cut off, overlapping, too small or too faint, whichever way."""

import pytest

from tests.mobile.gallery_of_states import found_on, half


@pytest.fixture(scope="module")
def rounds():
    """The stores that all states of this file are shown on."""
    kept = {}
    yield kept
    kept["round"].close()


@pytest.mark.parametrize("screen", half(False))
def test_a_screen_can_be_read_and_pressed_in_all_its_states_and_ways(rounds, window, screen):
    found = found_on(rounds, window, screen)
    assert not found, "\n".join(found)
