"""Ten-metre walk, timed walks, up and go, predictor and scales, against their published tables."""

from __future__ import annotations

import inspect
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.timing import norms, predictor, stair_records, timed_tests
from shared_models.calculations.timing.changes import change_of
from shared_models.calculations.timing.predictor import ITEM_HIGHEST, level_of_items, level_of_score
from shared_models.calculations.timing.stair_records import StairTrial, compare_trials
from shared_models.calculations.timing.timed_tests import (
    TenMetreWalk, TimedWalk, UpAndGo, ten_metre_speed, timed_walk, timed_walk_speed_m_per_s, up_and_go,
)
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing import because_words


def ten(*times_s, length=10.0, run_up=2.0, pace="usual", aid="none"):
    return TenMetreWalk(times_s, length, run_up, pace, aid)


@pytest.mark.parametrize(("time_s", "length", "speed"), [
    (9.43, 10.0, 1.06), (15.87, 10.0, 0.63), (5.66, 6.0, 1.06), (9.52, 6.0, 0.63),
])
def test_speed_is_the_timed_length_over_the_time(time_s, length, speed):
    """Batten et al. 2019: levels 4 and 3 leaving hospital; 10 m, and the middle 6 m of it."""
    assert ten_metre_speed(ten(time_s, length=length)).value == pytest.approx(speed, abs=5e-4)


def test_six_metres_taken_for_ten_is_an_error_of_1_67_so_they_are_not_compared():
    six, whole = ten_metre_speed(ten(5.66, length=6.0)), ten_metre_speed(ten(5.66))
    assert whole.value / six.value == pytest.approx(10 / 6)
    with pytest.raises(Refusal) as caught:
        change_of(six, whole)
    assert caught.value.figures["what"] == "timed_length_m"


@pytest.mark.parametrize("other", [ten(10.0, pace="fast"), ten(10.0, aid="one_stick"), ten(10.0, run_up=0.0)])
def test_another_pace_aid_or_run_up_is_another_test(other):
    with pytest.raises(Refusal):
        change_of(ten_metre_speed(ten(10.0)), ten_metre_speed(other))


def test_several_trials_count_by_their_mean_time():
    assert ten_metre_speed(ten(9.0, 11.0)).value == pytest.approx(1.0)


@pytest.mark.parametrize("walk", [
    ten(), ten(0.0), ten(-4.0), ten(math.nan), ten(math.inf), ten(9.0, length=0.0), ten(9.0, length=math.nan),
    ten(9.0, run_up=-1.0), ten(9.0, pace="slow"), ten(9.0, aid="wheels"), ten(1e9),
])
def test_a_ten_metre_walk_that_cannot_be_is_refused_in_words(walk):
    with pytest.raises(Refusal) as caught:
        ten_metre_speed(walk)
    assert "not stated" not in refusal_sentence(caught.value)


def test_300_m_in_six_minutes_is_0_833_m_per_s():
    """Reid L et al. 2015, community ambulation."""
    walk = TimedWalk(6, norms.COMMUNITY_SIX_MINUTES_M, "none")
    assert timed_walk_speed_m_per_s(walk) == pytest.approx(0.833, abs=5e-4)
    assert timed_walk(walk).measure == "six_minute_walk_m"


@pytest.mark.parametrize(("metres", "speed"), [(81.7, 0.681), (138.4, 1.153), (177.9, 1.483), (143.8, 1.198)])
def test_a_two_minute_walk_as_a_speed(metres, speed):
    """Gaunaurd et al. 2020, by level and all."""
    assert timed_walk_speed_m_per_s(TimedWalk(2, metres, "none")) == pytest.approx(speed, abs=6e-4)


@pytest.mark.parametrize("walk", [
    TimedWalk(3, 100.0, "none"), TimedWalk(2, 0.0, "none"), TimedWalk(2, -5.0, "none"),
    TimedWalk(6, math.nan, "none"), TimedWalk(6, 100.0, "skates"),
])
def test_a_timed_walk_that_cannot_be_is_refused_in_words(walk):
    with pytest.raises(Refusal) as caught:
        timed_walk(walk)
    assert "not stated" not in refusal_sentence(caught.value)


def test_an_up_and_go_keeps_its_time_and_how_it_was_done():
    made = up_and_go(UpAndGo(12.3, "usual", "one_stick"))
    assert (made.value, dict(made.setting)) == (12.3, {"pace": "usual", "aid": "one_stick"})
    for time_s in (0.0, -1.0, math.nan):
        with pytest.raises(Refusal):
            up_and_go(UpAndGo(time_s, "usual", "none"))


def test_norms_are_shown_with_their_setting_and_the_settings_disagree():
    by_setting = {n.setting: n.middle for n in norms.NORMS if n.group == "3" and n.measure != "six_minute_walk_m"}
    assert len(by_setting) == 2
    leaving = next(n for n in norms.norms_for("ten_metre_speed_m_per_s") if n.group == "3")
    walking = next(n for n in norms.norms_for("two_minute_walk_m") if n.group == "3")
    assert walking.middle / 120 / leaving.middle == pytest.approx(1.8, abs=0.05)
    assert all(n.setting and n.source for n in norms.NORMS)


def test_no_timed_test_sets_a_level():
    for module in (timed_tests, norms):
        made = [f for _, f in inspect.getmembers(module, inspect.isfunction) if f.__module__ == module.__name__]
        assert made and not any("level" in f.__name__ for f in made)


def test_the_two_falls_cut_offs_stay_with_their_own_people():
    found = norms.falls_cut_offs_for("timed_up_and_go_s")
    assert [each.limit for each in found] == [19.0, 8.17]
    assert len({each.population for each in found}) == 2


@pytest.mark.parametrize(("score", "level"), [
    (14, None), (15, 1), (26, 1), (27, 2), (36, 2), (37, 3), (42, 3), (43, 4), (47, 4),
])
def test_the_predictor_with_prosthesis_at_the_ends_of_its_bands(score, level):
    """Gailey et al. 2002."""
    assert level_of_score(score, True).level == level


@pytest.mark.parametrize(("score", "level"), [
    (0, 0), (8, 0), (9, 1), (20, 1), (21, 2), (28, 2), (29, 3), (36, 3), (37, 4), (43, 4),
])
def test_the_predictor_without_prosthesis_at_the_ends_of_its_bands(score, level):
    """Gailey et al. 2002."""
    assert level_of_score(score, False).level == level


@pytest.mark.parametrize(("score", "with_prosthesis"), [(48, True), (44, False), (-1, True), (20.5, True), (True, True)])
def test_a_score_outside_its_table_is_refused(score, with_prosthesis):
    with pytest.raises(Refusal) as caught:
        level_of_score(score, with_prosthesis)
    assert str(score) in refusal_sentence(caught.value)


def test_a_score_below_the_table_says_so():
    found = level_of_score(14, True)
    assert because_words(found.because) == "14 is below the table, which begins at 15"


def test_the_items_add_up_to_42_and_5_for_the_aid():
    assert sum(ITEM_HIGHEST.values()) == predictor.HIGHEST_WITH_PROSTHESIS == 47
    assert sum(v for item, v in ITEM_HIGHEST.items() if item != 21) == 42 and len(ITEM_HIGHEST) == 21


def test_a_missing_item_is_not_filled_in():
    full = dict(ITEM_HIGHEST)
    del full[13]
    found = level_of_items(full)
    assert (found.level, found.lowest, found.highest, found.missing_items) == (4, 45, 47, (13,))
    del full[8]
    found = level_of_items(full)
    assert found.level is None and (found.lowest, found.highest) == (41, 47)
    assert because_words(found.because).startswith("missing items (8, 13): the score lies between 41 and 47")


@given(st.fixed_dictionaries({}, optional={i: st.integers(0, h) for i, h in ITEM_HIGHEST.items()}))
def test_a_level_from_items_holds_whatever_the_missing_ones_bring(scores):
    found = level_of_items(scores)
    levels = {level_of_score(score, True).level for score in range(found.lowest, found.highest + 1)}
    assert levels == {found.level} if len(levels) == 1 else found.level is None


@pytest.mark.parametrize("scores", [{22: 1}, {0: 1}, {1: 2}, {2: -1}, {2: 1.5}, {8: 5}])
def test_an_item_or_score_that_is_not_of_the_predictor_is_refused(scores):
    with pytest.raises(Refusal) as caught:
        level_of_items(scores)
    assert "not stated" not in refusal_sentence(caught.value)


@pytest.mark.parametrize(("scale", "highest"), [(stair_records.STAIR_SCALE, 13), (stair_records.HILL_SCALE, 11)])
def test_the_stair_and_hill_scales_run_from_0(scale, highest):
    """Hafner et al. 2007: 14 and 12 ordinal steps."""
    assert [stair_records.scale_score(score, scale) for score in (0, highest)] == [0, highest]
    for score in (-1, highest + 1, 2.5, True):
        with pytest.raises(Refusal):
            stair_records.scale_score(score, scale)


def stairs(**changed):
    told = {"direction": "down", "pattern": "step_to", "rail": "one", "aid": "none", "helper_contact": "standby",
            "steps": 10, "rise_mm": 170.0, "time_s": 14.0, "leading_side": "left"}
    return StairTrial(**{**told, **changed})


def test_stairs_got_better_only_when_nothing_got_worse():
    assert compare_trials(stairs(), stairs(pattern="step_over_step", leading_side="")) == "better"
    assert compare_trials(stairs(), stairs(pattern="step_over_step", rail="two")) == "mixed"
    assert compare_trials(stairs(), stairs(helper_contact="hands_on")) == "worse"
    assert compare_trials(stairs(), stairs(time_s=9.0)) == "same"
    assert compare_trials(stairs(), stairs(pattern="refused")) == ""


@pytest.mark.parametrize("changed", [{"direction": "up"}, {"steps": 4}, {"rise_mm": 150.0}])
def test_another_stair_is_not_compared(changed):
    with pytest.raises(Refusal) as caught:
        compare_trials(stairs(), stairs(**changed))
    assert caught.value.code == "figures_not_comparable"


@pytest.mark.parametrize("changed", [
    {"direction": "across"}, {"pattern": "hop"}, {"rail": "three"}, {"aid": "wheels"}, {"helper_contact": "far"},
    {"leading_side": "both"}, {"steps": 0}, {"steps": 2.5}, {"rise_mm": -170.0}, {"rise_mm": math.nan},
    {"time_s": 0.0}, {"time_s": math.inf},
])
def test_a_stair_record_that_cannot_be_is_refused_in_words(changed):
    with pytest.raises(Refusal) as caught:
        stair_records.check_trial(stairs(**changed))
    assert "not stated" not in refusal_sentence(caught.value)
