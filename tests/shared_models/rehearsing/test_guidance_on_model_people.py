"""The guidance beside the plain rules, on the physical model people.

The bounds are those that 10 000 people are measured against
(``python -m shared_models.rehearsing.comparison``), with room for the sampling
of a few hundred.  The people of these seeds were not those that the guidance's
assumptions were fitted to.
"""

from __future__ import annotations

import pytest

from shared_models.catalogue.sheets import FUNCTIONS, demo_sheet, sheet_from
from shared_models.rehearsing.comparison import PLAIN, Setup, best_fixed, compare, main, setups

KNEE = sheet_from(demo_sheet("knee_alder"))
PEOPLE = 250


@pytest.fixture(scope="module")
def measured():
    """The figures of every rule, by function and rule."""
    return {
        function: {f.rule: f for f in compare(KNEE.adjuster(function), PEOPLE, Setup(41))}
        for function in FUNCTIONS
    }


@pytest.mark.parametrize("function", ["swing_flexion", "swing_extension"])
def test_swing_settings_are_found_in_about_half_the_trials_of_one_increment(measured, function):
    rules = measured[function]
    guided, fixed = rules["guidance"], best_fixed(list(rules.values()))
    assert KNEE.adjuster(function).largest_step == 3 * KNEE.adjuster(function).smallest_step
    # 0.55 and 0.75 over 10 000; the interval of 250 is about 0.03 either way.
    assert guided.of_plain.value <= 0.58
    assert guided.trials.value <= 0.80 * fixed.trials.value
    # One person of 250 is 0.4 %.
    assert guided.right.value >= 0.985
    assert guided.right.value >= max(f.right.value for f in rules.values()) - 0.008


@pytest.mark.parametrize("function", ["stance_threshold", "stance_damping"])
def test_stance_settings_take_no_more_trials_than_the_plain_rule(measured, function):
    guided, plain = measured[function]["guidance"], measured[function][PLAIN]
    assert guided.trials.value <= plain.trials.value
    assert guided.right.value >= 0.98


def test_a_threshold_without_damping_is_never_walked_again_and_fewer_trials_are_unprotected(measured):
    guided, plain = measured["stance_threshold"]["guidance"], measured["stance_threshold"][PLAIN]
    assert guided.missing_again == 0 < plain.missing_again
    assert guided.unprotected.value <= plain.unprotected.value


def test_no_turn_is_ever_above_the_sheets_largest_step(measured):
    assert all(rules["guidance"].largest_step == 0 for rules in measured.values())


def test_the_same_people_give_the_same_figures():
    own = KNEE.adjuster("swing_flexion")
    assert compare(own, 5, Setup(2)) == compare(own, 5, Setup(2)) != compare(own, 5, Setup(3))


def test_half_and_double_of_every_assumption_are_measured_too():
    named = setups(1, sensitivity=True)
    assert len(named) == 7
    assert {(s.observer_error, s.window_width, s.spread) for s in named.values()} == {
        (1, 1, 1), (0.5, 1, 1), (2, 1, 1), (1, 0.5, 1), (1, 2, 1), (1, 1, 0.5), (1, 1, 2),
    }


def test_the_command_prints_a_table_an_adjuster(capsys):
    assert main(["--people", "3", "--seed", "4", "--adjuster", "swing_flexion"]) == 0
    said = capsys.readouterr().out
    assert "swing flexion, as assumed" in said and "| guidance |" in said and "increments of 3, halving" in said


def test_no_people_are_refused(capsys):
    with pytest.raises(SystemExit):
        main(["--people", "0"])
    assert "counted from 1" in capsys.readouterr().err
