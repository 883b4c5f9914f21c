"""Missed, doubled and impossible taps are found and shown, and none is dropped."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.timing.contacts import Contact, doubts_in
from shared_models.calculations.timing.figures import THUMB_TAPS
from shared_models.calculations.timing.walk import walk_figures
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing import doubt_sentence, left_out_words
from tests.shared_models.calculations.timing.bouts import bout, initials
from tests.shared_models.calculations.timing.walks import even_walk


def found(contacts):
    return [(doubt.code, doubt.at, doubt.last) for doubt in doubts_in(contacts)]


def figures(contacts, **more):
    return walk_figures(contacts, basis=THUMB_TAPS, **more)


def test_an_even_walk_raises_no_doubt():
    assert found(even_walk(30)) == []


@given(st.integers(6, 40), st.data())
def test_a_missed_tap_anywhere_inside_is_found(intervals, data):
    walk = even_walk(intervals)
    missed = data.draw(st.integers(1, intervals - 1))
    left = walk[:missed] + walk[missed + 1:]
    assert found(left) == [("same_side_twice", missed - 1, missed)]


@given(st.integers(8, 40), st.data())
def test_two_taps_missed_in_a_row_show_as_a_long_gap(intervals, data):
    walk = even_walk(intervals)
    missed = data.draw(st.integers(1, intervals - 2))
    assert found(walk[:missed] + walk[missed + 2:]) == [("long_gap", missed - 1, missed)]


@given(st.integers(6, 40), st.data(), st.floats(0.0, 0.19))
def test_a_tap_made_twice_is_found(intervals, data, later_s):
    walk = even_walk(intervals)
    at = data.draw(st.integers(0, intervals))
    twice = Contact(walk[at].side, walk[at].time_s + later_s)
    codes = [code for code, *_ in found(walk[:at + 1] + [twice] + walk[at + 1:])]
    assert codes == ["doubled"]


@given(st.integers(6, 30), st.data())
def test_no_doubtful_tap_is_dropped(intervals, data):
    walk = even_walk(intervals)
    at = data.draw(st.integers(0, intervals))
    walk = walk[:at + 1] + [Contact(walk[at].side, walk[at].time_s + 0.05)] + walk[at + 1:]
    made = figures(walk)
    assert made.contacts == tuple(walk)
    assert made.all.spreads["contact_interval_s"]["both"].n == len(walk) - 1
    for quantity in ("step_time_s", "stride_time_s", "contact_interval_s"):
        everything = made.all.spreads[quantity]["both"].n
        kept = made.steady.spreads[quantity]["both"].n
        assert everything - kept == sum(e.interval.quantity == quantity for e in made.left_out)


def test_the_recorded_double_contact_and_missed_side_are_found():
    """Insoles, daily activity, bout 3: two contacts 10 ms apart, and right after right."""
    recorded = initials(bout("Test11", "Trial1", "INDIP", 3))
    assert [code for code, *_ in found(recorded)] == ["doubled", "long_gap", "same_side_twice"]


def test_a_contact_that_an_instrument_states_no_time_for_bounds_nothing():
    recorded = initials(bout("Test11", "Trial1", "Stereophoto", 2))
    assert found(recorded) == [("time_missing", 6, -1)]
    made = figures(recorded)
    assert made.all.spreads["step_time_s"]["both"].n == len(recorded) - 3


def test_contacts_of_one_side_time_strides_but_no_steps():
    walk = [c for c in even_walk(30) if c.side == "left"]
    made = figures(walk)
    assert found(walk) == [("one_side_only", -1, -1)]
    assert made.all.spreads["stride_time_s"]["left"].n == 15
    assert made.whole["cadence_steps_per_min"].value is None
    assert made.whole["cadence_steps_per_min"].because.code == "one_side_has_no_steps"


@pytest.mark.parametrize(("bad", "code", "figure"), [
    (Contact("right", math.nan), "contact_time_not_a_number", "nan"),
    (Contact("right", math.inf), "contact_time_not_a_number", "inf"),
    (Contact("right", -0.5), "contact_time_negative", "-0.5"),
    (Contact("right", 0.5), "contact_out_of_order", "0.5"),
    (Contact("middle", 1.3), "contact_side_unknown", "middle"),
    (Contact("right", 1e300), "contact_time_too_late", "1e+300"),
])
def test_a_contact_that_cannot_be_is_refused_with_its_number_and_value(bad, code, figure):
    walk = [Contact("left", 1.0), bad, Contact("left", 2.0)]
    assert any(doubt.impossible for doubt in doubts_in(walk))
    with pytest.raises(Refusal) as caught:
        figures(walk)
    assert caught.value.code == code
    sentence = refusal_sentence(caught.value)
    assert figure in sentence and "Contact 2" in sentence and "not stated" not in sentence


@pytest.mark.parametrize("walk", [
    [], [Contact("left", 1.0)], [Contact("left", None), Contact("right", 2.0)],
])
def test_fewer_than_two_contacts_are_no_walk(walk):
    with pytest.raises(Refusal) as caught:
        figures(walk)
    assert caught.value.code == "contacts_too_few" and "not stated" not in refusal_sentence(caught.value)


def test_a_walk_of_no_time_is_refused():
    with pytest.raises(Refusal) as caught:
        figures([Contact("left", 3.0), Contact("right", 3.0)])
    assert caught.value.code == "walk_takes_no_time" and "not stated" not in refusal_sentence(caught.value)


@pytest.mark.parametrize("distance_m", [0, -3.0, math.nan, math.inf, 1e9])
def test_a_distance_that_cannot_be_is_refused(distance_m):
    with pytest.raises(Refusal) as caught:
        figures(even_walk(10), distance_m=distance_m)
    assert caught.value.code == "walk_distance_cannot_be" and str(distance_m) in refusal_sentence(caught.value)


@pytest.mark.parametrize("jitter_s", [-0.01, math.nan, math.inf, 5.0])
def test_a_jitter_that_cannot_be_is_refused(jitter_s):
    with pytest.raises(Refusal) as caught:
        figures(even_walk(10), jitter_s=jitter_s)
    assert caught.value.code == "jitter_cannot_be" and "not stated" not in refusal_sentence(caught.value)


def test_every_doubt_and_every_interval_left_out_has_its_words():
    walk = even_walk(20)
    walk[4:5] = []
    walk.insert(9, Contact(walk[8].side, walk[8].time_s + 0.1))
    walk[15:17] = []
    made = figures(walk)
    assert {d.code for d in made.doubts} == {"same_side_twice", "doubled", "long_gap"}
    for doubt in made.doubts:
        words = doubt_sentence(doubt)
        assert words.startswith("Contact ") and "not stated" not in words and words.endswith(".")
    assert {e.why for e in made.left_out} >= {"start", "stop", "same_side_twice", "doubled", "long_gap"}
    assert all("not stated" not in left_out_words(each) for each in made.left_out)
