"""The suggested move, carried through the leg, brings the line where it should be."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, strategies as st

from shared_models.calculations.alignment.chain import (
    FOOT,
    SOCKET,
    Chain,
    Joint,
    line_from_offset,
    offset_mm,
)
from shared_models.calculations.alignment.corrections import (
    OPPOSITE_TILTS,
    SINGLE_TILT,
    SLIDE,
    corrections,
    heel_change,
)
from shared_models.quantities.refusals import Refusal
from tests.shared_models.calculations.alignment.test_leg_chain import chains

LEG = Chain(
    (
        Joint("foot", 74, tilt_limit_deg=7), Joint("below", 312, tilt_limit_deg=7),
        Joint("above", 526, tilt_limit_deg=7), Joint("slide", 550, slide_limit_mm=12),
    ), 498, 812,
)


@given(chains(), st.floats(-40, 80), st.floats(-10, 60), st.floats(0, 10))
def test_the_suggested_move_brings_the_line_to_its_target_within_a_tenth_of_a_millimetre(chain, now, target, tolerance):
    found = corrections(chain, now, target, tolerance)
    for way in found.ways:
        below = chain.is_below_knee(chain.joint(way.turns[0].joint))
        line = line_from_offset(chain, now, FOOT if below else SOCKET)
        there = offset_mm(chain.turned(way.turns), line)
        assert there == pytest.approx(way.offset_mm, abs=1e-6)
        assert abs(there - target) <= (tolerance + 1e-6 if way.at_limit else 0.1)


@given(chains(), st.floats(-40, 80), st.floats(-10, 60))
def test_no_adapter_is_sent_past_its_limit_nor_further_past_it(chain, now, target):
    found = corrections(chain, now, target, 5)
    for way in (*found.ways, *([found.nearest] if found.nearest else [])):
        for turn in way.turns:
            joint, after = chain.joint(turn.joint), chain.turned(way.turns).joint(turn.joint)
            assert abs(after.tilt_deg) <= max(joint.tilt_limit_deg, abs(joint.tilt_deg)) + 1e-9
            assert abs(after.slide_mm) <= max(joint.slide_limit_mm, abs(joint.slide_mm)) + 1e-9


@given(chains(), st.floats(-40, 80), st.floats(-10, 60))
def test_opposite_tilts_and_slides_leave_the_foot_its_angle_and_a_single_tilt_says_what_it_does(chain, now, target):
    for way in corrections(chain, now, target, 5).ways:
        if way.sort in (SLIDE, OPPOSITE_TILTS):
            assert way.foot_angle_change_deg == pytest.approx(0, abs=1e-9)
        else:
            assert way.foot_angle_change_deg == pytest.approx(way.turns[0].tilt_deg, abs=1e-9)
        after = chain.turned(way.turns)
        assert way.height_change_mm == pytest.approx(after.top.y_mm - chain.top.y_mm, abs=1e-9)


@given(chains(), st.floats(-40, 80), st.sampled_from([-400.0, 400.0]))
def test_where_nothing_reaches_the_nearest_is_said_and_nothing_is_nearer(chain, now, target):
    found = corrections(chain, now, target, 1)
    assert not found.ways
    assume(found.nearest is not None)
    assert found.best is None and not found.nearest.reached
    assert abs(found.nearest.offset_mm - target) <= abs(now - target) + 1e-9


def test_seven_millimetres_are_slid_tilted_twice_or_tilted_once():
    """By arithmetic: a slide of 7 mm; at the foot, 424 mm under the knee, asin(7 / 424) = 0.946°."""
    found = corrections(LEG, 27, 34, 5)
    assert [way.sort for way in found.ways[:2]] == [SLIDE, OPPOSITE_TILTS]
    slide, single = found.best, next(w for w in found.ways if w.sort == SINGLE_TILT)
    assert [(t.joint, t.slide_mm) for t in slide.turns] == [("slide", pytest.approx(7.0))]
    assert (slide.foot_angle_change_deg, slide.height_change_mm) == (0, 0)
    assert single.turns[0].joint == "foot" and single.turns[0].tilt_deg == pytest.approx(-0.946, abs=5e-4)
    assert single.foot_angle_change_deg == pytest.approx(-0.946, abs=5e-4), "toes down"


def test_a_line_too_far_forward_is_brought_back_the_other_way():
    forth, back = corrections(LEG, 27, 34, 5).best, corrections(LEG, 41, 34, 5).best
    assert forth.turns[0].slide_mm == pytest.approx(-back.turns[0].slide_mm) and forth.moves_mm > 0 > back.moves_mm


def test_too_far_for_every_adapter_is_not_reachable_and_the_nearest_is_said():
    stiff = Chain((Joint("foot", 74, tilt_limit_deg=1), Joint("slide", 550, slide_limit_mm=4)), 498, 812)
    found = corrections(stiff, 0, 34, 5)
    assert found.ways == () and found.nearest.sort == SINGLE_TILT
    assert found.nearest.offset_mm == pytest.approx(7.4, abs=0.05), "by arithmetic: 424 · sin 1°"


def test_an_adapter_at_its_end_has_nothing_left():
    ended = Chain((Joint("slide", 550, slide_mm=4, slide_limit_mm=4),), 498, 812)
    found = corrections(ended, 30, 34, 1)
    assert found.ways == () and found.nearest.moves_mm == 0
    assert corrections(ended, 38, 34, 1).best.turns[0].slide_mm == pytest.approx(-4)


def test_within_tolerance_at_the_limit_is_offered_as_such():
    found = corrections(Chain((Joint("slide", 550, slide_limit_mm=4),), 498, 812), 26, 34, 5)
    assert found.best.at_limit and found.best.reached and found.best.offset_mm == pytest.approx(30)


def test_a_socket_without_its_reference_point_offers_no_tilt_above_the_knee():
    bare = Chain(LEG.joints, 498)
    assert all(
        way.turns[0].joint != "above" for way in corrections(bare, 27, 34, 5).ways if way.sort == SINGLE_TILT
    )


def test_a_leg_without_adapters_offers_nothing():
    found = corrections(Chain((), 498, 812), 27, 34, 5)
    assert (found.ways, found.nearest) == ((), None)


def test_a_heel_ten_millimetres_higher_tips_the_leg_forward_and_brings_the_line_back():
    """By arithmetic: asin(10 / 172) = 3.333°; the knee then stands 29 mm further forward."""
    found = heel_change(LEG, 10, 172, 118)
    assert found.sole_tilt_deg == pytest.approx(3.333, abs=5e-4)
    assert found.offset_change_mm == pytest.approx(-29.15, abs=0.01)
    assert found.height_change_mm > 0
    assert found.undone_by.joint == "foot" and found.within_limit


@given(st.floats(-18, 18))
def test_the_tilt_that_undoes_a_heel_sets_the_leg_upright_again(change):
    found = heel_change(LEG, change, 172, 118)
    tipped = Chain(LEG.joints, LEG.knee_at_mm, LEG.reference_at_mm, found.sole_tilt_deg, 118)
    after = tipped.turned((found.undone_by,))
    assert after.knee.tilt_deg == pytest.approx(0, abs=1e-9)
    assert abs(after.knee.x_mm) < abs(tipped.knee.x_mm) or abs(change) < 1e-6
    assert heel_change(LEG, -change, 172, 118).sole_tilt_deg == pytest.approx(-found.sole_tilt_deg)


def test_a_heel_beyond_the_adapter_is_said_to_be():
    assert not heel_change(LEG, 40, 172, 118).within_limit


@pytest.mark.parametrize(("change", "length"), [(10, 0), (10, -172), (300, 172), (float("nan"), 172)])
def test_a_heel_that_can_not_be_is_refused(change, length):
    with pytest.raises(Refusal):
        heel_change(LEG, change, length, 118)


@pytest.mark.parametrize("figures", [(float("nan"), 34, 5), (27, float("inf"), 5), (27, 34, -1)])
def test_a_line_or_target_that_can_not_be_is_refused(figures):
    with pytest.raises(Refusal):
        corrections(LEG, *figures)
