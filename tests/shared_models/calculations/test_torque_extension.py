"""An extension on the wrench changes what has to be set."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.torque import setting_for, shown, torque_behind
from shared_models.quantities.refusals import Refusal

LENGTHS = st.integers(100, 900)
SHORT = st.integers(0, 90)
ANGLES = st.integers(0, 180)
TORQUES = st.decimals("0.5", "60", places=2)

#: torque wanted, wrench, extension (same unit), angle, setting.  The first four
#: are worked examples printed in wrench makers' instructions and calculators;
#: the others follow from the same formula, setting = T·L/(L + E·cos theta).
PRINTED = [
    (80, 40, 5, 0, "71.111"), (50, 16, 2, 0, "44.444"), (30, 12, 6, 0, "20"), (20, 12, 3, 0, "16"),
    (15, 250, 50, 0, "12.5"), (15, 250, 50, 45, "13.142"), (15, 250, 50, 90, "15"), (15, 250, 50, 180, "18.75"),
]


@pytest.mark.parametrize(("torque", "grip", "extension", "angle", "setting"), PRINTED)
def test_the_setting_for_a_wanted_torque_agrees_with_printed_examples(torque, grip, extension, angle, setting):
    assert shown(setting_for(torque, grip, extension, angle)) == setting


@given(torque=TORQUES, grip=LENGTHS, extension=SHORT, angle=ANGLES)
def test_setting_and_torque_behind_it_undo_each_other_exactly(torque, grip, extension, angle):
    assert torque_behind(setting_for(torque, grip, extension, angle), grip, extension, angle) == Fraction(torque)


@given(torque=TORQUES, grip=LENGTHS, extension=SHORT)
def test_an_extension_at_right_angles_changes_nothing(torque, grip, extension):
    assert setting_for(torque, grip, extension, 90) == Fraction(torque)


@given(torque=TORQUES, grip=LENGTHS, angle=ANGLES)
def test_no_extension_changes_nothing(torque, grip, angle):
    assert torque_behind(torque, grip, 0, angle) == Fraction(torque)


@given(torque=TORQUES, grip=LENGTHS, extension=st.integers(1, 90), angle=ANGLES)
def test_the_torque_at_the_screw_is_the_force_at_the_grip_times_its_arm(torque, grip, extension, angle):
    """Statics, in floating point: force = setting / L, arm = L + E·cos theta."""
    setting = float(setting_for(torque, grip, extension, angle))
    arm = grip + extension * math.cos(math.radians(angle))
    assert setting / grip * arm == pytest.approx(float(torque), rel=1e-9)


@given(torque=TORQUES, grip=LENGTHS, extension=st.integers(1, 90), angle=st.integers(0, 179))
def test_the_further_the_extension_points_ahead_the_less_is_set(torque, grip, extension, angle):
    assert setting_for(torque, grip, extension, angle) < setting_for(torque, grip, extension, angle + 1)


@pytest.mark.parametrize(("figures", "code"), [
    ((15, 250, -1, 0), "extension_below_zero"), ((15, 250, 50, 181), "extension_angle_outside"),
    ((15, 250, 50, -1), "extension_angle_outside"), ((15, 0, 50, 0), "torque_not_above_zero"),
    ((15, 50, 50, 180), "extension_reaches_grip"), ((-15, 250, 50, 0), "torque_not_above_zero"),
    ((15, float("inf"), 50, 0), "torque_figure_impossible"), ((15, 250, 50, float("nan")), "torque_figure_impossible"),
])
def test_an_extension_that_cannot_be_is_refused(figures, code):
    for calculation in (setting_for, torque_behind):
        with pytest.raises(Refusal) as refused:
            calculation(*figures)
        assert refused.value.code == code
