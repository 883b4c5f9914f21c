"""How few trials the guidance needs, beside bounds and rules from elsewhere.

The stand-in (hidden window, normal error) shares no code with the guidance; the
same figures on the model people, who share none either, are measured in
tests/shared_models/rehearsing.
"""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest

from shared_models.calculations.tuning.assumptions import assumptions_of
from shared_models.calculations.tuning.choosing import weigh
from shared_models.calculations.tuning.course import Evidence
from shared_models.calculations.tuning.window import learnt, prior
from shared_models.rehearsing.courses import tune
from shared_models.rehearsing.plain_rules import ONE_INCREMENT, Guided, IncrementRule
from tests.shared_models.calculations.tuning.making import adjuster
from tests.shared_models.calculations.tuning.stand_in import StandIn, stand_in


def people(own, count, **more):
    return [(k, stand_in(own, Random(f"{own.function}{k}"), narrow=0.25, wide=0.40, **more)) for k in range(count)]


def totals(own, rule, drawn, observer_error=1.0):
    courses = [tune(p, own, rule, Random(f"chance{k}"), observer_error) for k, p in drawn]
    return sum(c.trials for c in courses) / len(courses), sum(c.right for c in courses) / len(courses), courses


def test_with_a_sure_eye_and_any_step_allowed_no_window_takes_more_trials_than_halving_would():
    """Halving n + 1 places takes at most floor(log2(n + 1)) + 1 looks (Knuth DE, The
    Art of Computer Programming 3, 6.2.1); one more, because a look that sees
    nothing is sometimes walked again."""
    own = adjuster("swing_flexion", largest_step="20")
    most = math.floor(math.log2(21)) + 1 + 1
    rule = Guided()
    for first in range(0, 16):
        course = tune(StandIn(own, first, first + 5), own, rule, Random(1), observer_error=1e-6)
        assert course.right and course.trials <= most


def test_swing_settings_take_about_half_the_trials_of_one_increment_at_a_time():
    own = adjuster("swing_flexion")
    drawn = people(own, 300, spread_share=0.19, error_share=0.03)
    guided, right, courses = totals(own, Guided(), drawn)
    plain, plain_right, _ = totals(own, ONE_INCREMENT, drawn)
    fixed = min(totals(own, IncrementRule(k, halving=True), drawn)[0] for k in (2, 3))
    # Sampling over 300 people: about 0.03 of either ratio and 0.6 % of the share.
    assert guided <= 0.58 * plain and guided <= 0.80 * fixed
    assert right >= 0.98 and right >= plain_right - 0.01
    assert sum(c.largest_step_violations for c in courses) == 0


@pytest.mark.parametrize("function", ["stance_threshold", "stance_damping"])
def test_stance_settings_take_no_more_trials_than_one_increment_at_a_time(function):
    own = adjuster(function)
    drawn = people(own, 200, middle_share=0.3 if function == "stance_threshold" else 0.5, spread_share=0.14, error_share=0.03)
    guided, right, courses = totals(own, Guided(), drawn)
    plain, _, plain_courses = totals(own, ONE_INCREMENT, drawn)
    assert guided <= plain and right >= 0.97
    assert sum(c.missing_again for c in courses) == 0
    assert sum(c.largest_step_violations for c in courses) == 0
    assert sum(c.unprotected_trials for c in courses) <= sum(c.unprotected_trials for c in plain_courses)


def test_looking_one_trial_ahead_agrees_with_adding_up_every_outcome_by_hand():
    # Only seen: with one way of noticing the sum by hand needs no shared error.
    assumed = replace(assumptions_of("swing_flexion"), ways=("seen",), needed_chance=0.98)
    belief = learnt(prior(20, assumed), 8, [Evidence("seen", -1, 1)], assumed)
    found = weigh(belief, 11, 3.0, assumed)
    chance_of_nothing = after = 0.0
    for (a, b), chance in zip(belief.edges, belief.chances):
        clean = learnt(
            type(belief)(20, ((a, b),), (1.0,), 0.0), 11, [Evidence("seen", 0, 0)], assumed,
        )
        assert clean.chances == (1.0,)
        likely = _chance_of_nothing(a - 11, 11 - b, assumed)
        chance_of_nothing += chance * likely
        after += chance * likely * (a < 11 < b)
    assert found.good == pytest.approx(belief.good(11), abs=1e-5)
    sure = after / chance_of_nothing >= assumed.needed_chance
    assert found.confirmed == pytest.approx(chance_of_nothing if sure else 0.0, abs=1e-4)


def _chance_of_nothing(off_low, off_high, assumed):
    from scipy.stats import norm

    low, high = assumed.too_low, assumed.too_high
    found = norm.cdf((off_low / 20 + low.early_share) / low.error_share)
    found += norm.cdf((off_high / 20 + high.early_share) / high.error_share)
    return (1 - assumed.stray_part) * max(1 - found, 0) + assumed.stray_part / 5
