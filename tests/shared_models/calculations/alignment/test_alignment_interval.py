"""How sure a figure is, against the Guide to the expression of uncertainty and numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, strategies as st

from shared_models.calculations.alignment.interval import (
    half_width_of_sum,
    standard_of_rectangle,
    standard_of_sum,
)


def test_a_bound_of_04_makes_023_standard_uncertainty():
    """JCGM 100:2008, 4.3.7, example 1 (expansion of copper, bound 0.40e-6 per °C)."""
    assert standard_of_rectangle(0.40) ** 2 == pytest.approx(0.0533, abs=5e-5)
    assert standard_of_rectangle(0.40) == pytest.approx(0.23, abs=5e-3)


def test_a_scale_that_steps_is_sure_to_029_of_its_step():
    """JCGM 100:2008, F.2.2.1: the resolution of an indication divided by the root of twelve."""
    assert standard_of_rectangle(1 / 2) == pytest.approx(0.29, abs=5e-3)


def test_two_equal_rectangles_make_a_triangle():
    """JCGM 100:2008, 4.3.9: a triangle of half width a has the variance a²/6; its
    95 % interval follows from its area by arithmetic."""
    assert standard_of_sum([0.5, 0.5]) ** 2 == pytest.approx(1 / 6)
    assert half_width_of_sum([0.5, 0.5]) == pytest.approx(1 - math.sqrt(0.05), rel=1e-3)


def test_four_equal_rectangles_have_the_published_interval():
    """JCGM 101:2008, 9.2.3, table 3: standard uncertainty 2.00, 95 % interval ± 3.88
    (and not the ± 3.92 of two standard deviations)."""
    assert standard_of_sum([math.sqrt(3)] * 4) == pytest.approx(2.00)
    assert half_width_of_sum([math.sqrt(3)] * 4) == pytest.approx(3.88, abs=0.005)


def test_one_rectangle_much_wider_than_the_rest_has_the_published_interval():
    """JCGM 101:2008, 9.2.4, table 4: standard uncertainty 10.1, 95 % interval ± 17.0
    (two standard deviations would say ± 19.9)."""
    halves = [math.sqrt(3)] * 3 + [10 * math.sqrt(3)]
    assert standard_of_sum(halves) == pytest.approx(10.1, abs=0.05)
    assert half_width_of_sum(halves) == pytest.approx(17.0, abs=0.05)


@pytest.mark.parametrize("halves", [
    [1.0], [1, 0.5], [1, 1, 1, 1, 1, 1, 1], [1, 0.01, 0.3], [0.07, 0.07, 0.05, 0.05, 0.5, 1, 1],
])
def test_the_interval_holds_the_share_it_states_when_numpy_draws(halves):
    random = np.random.default_rng(20260304)
    drawn = sum(random.uniform(-half, half, 400_000) for half in halves)
    held = np.mean(np.abs(drawn) <= half_width_of_sum(halves))
    assert held == pytest.approx(0.95, abs=0.002)


_WIDTHS = st.lists(st.floats(0.001, 50.0), min_size=1, max_size=7)


@given(_WIDTHS, st.floats(0.1, 0.99))
def test_a_finer_reading_is_never_less_sure(halves, finer):
    shrunk = [halves[0] * finer, *halves[1:]]
    assert standard_of_sum(shrunk) < standard_of_sum(halves)
    assert half_width_of_sum(shrunk) <= half_width_of_sum(halves) * 1.001


@given(_WIDTHS, st.floats(0.01, 100.0))
def test_the_interval_is_the_same_in_every_unit(halves, factor):
    told = half_width_of_sum([half * factor for half in halves])
    assert told == pytest.approx(half_width_of_sum(halves) * factor, rel=2e-3)


@given(_WIDTHS)
def test_the_interval_lies_between_one_deviation_and_the_farthest_possible(halves):
    assert standard_of_sum(halves) < half_width_of_sum(halves) * 1.001 <= sum(halves) * 1.001
