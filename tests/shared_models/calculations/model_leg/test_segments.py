"""Body segments: the published table, and the pendulum made from it."""

import math

import pytest

from shared_models.calculations.model_leg import segments
from shared_models.calculations.model_leg.segments import (
    FOOT, FOOT_AND_LEG, LEG, THIGH, TOTAL_LEG, lower_leg,
)
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence

SEGMENTS = {"foot": FOOT, "leg": LEG, "thigh": THIGH, "foot and leg": FOOT_AND_LEG}


@pytest.mark.parametrize("name", SEGMENTS)
def test_gyration_about_the_ends_follows_from_gyration_about_the_centre(name):
    # Steiner's theorem on Winter, Table 4.1; its last printed digit is up to one off.
    one = SEGMENTS[name]
    assert math.hypot(one.gyration_centre, one.centre_upper) == pytest.approx(one.gyration_upper, abs=7e-4)
    assert math.hypot(one.gyration_centre, one.centre_lower) == pytest.approx(one.gyration_lower, abs=1.1e-3)
    assert one.centre_upper + one.centre_lower == pytest.approx(1)


def test_the_total_leg_keeps_the_mismatch_that_the_table_was_printed_with():
    # 0.326 and 0.447 give 0.553; Winter, Table 4.1, prints 0.560.
    followed = math.hypot(TOTAL_LEG.gyration_centre, TOTAL_LEG.centre_upper)
    assert followed == pytest.approx(0.55325, abs=5e-5)
    assert TOTAL_LEG.gyration_upper == 0.560


def test_masses_of_the_parts_add_up_to_the_leg():
    assert FOOT.mass_share + LEG.mass_share == pytest.approx(FOOT_AND_LEG.mass_share)
    assert FOOT_AND_LEG.mass_share + THIGH.mass_share == pytest.approx(TOTAL_LEG.mass_share)


def test_parts_of_the_leg_by_stature_agree_with_each_other():
    # Drillis and Contini: leg and ankle make the knee's height, with the thigh the hip's.
    knee = segments.LEG_LENGTH_SHARE + segments.ANKLE_HEIGHT_SHARE
    assert knee == pytest.approx(segments.KNEE_HEIGHT_SHARE)
    assert knee + segments.THIGH_LENGTH_SHARE == pytest.approx(segments.HIP_HEIGHT_SHARE)


def test_shank_and_foot_of_80_kg_and_175_cm_make_the_pendulum_worked_by_hand():
    # Worked from Winter, Table 4.1: L 0.4305 m, m 4.88 kg, d 0.26088 m, k 0.31642 m.
    leg = lower_leg(80, 1.75)
    assert leg.mass_kg == pytest.approx(4.880)
    assert leg.centre_m == pytest.approx(0.26088, abs=5e-6)
    assert leg.inertia_kg_m2 == pytest.approx(0.488586, abs=5e-7)
    assert leg.weight_moment_nm == pytest.approx(12.484935, abs=5e-7)
    assert leg.small_period_s == pytest.approx(1.242960, abs=5e-7)
    # For these proportions the period is 1.894395·sqrt(L), whatever the mass.
    assert lower_leg(55, 1.60, 0.4).small_period_s == pytest.approx(1.894395 * math.sqrt(0.246 * 1.60), rel=1e-6)


@pytest.mark.parametrize("mass, stature, part, name", [
    (0, 1.7, 1, "body_mass_kg"), (-70, 1.7, 1, "body_mass_kg"), (math.nan, 1.7, 1, "body_mass_kg"),
    (70, math.inf, 1, "stature_m"), (70, 1.7, 0, "mass_part"),
])
def test_a_body_that_cannot_be_is_refused_by_name(mass, stature, part, name):
    with pytest.raises(Refusal) as refused:
        lower_leg(mass, stature, part)
    assert refused.value.code == "model_leg_not_above_zero"
    assert name in refusal_sentence(refused.value)
