"""Colours keep their contrast in daylight and in a darkened room; sizes are large enough."""

import pytest
from kivy.metrics import dp, sp

from mobile.widgets.contrast import contrast
from mobile.widgets.key_ring import RING_TONES
from mobile.widgets.palettes import (
    DIM,
    FIGURE_CONTRAST,
    FIGURE_PAIRS,
    PALETTES,
    SHAPE_CONTRAST,
    SHAPE_PAIRS,
    SUN,
    TEXT_CONTRAST,
    TEXT_PAIRS,
)
from mobile.widgets.theme import Theme


@pytest.fixture
def theme():
    return Theme()


def test_contrast_is_that_of_the_guideline():
    assert contrast((0, 0, 0), (1, 1, 1)) == pytest.approx(21)
    assert contrast((1, 1, 1), (0, 0, 0)) == pytest.approx(21)
    grey = 0x76 / 255
    assert contrast((grey,) * 3, (1, 1, 1)) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("name", PALETTES)
@pytest.mark.parametrize(
    "pairs, least",
    [(TEXT_PAIRS, TEXT_CONTRAST), (FIGURE_PAIRS, FIGURE_CONTRAST), (SHAPE_PAIRS, SHAPE_CONTRAST)],
)
def test_every_pair_in_use_has_its_contrast(theme, name, pairs, least):
    weak = {
        (tone, ground): round(contrast(theme.colour(tone, name), theme.colour(ground, name)), 2)
        for tone, ground in pairs
        if contrast(theme.colour(tone, name), theme.colour(ground, name)) < least
    }
    assert weak == {}


@pytest.mark.parametrize("name", PALETTES)
def test_the_ring_of_the_keyboard_shows_on_whatever_it_lies(theme, name):
    two = [theme.colour(tone, name) for tone in RING_TONES]
    weak = {
        tone: shown for tone in PALETTES[name]
        if (shown := max(contrast(line, theme.colour(tone, name)) for line in two)) < SHAPE_CONTRAST
    }
    assert weak == {} and contrast(*two) >= SHAPE_CONTRAST


def test_both_themes_have_the_same_tones():
    assert SUN.keys() == DIM.keys()


def test_the_dim_room_swaps_ground_and_ink():
    assert (DIM["ground"], DIM["ink"]) == (SUN["ink"], SUN["ground"])


def test_figures_are_forty_sp_and_grow_with_the_font_scale(theme):
    assert theme.type_size("figure") == sp(40)
    theme.font_scale = 1.5
    assert theme.type_size("figure") == sp(60)


def test_a_touch_target_is_at_least_56_dp(theme):
    assert theme.touch >= dp(56)


def test_a_tone_that_is_none_is_a_fault(theme):
    with pytest.raises(KeyError):
        theme.colour("mauve")
