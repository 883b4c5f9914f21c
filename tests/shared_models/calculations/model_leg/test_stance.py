"""Stance damping under load: it comes in above its threshold and lets go well below it."""

import math

import pytest
from hypothesis import given, strategies as st

from shared_models.calculations.model_leg.stance import Loading, stance
from shared_models.quantities.refusals import Refusal

loads = st.floats(1, 1500)
parts = st.floats(0.3, 1.0)


def test_a_leg_of_400_n_with_a_threshold_of_350_is_damped_and_let_go_at_its_part():
    # By hand: 400 - 350 = 50 N above; let go at 0.7·350 = 245 N, 100 N are left: 145 N early enough.
    done = stance(350, 0.7, Loading(400, 100))
    assert (done.spare_n, done.hold_n) == (50, pytest.approx(145))
    assert done.comes_in and done.lets_go


def test_a_threshold_above_the_load_leaves_the_knee_undamped_and_one_too_low_holds_on():
    assert not stance(401, 0.7, Loading(400, 100)).comes_in
    assert not stance(140, 0.7, Loading(400, 100)).lets_go  # 98 N, and 100 N are left


@given(loads, loads, parts, loads, loads)
def test_a_lower_threshold_always_comes_in_where_a_higher_one_does(one, other, part, loaded, leaving):
    low, high = (stance(t, part, Loading(loaded, leaving)) for t in sorted((one, other)))
    assert low.comes_in or not high.comes_in
    assert high.lets_go or not low.lets_go


@given(loads, parts, loads, loads, parts)
def test_hands_on_the_bars_never_bring_the_damping_in_and_never_hold_it(threshold, part, loaded, leaving, left):
    freely, held = Loading(loaded, leaving), Loading(loaded, leaving).held_up(left)
    with_hands, without = stance(threshold, part, held), stance(threshold, part, freely)
    assert without.comes_in or not with_hands.comes_in
    assert with_hands.lets_go or not without.lets_go


@pytest.mark.parametrize("threshold", [0, -50, math.nan, math.inf])
def test_a_threshold_that_cannot_be_is_refused(threshold):
    with pytest.raises(Refusal, match="threshold_n"):
        stance(threshold, 0.7, Loading(400, 100))
