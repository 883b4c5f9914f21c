"""Stairs and ramps: time per step and side, landings apart."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.timing.figures import THUMB_TAPS
from shared_models.calculations.timing.stairs import StairContact, ramp_slope_deg, stair_figures
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing import left_out_words

OTHER = {"left": "right", "right": "left"}


def down(*gaps_s, first="left", landings=(), start_s=2.0):
    """Contacts of alternating feet with these gaps; ``landings`` are contact numbers from 0."""
    times = start_s + np.concatenate([[0.0], np.cumsum(gaps_s)])
    return [
        StairContact(first if i % 2 == 0 else OTHER[first], float(t), i in landings)
        for i, t in enumerate(times)
    ]


def figures(contacts, **more):
    return stair_figures(contacts, direction="down", basis=THUMB_TAPS, **more)


def test_the_step_of_the_sound_side_lasts_while_the_prosthetic_knee_yields():
    """Prosthesis left: it lands, 0.9 s later the sound foot lands, 0.6 s later the prosthesis again."""
    made = figures(down(*[0.9, 0.6] * 5), prosthesis_side="left", treads=11)
    steps = made.flights.spreads["step_time_s"]
    assert (steps["right"].mean, steps["left"].mean) == pytest.approx((0.9, 0.6))
    index = made.flights.figure("step_time_s", "prosthesis_symmetry_index_percent")
    assert index.value == pytest.approx(100 * (0.6 - 0.9) / 0.75) and index.worth_showing


def test_what_happens_on_a_landing_is_timed_apart_and_listed():
    gaps = [0.8, 0.8, 0.8, 0.8, 1.0, 1.2, 0.8, 0.8, 0.8, 0.8]
    made = figures(down(*gaps, landings=(4, 5)), treads=10)
    assert made.landing_s == pytest.approx((2.2,))
    left_out = [e for e in made.left_out if e.interval.quantity == "step_time_s"]
    assert [(e.interval.start, e.why, left_out_words(e)) for e in left_out] == [
        (4, "landing", "begins on a landing"), (5, "landing", "begins on a landing")]
    assert made.flights.spreads["step_time_s"]["both"].longest == pytest.approx(0.8)
    assert made.all.spreads["step_time_s"]["both"].n == 10
    assert made.time_per_tread_s == pytest.approx(0.8) and made.pattern == "step_over_step"


def test_two_contacts_a_tread_are_step_to():
    made = figures(down(*[0.9, 0.5] * 4, 0.9), treads=5)
    assert made.pattern == "step_to" and made.time_per_tread_s == pytest.approx(2 * (4 * 1.4 + 0.9) / 9)


def test_contacts_that_do_not_fit_the_treads_give_no_time_per_tread():
    made = figures(down(*[0.8] * 7), treads=5)
    assert made.pattern == "" and made.time_per_tread_s is None


def test_a_ramp_has_steps_and_no_treads():
    made = figures(down(*[0.62, 0.58] * 6))
    assert made.time_per_tread_s is None and made.pattern == ""
    assert made.flights.spreads["step_time_s"]["right"].mean == pytest.approx(0.62)
    assert made.duration_s == pytest.approx(7.2)


def test_a_missed_contact_on_the_stair_is_shown():
    contacts = down(*[0.8] * 10)
    del contacts[5]
    made = figures(contacts)
    assert [d.code for d in made.doubts] == ["same_side_twice"] and made.left_out


def test_a_contact_without_a_time_leaves_the_others_timed():
    contacts = down(*[0.8] * 10, landings=(4,))
    contacts[7] = StairContact(contacts[7].side, None)
    made = figures(contacts, treads=10)
    assert [d.code for d in made.doubts] == ["time_missing"]
    assert made.all.spreads["step_time_s"]["both"].n == 8 and made.landing_s == pytest.approx((0.8,))
    assert made.time_per_tread_s is None


@given(st.lists(st.floats(0.4, 2.0), min_size=6, max_size=25), st.sets(st.integers(1, 5), max_size=3))
def test_steps_and_landings_make_up_the_whole_time(gaps, landings):
    made = figures(down(*gaps, landings=landings))
    on_treads = sum(g for i, g in enumerate(gaps) if i not in landings)
    assert on_treads + math.fsum(made.landing_s) == pytest.approx(made.duration_s)


@given(st.lists(st.floats(0.4, 2.0), min_size=6, max_size=25))
def test_mirrored_stairs_turn_the_sign_of_the_symmetry(gaps):
    key = "symmetry_index_percent"
    one, other = figures(down(*gaps)).all, figures(down(*gaps, first="right")).all
    assert one.figure("step_time_s", key).value == pytest.approx(-other.figure("step_time_s", key).value, abs=1e-9)


@pytest.mark.parametrize(("rise_mm", "length_mm", "degrees"), [(1, 12, 4.764), (87.5, 1000, 5.0), (0, 500, 0.0)])
def test_the_slope_of_a_ramp(rise_mm, length_mm, degrees):
    """1 in 12 of the access rules; 5 degrees, the slope of Highsmith et al. 2016 (8.75 %)."""
    assert ramp_slope_deg(rise_mm, length_mm) == pytest.approx(degrees, abs=2e-3)


@pytest.mark.parametrize("told", [(-1, 100), (10, 0), (10, -5), (math.nan, 10), (10, math.inf), (170, 320)])
def test_a_slope_that_is_no_ramp_is_refused(told):
    """170 mm on 320 mm is a stair of 28 degrees."""
    with pytest.raises(Refusal) as caught:
        ramp_slope_deg(*told)
    assert "not stated" not in refusal_sentence(caught.value)


@pytest.mark.parametrize(("contacts", "more"), [
    ([], {}), (down(), {}), (down(0.8), {"treads": 0}), (down(0.8), {"treads": 2.5}),
    (down(0.8), {"prosthesis_side": "both"}), (down(0.8), {"jitter_s": -1.0}), (down(-0.8), {}),
    (down(0.0), {}), (down(math.nan), {}),
])
def test_stairs_that_cannot_be_are_refused_in_words(contacts, more):
    with pytest.raises(Refusal) as caught:
        figures(contacts, **more)
    assert "not stated" not in refusal_sentence(caught.value)


def test_another_way_than_up_or_down_is_refused():
    with pytest.raises(Refusal):
        stair_figures(down(0.8), direction="along", basis=THUMB_TAPS)
