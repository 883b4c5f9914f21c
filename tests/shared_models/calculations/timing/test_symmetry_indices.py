"""The four symmetry indices against vectors worked by hand, and what holds for any two sides."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shared_models.calculations.timing.indices import INDICES
from shared_models.quantities.refusals import Refusal

SI, RATIO, GA, SA = (
    "symmetry_index_percent", "ratio_right_to_left", "gait_asymmetry_percent", "symmetry_angle_percent",
)
#: left, right -> Robinson 1987, ratio, Plotnik 2005/2007, Zifchock 2008; by
#: arithmetic from the published formulas.
VECTORS = [
    (1, 1, 0, 1, 0, 0),
    (0.70, 0.62, -12.1212, 0.88571, -12.1361, -3.8536),
    (0.62, 0.70, 12.1212, 1.12903, 12.1361, 3.8536),
    (0.50, 0.55, 9.5238, 1.10000, 9.5310, 3.0292),
    (600, 400, -40.0000, 0.66667, -40.5465, -12.5666),
    (1, 2, 66.6667, 2, 69.3147, 20.4833),
    (0, 1, 200, None, None, 50),
    (-1, 1, None, -1, None, 100),
    # 45 + 63.4349 = 108.4349 degrees, past 90: 180 are taken off, -71.5651 / 90.
    (-2, 1, -600, -0.5, None, -79.5167),
]
times_s = st.floats(0.05, 5.0)


@pytest.mark.parametrize(("left", "right", "si", "ratio", "ga", "sa"), VECTORS)
def test_each_index_of_two_sides_is_the_published_formula(left, right, si, ratio, ga, sa):
    for key, wanted in ((SI, si), (RATIO, ratio), (GA, ga), (SA, sa)):
        found = INDICES[key].of(left, right)
        assert found == (wanted if wanted is None else pytest.approx(wanted, abs=6e-5)), key


def test_each_index_names_its_formula_its_source_and_its_own_zero():
    assert {key: index.equal_at for key, index in INDICES.items()} == {SI: 0, RATIO: 1, GA: 0, SA: 0}
    for index in INDICES.values():
        assert index.of(0.6, 0.6) == pytest.approx(index.equal_at, abs=1e-12)
        assert index.formula and index.source


@given(times_s, times_s)
def test_swapping_the_sides_turns_the_sign_and_keeps_the_size(left, right):
    for key in (SI, GA, SA):
        assert INDICES[key].of(left, right) == pytest.approx(-INDICES[key].of(right, left), abs=1e-9)
    assert INDICES[RATIO].of(left, right) == pytest.approx(1 / INDICES[RATIO].of(right, left))


@given(times_s, times_s, st.floats(0.01, 1000))
def test_another_unit_of_time_changes_no_index(left, right, factor):
    for index in INDICES.values():
        assert index.of(left * factor, right * factor) == pytest.approx(index.of(left, right), rel=1e-9, abs=1e-9)


@given(times_s, st.floats(-0.03, 0.03))
def test_for_small_asymmetry_the_indices_say_the_same_in_their_own_scale(left, part):
    right = left * (1 + part)
    si = INDICES[SI].of(left, right)
    assert INDICES[GA].of(left, right) == pytest.approx(si, rel=2e-4, abs=1e-9)
    assert INDICES[SA].of(left, right) == pytest.approx(si / math.pi, rel=4e-4, abs=1e-9)


@given(times_s, times_s)
def test_the_slopes_that_carry_an_uncertainty_are_those_of_the_formula(left, right):
    assume(left > 0.1 and right > 0.1)
    h = 1e-6
    for index in INDICES.values():
        by_left = (index.of(left + h, right) - index.of(left - h, right)) / (2 * h)
        by_right = (index.of(left, right + h) - index.of(left, right - h)) / (2 * h)
        assert index.slopes(left, right) == pytest.approx((by_left, by_right), rel=1e-4, abs=1e-4)


@given(times_s, times_s)
def test_the_symmetry_angle_is_the_angle_that_numpy_finds(left, right):
    wanted = (45 - np.degrees(np.arctan2(left, right))) / 90 * 100
    assert INDICES[SA].of(left, right) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_side_that_is_no_number_is_refused_by_name(value):
    for index in INDICES.values():
        with pytest.raises(Refusal) as caught:
            index.of(0.6, value)
        assert caught.value.code == "side_value_not_a_number" and caught.value.figures["side"] == "right"
