"""Body mass with the missing limb, and heights with their cure."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, strategies as st

from shared_models.calculations.alignment.heights import height_cure, pelvic_tilt_deg, shift_mm
from shared_models.calculations.alignment.whole_body import (
    ENTIRE_LEG_SHARE,
    body_mass_index,
    missing_share,
    whole_body_mass_kg,
    whole_body_range_kg,
)
from shared_models.quantities.refusals import Refusal


def test_the_leg_has_the_published_shares():
    """Osterkamp LK, J Am Diet Assoc 1995;95:215-218 (from memory): lower leg with foot
    5.9 %, entire leg 16.0 %."""
    assert missing_share(0) == pytest.approx(0.059)
    assert missing_share(1) == pytest.approx(0.160) == ENTIRE_LEG_SHARE


def test_the_shares_agree_with_those_measured_on_other_bodies():
    """Winter DA, Biomechanics and Motor Control of Human Movement, table 4.1: foot and
    leg 0.061, total leg 0.161."""
    assert missing_share(0) == pytest.approx(0.061, abs=0.0025)
    assert missing_share(1) == pytest.approx(0.161, abs=0.0025)


@pytest.mark.parametrize(("observed", "missing", "whole"), [
    (75, 0.059, 79.7024), (75, 0.1095, 84.2223), (75, 0.16, 89.2857), (70, 0.161, 83.4327),
])
def test_the_missing_limb_is_divided_out(observed, missing, whole):
    """By arithmetic from the shares: observed / (1 − p); the method as in Mozumdar A,
    Roy SK, Am J Clin Nutr 2004;80:868-875.  Multiplying would give 83.2125 for the
    second."""
    assert whole_body_mass_kg(observed, missing) == pytest.approx(whole, abs=5e-5)


def test_half_a_thigh_missing_is_1095_thousandths():
    assert missing_share(0.5) == pytest.approx(0.1095)


def test_the_body_mass_index_goes_by_the_estimate():
    """By arithmetic, 75 kg at 1.75 m: 24.49 as weighed, 27.50 with half the thigh missing."""
    assert body_mass_index(75, 1.75) == pytest.approx(24.49, abs=5e-3)
    assert body_mass_index(whole_body_mass_kg(75, 0.1095), 1.75) == pytest.approx(27.50, abs=5e-3)


@given(st.floats(30, 200), st.floats(0, 1))
def test_the_estimate_lies_within_its_range_and_gives_the_weighed_mass_back(mass, thigh):
    low, high = whole_body_range_kg(mass)
    whole = whole_body_mass_kg(mass, missing_share(thigh))
    assert low - 1e-9 <= whole <= high + 1e-9
    assert whole * (1 - missing_share(thigh)) == pytest.approx(mass)


@pytest.mark.parametrize(("mass", "share"), [(0, 0.1), (-5, 0.1), (75, -0.1), (75, 0.9), (math.nan, 0.1)])
def test_a_mass_or_share_that_can_not_be_is_refused(mass, share):
    with pytest.raises(Refusal):
        whole_body_mass_kg(mass, share)


def test_ten_millimetres_over_250_tilt_the_pelvis_by_2291_thousandths_of_a_degree():
    """By arithmetic: atan(10 / 250)."""
    assert pelvic_tilt_deg(10, 250) == pytest.approx(2.291, abs=5e-4)
    assert pelvic_tilt_deg(10, 250) == pytest.approx(np.degrees(np.arctan(10 / 250)))


@pytest.mark.parametrize(("height", "shift"), [(400, 6.982), (450, 7.855)])
def test_one_degree_shifts_by_7_mm_at_the_height_of_a_knee(height, shift):
    """By arithmetic: h · tan 1°."""
    assert shift_mm(height, 1) == pytest.approx(shift, abs=5e-4)


@given(st.floats(-60, 60), st.floats(150, 250))
def test_the_tube_that_is_suggested_makes_the_legs_equal_or_says_what_is_left(difference, tube):
    cure = height_cure(difference, tube, 90, 280)
    assert 90 <= cure.tube_after_mm <= 280
    assert difference + cure.tube_change_mm == pytest.approx(cure.left_mm, abs=1e-9)
    assert cure.reached == (abs(cure.left_mm) < 1e-9)
    assert cure.shim_mm == abs(difference)
    if difference:
        assert cure.shim_under == ("prosthesis" if difference < 0 else "sound_side")


def test_a_short_leg_at_the_end_of_its_tube_is_not_reachable():
    cure = height_cure(-45, 238, 90, 280)
    assert (cure.reached, cure.tube_after_mm, cure.left_mm) == (False, 280, -3)


@pytest.mark.parametrize("difference", [math.nan, math.inf, -5000.0])
def test_a_height_that_can_not_be_is_refused_by_name(difference):
    with pytest.raises(Refusal) as refused:
        height_cure(difference)
    assert refused.value.figures["field"] == "Height difference"
