"""Changed, or not more than measuring the same twice; only like with like."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.timing.changes import (
    DETECTABLE, Measured, change_of, mdc90, mdc95, shift_of, standard_error_of_measurement,
)
from shared_models.calculations.timing.figures import INITIAL_CONTACT, THUMB_TAPS, Basis
from shared_models.calculations.timing.walk import walk_figures
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing import because_words
from tests.shared_models.calculations.timing.bouts import bout, initials
from tests.shared_models.calculations.timing.walks import even_walk, tapped

WATCH = Basis("stopwatch", "foot crosses the line")


def measured(measure, value, basis=WATCH, **setting):
    return Measured(measure, value, basis, tuple(setting.items()))


def test_the_published_formulas_give_the_worked_figures():
    """SD 37.5 m, ICC 0.83 (method of Resnik & Borgia 2011), worked by hand."""
    sem = standard_error_of_measurement(37.5, 0.83)
    assert (sem, mdc90(sem), mdc95(sem)) == pytest.approx((15.4616, 35.9665, 42.8566), abs=2e-4)
    assert mdc95(1) / mdc90(1) == pytest.approx(1.19157, abs=1e-5)
    assert mdc90(1) == pytest.approx(scipy.stats.norm.ppf(0.95) * math.sqrt(2), rel=1e-12)


@pytest.mark.parametrize(("measure", "icc", "sd_of_other_samples"), [
    ("two_minute_walk_m", 0.83, (35, 38)), ("six_minute_walk_m", 0.97, (102, 112)),
])
def test_the_published_changes_imply_the_spread_of_independent_samples(measure, icc, sd_of_other_samples):
    """2MWT: 37.5 m (Gaunaurd 2020); 6MWT: 102 to 111 m (Gailey 2002)."""
    sem = DETECTABLE[measure].mdc90 / mdc90(1)
    assert sd_of_other_samples[0] <= sem / math.sqrt(1 - icc) <= sd_of_other_samples[1]


def test_a_change_of_exactly_the_published_figure_counts():
    """15.0 - 11.4 is 3.5999999999999996 in floats; 3.6 s counts and 3.5 s does not."""
    for after, changed, better in ((11.4, True, "better"), (11.5, False, ""), (18.6, True, "worse")):
        found = change_of(measured("timed_up_and_go_s", 15.0), measured("timed_up_and_go_s", after))
        assert (found.changed, found.better) == (changed, better)


def test_farther_is_better_and_faster_is_better():
    farther = change_of(measured("two_minute_walk_m", 100.0), measured("two_minute_walk_m", 134.3))
    shorter = change_of(measured("six_minute_walk_m", 300.0), measured("six_minute_walk_m", 255.0))
    assert (farther.better, shorter.better) == ("better", "worse")
    assert "Resnik" in farther.source and farther.limit == 34.3


def test_without_a_published_figure_a_change_gets_no_verdict():
    found = change_of(measured("ten_metre_speed_m_per_s", 0.8), measured("ten_metre_speed_m_per_s", 1.1))
    assert found.changed is None and found.difference == pytest.approx(0.3)
    assert because_words(found.because) == "no minimal detectable change is published for it"


@given(st.floats(1, 400), st.floats(1, 400))
def test_going_back_is_the_opposite_of_the_change(one, other):
    there = change_of(measured("two_minute_walk_m", one), measured("two_minute_walk_m", other))
    back = change_of(measured("two_minute_walk_m", other), measured("two_minute_walk_m", one))
    assert there.changed == back.changed and there.difference == -back.difference
    assert {there.better, back.better} in ({""}, {"better", "worse"})


@pytest.mark.parametrize(("before", "after", "what"), [
    (measured("timed_up_and_go_s", 12.0), measured("timed_up_and_go_s", 10.0, Basis("video", WATCH.event)), "instrument"),
    (measured("timed_up_and_go_s", 12.0), measured("timed_up_and_go_s", 10.0, Basis("stopwatch", "trunk")), "event"),
    (measured("two_minute_walk_m", 80.0, aid="frame"), measured("two_minute_walk_m", 120.0, aid="none"), "aid"),
    (measured("two_minute_walk_m", 80.0), measured("two_minute_walk_m", 120.0, aid="none"), "aid"),
    (measured("two_minute_walk_m", 80.0), measured("six_minute_walk_m", 240.0), "measure"),
])
def test_unlike_figures_are_not_compared(before, after, what):
    with pytest.raises(Refusal) as caught:
        change_of(before, after)
    assert caught.value.code == "figures_not_comparable" and caught.value.figures["what"] == what
    assert what in refusal_sentence(caught.value)


def test_symmetry_of_two_instruments_is_not_compared_though_the_walk_is_the_same():
    one, other = (
        walk_figures(initials(bout("Test5", "Trial1", system)), basis=Basis(system)).all.figure(
            "step_time_s", "symmetry_index_percent")
        for system in ("INDIP", "Stereophoto")
    )
    with pytest.raises(Refusal) as caught:
        shift_of(one, other)
    assert caught.value.figures == {"what": "instrument", "before": "INDIP", "after": "Stereophoto"}


def symmetry(contacts, basis=THUMB_TAPS, index="symmetry_index_percent"):
    return walk_figures(
        contacts, basis=basis, from_standing=False, to_standing=False).all.figure("step_time_s", index)


def test_another_index_or_event_is_not_compared_either():
    walk = even_walk(20)
    for other in (symmetry(walk, index="symmetry_angle_percent"),
                  symmetry(walk, Basis(THUMB_TAPS.instrument, INITIAL_CONTACT))):
        with pytest.raises(Refusal) as caught:
            shift_of(symmetry(walk), other)
        assert caught.value.code == "figures_not_comparable"


def test_a_shift_is_beyond_the_error_only_when_it_is_larger_than_the_taps_explain():
    even, uneven = even_walk(40, 0.6, 0.6), even_walk(40, 0.75, 0.6)
    assert shift_of(symmetry(even), symmetry(uneven)).beyond_error is True
    assert shift_of(symmetry(even), symmetry(even_walk(40, 0.61, 0.6))).beyond_error is False


def test_from_too_few_strides_a_shift_gets_no_verdict():
    found = shift_of(symmetry(even_walk(6, 0.9, 0.5)), symmetry(even_walk(6, 0.5, 0.9)))
    assert found.beyond_error is None and found.because.code == "too_few_strides"
    assert found.difference == pytest.approx(114.2857, abs=1e-3)


def test_of_two_walks_that_are_the_same_about_one_in_twenty_looks_changed():
    """The widths of both are added as squares: 5 % or fewer of 200 pairs."""
    chance = np.random.default_rng(3)
    truth = even_walk(20, 0.62, 0.58)
    seen = sum(
        bool(shift_of(symmetry(tapped(truth, 0.05, chance)), symmetry(tapped(truth, 0.05, chance))).beyond_error)
        for _ in range(200))
    assert 1 <= seen <= 20


@pytest.mark.parametrize(("sd", "icc"), [(-1, 0.8), (math.nan, 0.8), (10, 1.2), (10, math.nan)])
def test_a_reliability_that_cannot_be_is_refused(sd, icc):
    with pytest.raises(Refusal) as caught:
        standard_error_of_measurement(sd, icc)
    assert caught.value.code == "reliability_cannot_be" and "not stated" not in refusal_sentence(caught.value)


def test_a_value_that_is_no_number_is_not_compared():
    with pytest.raises(Refusal):
        change_of(measured("two_minute_walk_m", math.nan), measured("two_minute_walk_m", 100.0))
    figure = symmetry(even_walk(20))
    with pytest.raises(Refusal):
        shift_of(figure, dataclasses.replace(figure, value=None))
