"""Outcome measures against the person's last fitting: like with like, and never a level from speed."""

from __future__ import annotations

import pytest

from shared_models.checks.outcome_change import former_outcome, outcomes, predicted, stairs_compared
from shared_models.entries.envelope import Subject
from shared_models.quantities.refusals import Refusal
from shared_models.wording.outcome_lines import NO_LEVEL, outcome_lines, published_words
from tests.fitting_desk import PROSTHETIST, Desk

MEASURED = {
    "ten_metre_walk_s": "9.43", "ten_metre_timed_m": "10", "ten_metre_run_up_m": "2", "ten_metre_pace": "usual",
    "timed_up_and_go_s": "9.9", "two_minute_walk_m": "140", "socket_comfort_0_10": "8", "aid": "none",
}


@pytest.fixture
def desk():
    return Desk.finished()


def again(desk, **changed):
    """Open a second fitting of the same person and measure there."""
    desk.fitting = Subject("fitting", "fitting-2")
    desk.note("opened", {
        "person": desk.person.id, "prosthetist": PROSTHETIST, "side": "left",
        "amputation_level": "transfemoral", "socket_stage": "definitive",
    })
    desk.note("outcome_measures", {**MEASURED, **changed})
    return desk.view


def measure(desk, first, name, **changed):
    view = again(desk, **changed)
    found = {o.measure: o for o in outcomes(view, view.head("outcome").body, former_outcome(view, [first, view]))}
    return found[name]


def test_the_further_measures_are_optional(desk):
    assert desk.verdict().state == "complete"
    speed = next(line for line in outcome_lines(desk.view, ()) if line.what == "Ten-metre walk, speed")
    assert not speed.shown and "length that was timed" in speed.says, "no length is assumed"


@pytest.mark.parametrize("seconds, metres, speed", [
    # Batten et al. 2019: medians on leaving hospital, worked back to 10 m and to the middle 6 m of it.
    ("9.43", "10", 1.06), ("15.87", "10", 0.63), ("5.66", "6", 1.06), ("9.52", "6", 0.63),
])
def test_speed_is_the_timed_length_over_the_time(desk, seconds, metres, speed):
    found = measure(desk, desk.view, "ten_metre_speed_m_per_s", ten_metre_walk_s=seconds, ten_metre_timed_m=metres)
    assert found.measured.value == pytest.approx(speed, abs=0.001)


@pytest.mark.parametrize("seconds, changed, better", [
    # Resnik and Borgia 2011: 3.6 s is the smallest change of the timed up and go that counts.
    ("6.4", False, ""), ("6.3", True, "better"), ("13.4", False, ""), ("13.5", True, "worse"),
])
def test_a_change_counts_from_the_published_detectable_change_on(desk, seconds, changed, better):
    desk.correct(desk.head("outcome"), **MEASURED)
    found = measure(desk, desk.view, "timed_up_and_go_s", timed_up_and_go_s=seconds)
    assert (found.change.changed, found.change.better) == (changed, better)


@pytest.mark.parametrize("what, changed", [
    ("aid", {"aid": "stick"}), ("timed_length_m", {"ten_metre_timed_m": "6"}),
    ("run_up_m", {"ten_metre_run_up_m": "0"}), ("pace", {"ten_metre_pace": "fast"}),
])
def test_another_aid_length_or_pace_is_not_compared_and_says_which(desk, what, changed):
    desk.correct(desk.head("outcome"), **MEASURED)
    found = measure(desk, desk.view, "ten_metre_speed_m_per_s", **changed)
    assert found.change is None and found.not_alike.figures["what"] == what


def test_bars_and_rail_are_two_aids(desk):
    desk.correct(desk.head("outcome"), aid="bars")
    assert measure(desk, desk.view, "two_minute_walk_m", aid="rail").not_alike.figures["what"] == "aid"


def test_another_persons_fitting_is_never_the_one_before(desk):
    first = desk.view
    desk.person = Subject("person", "person-2")
    view = again(desk)
    assert former_outcome(view, [first]) is None


def test_a_later_fitting_is_not_taken_for_the_one_before(desk):
    first = desk.view
    second = again(desk)
    assert former_outcome(first, [second]) is None
    assert former_outcome(second, [first]).digest == first.head("outcome").digest


@pytest.mark.parametrize("score, form, level", [
    # Gailey et al. 2002, bands with prosthesis 15-26, 27-36, 37-42, 43-47; without 0-8, 9-20, ...
    ("15", "with_prosthesis", 1), ("36", "with_prosthesis", 2), ("37", "with_prosthesis", 3),
    ("43", "with_prosthesis", 4), ("8", "without_prosthesis", 0), ("43", "without_prosthesis", 4),
])
def test_the_predictors_score_is_read_by_the_table_of_its_own_form(score, form, level):
    assert predicted({"predictor_points": score, "predictor_form": form}).level == level


def test_a_score_that_the_form_can_not_give_is_said_and_not_tabled(desk):
    view = again(desk, predictor_points="45", predictor_form="without_prosthesis")
    with pytest.raises(Refusal, match="predictor_score_cannot_be"):
        predicted(view.head("outcome").body)
    line = next(each for each in outcome_lines(view, ()) if each.what == "Mobility predictor")
    assert not line.shown and "from 0 to 43" in line.says


def test_a_predictor_score_without_its_form_has_no_level():
    assert predicted({"predictor_points": "40"}) is None


def test_norms_carry_their_setting_and_no_level_follows_from_speed(desk):
    view = again(desk)
    said = published_words(view)
    assert any("leaving hospital" in each for each in said) and any("established users" in each for each in said)
    assert said[-1] == NO_LEVEL
    assert not any("level" in line.value for line in outcome_lines(view, ())), "speed and distance set no level"
    assert not any("leaving hospital" in each for each in published_words(again(desk, ten_metre_pace="fast")))


@pytest.mark.parametrize("changed, word", [
    ({"stairs_down_pattern": "step_over_step"}, "better"), ({"stairs_down_rail": "two"}, "worse"), ({}, "same"),
    ({"stairs_down_pattern": "step_over_step", "stairs_down_rail": "two"}, "mixed"),
    ({"stairs_down_pattern": "refused"}, ""),
])
def test_stairs_are_compared_field_by_field_and_never_summed(desk, changed, word):
    taken = {
        **MEASURED, "stairs_down_pattern": "step_to", "stairs_down_rail": "one",
        "stairs_down_helper": "none", "stairs_down_steps": "6",
    }
    desk.correct(desk.head("outcome"), **taken)
    assert stairs_compared({**taken, **changed}, desk.head("outcome")) == word
