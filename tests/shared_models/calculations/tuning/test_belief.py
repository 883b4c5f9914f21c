"""The belief about the good window, against independent computations of the same."""

from __future__ import annotations

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from shared_models.calculations.tuning.assumptions import assumptions_of
from shared_models.calculations.tuning.course import Evidence
from shared_models.calculations.tuning.window import OUTCOMES, learnt, prior, shown, tail

ASSUMED = assumptions_of("swing_flexion")
STEPS = 20


def brute_likelihood(side: int, grade: int, place: float, lower, upper, factor: float):
    """An ordered probit a side by scipy's normal distribution, windows as arrays.

    What is perceived is the place plus a normal error; on each side the cut
    points are where a finding begins to show and where it turns marked.
    """
    low, high = ASSUMED.too_low, ASSUMED.too_high
    at_low = norm(loc=place, scale=low.error_share * STEPS * factor)
    at_high = norm(loc=place, scale=high.error_share * STEPS * factor)
    shows_low, shows_high = lower + low.early_share * STEPS, upper - high.early_share * STEPS
    marked_low, marked_high = shows_low - low.slight_share * STEPS, shows_high + high.slight_share * STEPS
    found = {
        (-1, 2): at_low.cdf(marked_low), (-1, 1): at_low.cdf(shows_low) - at_low.cdf(marked_low),
        (1, 1): at_high.sf(shows_high) - at_high.sf(marked_high), (1, 2): at_high.sf(marked_high),
    }
    whole = numpy.maximum(sum(found.values()), 1)
    found[0, 0] = whole - sum(found.values())
    return (1 - ASSUMED.stray_part) * found[side, grade] / whole + ASSUMED.stray_part / 5


_outcomes = st.sampled_from(OUTCOMES)
_course = st.lists(
    st.tuples(st.integers(0, STEPS), _outcomes, st.sampled_from(["seen", "felt"])), min_size=1, max_size=5,
)


@given(_course)
def test_the_belief_after_some_trials_is_bayes_rule(course):
    start = prior(STEPS, ASSUMED)
    belief, edges = start, numpy.array(start.edges)
    weights, nowhere = numpy.array(start.chances), start.nowhere
    for place, (side, grade), way in course:
        belief = learnt(belief, place, [Evidence(way, side, grade)], ASSUMED)
        factor = dict(ASSUMED.error_factor)[way]
        weights = weights * brute_likelihood(side, grade, place, edges[:, 0], edges[:, 1], factor)
        nowhere *= 0.2
    weights, nowhere = weights / (weights.sum() + nowhere), nowhere / (weights.sum() + nowhere)

    for place in range(STEPS + 1):
        good = weights[(edges[:, 0] < place) & (place < edges[:, 1])].sum()
        assert belief.good(place) == pytest.approx(good, abs=1e-7)
        assert belief.too_low(place) == pytest.approx(weights[edges[:, 0] > place].sum(), abs=1e-7)
        assert belief.too_high(place) == pytest.approx(weights[edges[:, 1] < place].sum(), abs=1e-7)
    assert belief.nowhere == pytest.approx(nowhere, abs=1e-7)


@given(st.floats(-8, 8))
def test_the_tail_is_the_standard_normal_distribution(value):
    assert tail(value) == pytest.approx(norm.cdf(value), rel=1e-9, abs=1e-15)


@given(st.floats(-30, 30), st.floats(0, 12), st.floats(0.3, 3))
def test_the_chances_of_everything_a_trial_may_show_add_up_to_one(off_low, width, factor):
    chances = shown(off_low, -width - off_low, ASSUMED, STEPS, factor)
    assert sum(chances) == pytest.approx(1, abs=1e-12) and min(chances) >= 0


@given(st.integers(2, 100))
def test_before_any_trial_the_chances_add_up_to_one_and_no_position_is_ruled_out(steps):
    belief = prior(steps, ASSUMED)
    assert sum(belief.chances) + belief.nowhere == pytest.approx(1)
    assert all(belief.good(place) > 0.001 for place in range(steps + 1))


@given(_course, st.sampled_from(["seen", "felt"]))
def test_a_marked_finding_of_too_low_never_makes_too_low_less_likely(course, way):
    belief = prior(STEPS, ASSUMED)
    for place, (side, grade), by in course:
        belief = learnt(belief, place, [Evidence(by, side, grade)], ASSUMED)
    place = course[-1][0]
    after = learnt(belief, place, [Evidence(way, -1, 2)], ASSUMED)
    # Among windows that exist; that none does may become likelier by any finding.
    assert after.too_low(place) / (1 - after.nowhere) >= belief.too_low(place) / (1 - belief.nowhere) - 1e-6


def test_seen_and_felt_alike_say_more_than_seen_alone():
    start = prior(STEPS, ASSUMED)
    seen = learnt(start, 10, [Evidence("seen", 0, 0)], ASSUMED)
    both = learnt(start, 10, [Evidence("seen", 0, 0), Evidence("felt", 0, 0)], ASSUMED)
    assert both.good(10) > seen.good(10) > start.good(10)


def test_a_provisional_trial_says_less_than_a_full_one():
    start = prior(STEPS, ASSUMED)
    full = learnt(start, 10, [Evidence("seen", 0, 0)], ASSUMED)
    held = learnt(start, 10, [Evidence("seen", 0, 0)], ASSUMED, ASSUMED.provisional_weight)
    assert start.good(10) < held.good(10) < full.good(10)


def test_a_surer_observer_teaches_more():
    start = prior(STEPS, ASSUMED)
    sure = ASSUMED.wider(0.5)
    assert learnt(start, 10, [Evidence("seen", 0, 0)], sure).good(10) > learnt(start, 10, [Evidence("seen", 0, 0)], ASSUMED).good(10)
