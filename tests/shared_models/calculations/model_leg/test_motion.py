"""A model person in motion: what the eye sees keeps to the simulation and to the body."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings, strategies as st

from shared_models.calculations.model_leg.people import model_person
from shared_models.calculations.model_leg.sound_side import KNEE_DEG, around
from shared_models.calculations.model_leg.steps_down import StepsDown
from shared_models.calculations.model_leg.strides import SAMPLES, LevelStride

SEEDS = st.integers(1000, 1040)
PLACES = st.fixed_dictionaries({}, optional={
    "stance_threshold": st.integers(0, 24).map(Decimal), "swing_flexion": st.integers(0, 20).map(Decimal),
    "swing_extension": st.integers(0, 20).map(Decimal), "stance_damping": st.integers(0, 16).map(Decimal),
})
FLOOR_M = 0.002
GROUNDS = ("stairs", "low_steps", "ramp")


def lengths(leg, build):
    """Return how far each segment of a leg is from its length, in m."""
    return [
        abs(math.dist(leg.hip, leg.knee) - build.thigh_m), abs(math.dist(leg.knee, leg.ankle) - build.shank_m),
        abs(math.dist(leg.heel, leg.toe) - build.heel_m - build.toe_m),
        abs(math.dist(leg.ankle, leg.toe) - math.hypot(build.toe_m, build.ankle_m)),
    ]


def moments(motion, count=60):
    return [motion.at(k * motion.period_s / count) for k in range(count)]


@settings(max_examples=40, deadline=None)
@given(SEEDS, PLACES)
def test_a_segment_keeps_its_length_and_no_foot_goes_into_the_floor(seed, positions):
    stride = LevelStride(model_person(seed), positions)
    for pose in moments(stride):
        for leg in (pose.prosthesis, pose.sound):
            assert max(lengths(leg, stride.build)) < 1e-9
            assert leg.lowest_m > -1e-9
        # Somebody who walks is never in the air, nor is a foot that bears.
        assert min(pose.prosthesis.lowest_m, pose.sound.lowest_m) < FLOOR_M


@settings(max_examples=25, deadline=None)
@given(SEEDS, PLACES)
def test_a_stride_goes_on_into_the_next_without_a_jump(seed, positions):
    stride = LevelStride(model_person(seed), positions)
    fine = 4 * SAMPLES
    step_s = stride.period_s / fine
    before = stride.at(stride.period_s - step_s)
    for k in range(fine + 2):
        now = stride.at(stride.period_s + k * step_s)
        for old, new in ((before.prosthesis, now.prosthesis), (before.sound, now.sound)):
            for name in ("hip", "knee", "ankle", "heel", "toe"):
                assert math.dist(getattr(old, name), getattr(new, name)) < 0.035, (k, name)
        assert -0.01 < now.along_m - before.along_m < 0.03
        before = now


@settings(max_examples=15, deadline=None)
@given(SEEDS, PLACES)
def test_the_knee_that_is_seen_is_the_knee_that_was_simulated(seed, positions):
    person = model_person(seed)
    stride = LevelStride(person, positions)
    swing = person.swinging.swing(positions)
    seen = max(stride.prosthesis_knee_deg(k * stride.period_s / 500) for k in range(500))
    assert seen == pytest.approx(math.degrees(swing.peak_flexion_rad), abs=0.3)
    assert stride.contact_s == swing.contact_s
    contacts = [e for e in stride.events if e.what == "contact"]
    assert len(contacts) == 2 and {e.side for e in contacts} == {"prosthetic", "sound"}


def test_less_flexion_damping_lifts_the_heel_higher_and_that_can_be_seen():
    person = model_person(1024)
    heights = []
    for position in (0, 12, 20):
        stride = LevelStride(person, {"swing_flexion": Decimal(position)})
        heights.append(max(pose.prosthesis.heel[1] for pose in moments(stride)))
    assert heights[0] - heights[1] > 0.015 and heights[1] - heights[2] > 0.015


def test_a_knee_without_damping_gives_way_when_it_is_loaded():
    person = model_person(1024)
    held = LevelStride(person, {})
    gives = LevelStride(person, {"stance_threshold": Decimal(24)})

    def loaded(stride):
        begin, end = stride.contact_s, stride.contact_s + 0.4 * (stride.period_s - stride.contact_s)
        return max(stride.prosthesis_knee_deg(begin + (end - begin) * k / 50) for k in range(51))

    assert not person.standing.stance({"stance_threshold": Decimal(24)}).comes_in
    assert loaded(held) < 6 and loaded(gives) > 10
    leans = max(pose.lean_deg for pose in moments(gives)) - max(pose.lean_deg for pose in moments(held))
    assert leans > 2


def test_a_hard_stop_is_heard_harder_than_a_gentle_one():
    person = model_person(1024)
    low, high = person.ranges["swing_extension"].positions[0], person.ranges["swing_extension"].positions[-1]

    def stop(position):
        events = LevelStride(person, {"swing_extension": position}).events
        return next((e.strength for e in events if e.what == "stop"), 0.0)

    assert stop(low) > stop(person.ranges["swing_extension"].suits) > stop(high)


@pytest.mark.parametrize("ground", GROUNDS)
def test_going_down_yields_as_the_model_does_and_stays_on_the_steps(ground):
    person = model_person(1024)
    for position in (Decimal(0), person.ranges["stance_damping"].suits, Decimal(16)):
        down = StepsDown(person, {"stance_damping": position}, ground)
        done = person.going_down.descent({"stance_damping": position}, 1.0, ground)
        assert down.yield_s == pytest.approx(done.time_s, rel=0.03)
        for pose in moments(down):
            for leg in (pose.prosthesis, pose.sound):
                assert max(lengths(leg, down.build)) < 1e-9
        bent = [down.knee_deg(k * down.yield_s / 30) for k in range(31)]
        assert bent == sorted(bent)
        feet = [p.prosthesis.ankle for p in (down.at(k * down.yield_s / 20) for k in range(20))]
        assert max(math.dist(feet[0], foot) for foot in feet) < 0.02, "the foot that bears stays"


def test_less_stance_damping_drops_faster_and_lands_harder():
    person = model_person(1024)
    few = StepsDown(person, {"stance_damping": Decimal(0)}, "stairs")
    many = StepsDown(person, {"stance_damping": Decimal(16)}, "stairs")
    assert few.yield_s < many.yield_s
    assert few.events[0].strength > many.events[0].strength


def test_the_sound_knee_bends_as_published():
    # Loading response 15 to 20 degrees, swing 60 to 65: Winter DA, The Biomechanics and
    # Motor Control of Human Gait, 2nd edition 1991; Perry J, Burnfield JM, Gait Analysis,
    # 2nd edition 2010 (both from memory).
    course = [around(KNEE_DEG, k / 400) for k in range(400)]
    assert 60 <= max(course) <= 65
    assert 0.69 <= course.index(max(course)) / 400 <= 0.77
    assert 15 <= max(course[:100]) <= 20
    assert min(course) >= 0


def test_prosthetic_knees_that_suit_bend_in_swing_about_as_published():
    # 60 to 65 degrees in swing for walking without a prosthesis (as above); a slower
    # walk bends less, so the mean of model people may lie a little under it.
    peaks = [math.degrees(model_person(s).swinging.suited[1].peak_flexion_rad) for s in range(1000, 1040)]
    assert 55 <= sum(peaks) / len(peaks) <= 65
