"""The leg as a chain, against homogeneous matrices in numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, strategies as st

from shared_models.calculations.alignment.chain import (
    FOOT,
    SOCKET,
    Chain,
    Joint,
    Leg,
    Turn,
    line_from_offset,
    offset_mm,
)
from shared_models.quantities.refusals import Refusal

_TILT, _SLIDE = st.floats(-12, 12), st.floats(-15, 15)


@st.composite
def chains(draw) -> Chain:
    """A leg with three or four adapters, each set somewhere."""
    foot, below, above, top = (draw(st.floats(*ends)) for ends in ((50, 90), (250, 330), (520, 560), (700, 900)))
    joints = [
        Joint(name, at, draw(_TILT), draw(_SLIDE), draw(st.floats(0, 15)), draw(st.floats(0, 15)))
        for name, at in (("foot", foot), ("below", below), ("above", above))
    ]
    if draw(st.booleans()):
        joints.append(Joint("slide", above + 24, 0.0, draw(_SLIDE), 0.0, draw(st.floats(0, 15))))
    return Chain(tuple(joints), draw(st.floats(450, 510)), top, draw(st.floats(-4, 4)), draw(st.floats(0, 130)))


def _up(length: float) -> np.ndarray:
    return np.array([[1, 0, 0], [0, 1, length], [0, 0, 1.0]])


def _tip(degrees: float) -> np.ndarray:
    """Turn by an angle, plus towards +x, which is clockwise when x points right."""
    a = np.radians(degrees)
    return np.array([[np.cos(a), np.sin(a), 0], [-np.sin(a), np.cos(a), 0], [0, 0, 1]])


def _along(across: float) -> np.ndarray:
    return np.array([[1, 0, across], [0, 1, 0], [0, 0, 1.0]])


def by_matrices(chain: Chain, at_mm: float) -> np.ndarray:
    """The same point by 3 × 3 matrices; the sole turns about the ball of the foot."""
    ball = _along(chain.ball_ahead_mm)
    pose = ball @ _tip(chain.sole_tilt_deg) @ _along(-chain.ball_ahead_mm)
    below = 0.0
    for joint in chain.joints:
        if joint.at_mm >= at_mm:
            break
        pose = pose @ _up(joint.at_mm - below) @ _along(joint.slide_mm) @ _tip(joint.tilt_deg)
        below = joint.at_mm
    return (pose @ _up(at_mm - below) @ np.array([0, 0, 1]))[:2]


@given(chains())
def test_every_point_of_the_leg_stands_where_matrices_put_it(chain):
    for at in (chain.knee_at_mm, chain.reference_at_mm, 30.0, 400.0):
        point = chain.point(at)
        assert (point.x_mm, point.y_mm) == pytest.approx(tuple(by_matrices(chain, at)), abs=1e-9)


def test_one_degree_at_the_foot_carries_the_knee_7_mm_forward():
    """By arithmetic: 400 mm above the joint, 400 · sin 1° = 6.981 mm."""
    leg = Chain((Joint("foot", 80, tilt_limit_deg=5),), 480).turned((Turn("foot", tilt_deg=1),))
    assert leg.knee.x_mm == pytest.approx(6.981, abs=5e-4)
    assert leg.foot_angle_deg == 1, "the toes point up against the leg"


def test_a_line_in_front_of_the_knee_is_plus_and_behind_is_minus():
    leg = Chain((Joint("foot", 80),), 480, 800)
    assert offset_mm(leg, line_from_offset(leg, 34, FOOT)) == 34
    assert offset_mm(leg, line_from_offset(leg, -3, SOCKET)) == -3


@given(chains(), st.floats(-60, 60))
def test_a_line_keeps_its_offset_until_something_is_turned(chain, offset):
    for end in (FOOT, SOCKET):
        assert offset_mm(chain, line_from_offset(chain, offset, end)) == pytest.approx(offset, abs=1e-9)


@given(chains(), _TILT, _SLIDE)
def test_what_was_turned_is_turned_back(chain, tilt, slide):
    turn, back = Turn("below", tilt, slide), Turn("below", -tilt, -slide)
    again = chain.turned((turn,)).turned((back,))
    assert again.knee.x_mm == pytest.approx(chain.knee.x_mm, abs=1e-9)
    assert again.top.y_mm == pytest.approx(chain.top.y_mm, abs=1e-9)


@given(chains(), _TILT)
def test_what_is_turned_above_the_knee_leaves_the_knee_over_the_foot(chain, tilt):
    after = chain.turned((Turn("above", tilt),))
    assert (after.knee.x_mm, after.knee.y_mm) == (chain.knee.x_mm, chain.knee.y_mm)


@given(chains())
def test_the_mirrored_leg_stands_mirrored(chain):
    mirrored = Chain(
        tuple(Joint(j.name, j.at_mm, -j.tilt_deg, -j.slide_mm) for j in chain.joints),
        chain.knee_at_mm, chain.reference_at_mm,
    )
    plain = Chain(chain.joints, chain.knee_at_mm, chain.reference_at_mm)
    assert mirrored.knee.x_mm == pytest.approx(-plain.knee.x_mm, abs=1e-9)
    assert mirrored.knee.y_mm == pytest.approx(plain.knee.y_mm, abs=1e-9)


def test_both_planes_make_one_leg():
    side = Chain((Joint("foot", 80, tilt_deg=2),), 480)
    front = Chain((Joint("foot", 80, slide_mm=6),), 480)
    forward, inward, up = Leg(side, front).knee_mm
    assert (forward, inward) == (pytest.approx(400 * math.sin(math.radians(2))), pytest.approx(6))
    assert up == pytest.approx(80 + 400 * math.cos(math.radians(2)))


@pytest.mark.parametrize("joint", [
    Joint("foot", math.nan), Joint("foot", -5), Joint("foot", 80, tilt_deg=80), Joint("foot", 80, slide_mm=math.inf),
])
def test_a_leg_that_can_not_be_is_refused_by_the_joint_name(joint):
    with pytest.raises(Refusal) as refused:
        Chain((joint,), 480)
    assert refused.value.figures["field"].startswith("foot")


def test_joints_out_of_their_order_are_refused():
    with pytest.raises(Refusal, match="alignment_too_low"):
        Chain((Joint("below", 300), Joint("foot", 80)), 480)
