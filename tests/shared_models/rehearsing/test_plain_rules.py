"""The plain rules, exactly as they are stated, and the intervals beside measured figures."""

from __future__ import annotations

from random import Random

import pytest
from scipy.stats import binomtest

from shared_models.rehearsing.courses import MOST_TRIALS, tune
from shared_models.rehearsing.intervals import mean, ratio_of_means, share
from shared_models.rehearsing.plain_rules import ONE_INCREMENT, IncrementRule
from tests.shared_models.calculations.tuning.making import adjuster, known, tried
from tests.shared_models.calculations.tuning.stand_in import StandIn

OWN = adjuster("swing_flexion")


def sure(first: int, last: int) -> StandIn:
    """Somebody whose findings are never wrong."""
    return StandIn(OWN, first, last, early_share=0.0, error_share=1e-9)


def walked(rule, first, last):
    return tune(sure(first, last), OWN, rule, Random(1))


def test_one_increment_walks_every_position_on_the_way_and_the_last_one_twice():
    course = walked(ONE_INCREMENT, 13, 14)
    assert (course.trials, int(course.final_position), course.right) == (5 + 2, 13, True)


def test_an_increment_that_does_not_halve_may_never_end():
    course = walked(IncrementRule(3), 10, 10)
    assert (course.outcome, course.trials, course.right) == ("given_up", MOST_TRIALS, False)


def test_halving_after_each_reversal_ends_where_not_halving_does_not():
    """8 -> 11, back by 1 to 10: found right twice."""
    course = walked(IncrementRule(3, halving=True), 10, 10)
    assert (course.trials, int(course.final_position), course.right) == (4, 10, True)


@pytest.mark.parametrize("at", ["19", "20"])
def test_the_ends_of_the_range_hold_a_rule(at):
    advice = IncrementRule(3).advise(OWN, [tried("swing_flexion", at, low="marked")], known("swing_flexion"))
    assert advice.position == OWN.highest and not advice.stop


def test_nothing_found_once_is_not_yet_enough_and_a_finding_starts_the_count_again():
    course = [tried("swing_flexion", "8"), tried("swing_flexion", "8", low="slight"), tried("swing_flexion", "9")]
    assert not ONE_INCREMENT.advise(OWN, course, known("swing_flexion")).stop
    assert ONE_INCREMENT.advise(OWN, [*course, tried("swing_flexion", "9")], known("swing_flexion")).reached


@pytest.mark.parametrize(("hits", "count"), [(0, 20), (5, 9), (990, 1000), (10_000, 10_000)])
def test_the_interval_of_a_share_is_wilsons(hits, count):
    """scipy computes Wilson's interval independently."""
    theirs = binomtest(hits, count).proportion_ci(0.95, "wilson")
    ours = share(hits, count)
    assert (ours.lowest, ours.highest) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_the_interval_of_a_ratio_of_means_holds_the_truth_as_often_as_it_says():
    """Simulated pairs with a known ratio: 95 % of 400 intervals, give or take 3.5 points."""
    held = 0
    for k in range(400):
        chance = Random(k)
        below = [chance.expovariate(0.2) + 2 for _ in range(150)]
        above = [0.5 * b + chance.gauss(0, 1) for b in below]
        found = ratio_of_means(above, below)
        held += found.lowest <= 0.5 <= found.highest
    assert 0.915 <= held / 400 <= 0.985


def test_the_interval_of_a_mean_shrinks_with_the_root_of_the_count():
    few, many = mean([1.0, 2.0, 3.0] * 10), mean([1.0, 2.0, 3.0] * 1000)
    assert few.value == many.value == 2
    assert (few.highest - few.lowest) / (many.highest - many.lowest) == pytest.approx(10, rel=0.03)
