"""Stops, people for whom no position is good, and aligning again, without screens."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest

from shared_models.calculations.model_leg.people import model_person
from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet, sheet_from
from shared_models.checks.verdict import INCOMPLETE, RESTRICTED
from shared_models.rehearsing.clinic_desk import Clinic
from shared_models.rehearsing.everyday import Standing
from shared_models.rehearsing.people_run import PeopleFigures, leg_of
from shared_models.rehearsing.whole_fitting import MOST_REALIGNED, Leg, WholeFitting


@pytest.fixture(scope="module")
def clinic() -> Clinic:
    return Clinic.founded()


class GivesWayOnce:
    """A model person whose knee gives way in one trial of a function."""

    def __init__(self, person, function: str) -> None:
        self.person, self.function, self.given_way = person, function, False

    def good_window(self, function, positions=None):
        return self.person.good_window(function, positions)

    def walk(self, function, positions, chance, **how):
        walked = self.person.walk(function, positions, chance, **how)
        if function == self.function and not self.given_way:
            self.given_way = True
            gives_way = {"finding": "knee_gives_way", "grade": "marked", "perceived": "felt"}
            return replace(walked, findings=[gives_way])
        return walked


def nobody_suits(function: str) -> Leg:
    """Return a person for whom no position of a function is good."""
    for seed in range(200):
        person = model_person(seed, solvable=False)
        if person.unsolvable == {function}:
            return Leg(person)
    raise AssertionError(f"no such person for {function}")


@pytest.mark.parametrize("function", ["swing_flexion", "stance_damping"])
def test_a_knee_that_gives_way_is_a_stop_answered_before_the_next_walk(clinic, function):
    fitting = WholeFitting(clinic, 1, Leg(GivesWayOnce(leg_of(7, 4).walker, function)), Random(4))
    run = fitting.run()
    view = fitting.desk.view
    stopped = [e for e in view.entries() if e.body.get("outcome") == "stopped"]
    assert len(stopped) == 1 and run.counts[function].stops == 1
    later = [e for e in view.entries() if e.order > stopped[0].order]
    kinds = [e.kind for e in later if e.kind in ("stop_answered",) or e.kind.startswith("trial_")]
    assert kinds[0] == "stop_answered"
    assert view.unanswered_stops() == [] and run.is_complete


def test_a_stop_at_the_final_walk_goes_back_to_the_threshold_and_walks_everything_again(clinic):
    person = leg_of(7, 6).walker

    class AtTheEnd(GivesWayOnce):
        def walk(self, function, positions, chance, **how):
            closed = fitting.desk.view.head("sign_off") is not None
            walk = super().walk if closed else self.person.walk
            return walk(function, positions, chance, **how)

    fitting = WholeFitting(clinic, 2, Leg(AtTheEnd(person, "stance_threshold")), Random(6))
    run = fitting.run()
    view = fitting.desk.view
    walks = view.trials("trial/final_walk")
    assert [w.body["outcome"] for w in walks][:1] == ["stopped"] and walks[-1].body["outcome"] == "confirmed"
    stop = walks[0]
    assert any(t.order > stop.order for t in view.trials("trial/stance_threshold"))
    assert run.is_complete and run.stale == ()


def test_where_no_threshold_is_good_the_fitting_stays_incomplete_and_says_at_which_adjuster(clinic):
    run = WholeFitting(clinic, 3, nobody_suits("stance_threshold"), Random(1)).run()
    assert run.state == INCOMPLETE and run.nowhere == ("stance_threshold",)
    assert run.why.startswith("stance_threshold: ")


def test_where_no_damping_is_good_going_down_is_recorded_as_not_cleared(clinic):
    fitting = WholeFitting(clinic, 4, nobody_suits("stance_damping"), Random(1))
    run = fitting.run()
    assert run.state == RESTRICTED and set(run.restrictions) <= {"ramp", "low_steps", "stairs"}
    assert "stairs" in run.restrictions
    assert fitting.desk.view.head("restriction/stairs").body["because"] == "not_cleared"


def test_people_for_whom_no_position_is_good_are_counted_apart(clinic):
    figures = PeopleFigures(2, 1)
    for number, function in enumerate(("stance_threshold", "stance_damping")):
        figures.add(WholeFitting(clinic, 10 + number, nobody_suits(function), Random(1)).run())
    assert figures.unsolvable == 2 and figures.unsolvable_complete == 1


def test_a_load_line_off_its_target_is_brought_there_by_the_suggested_adapter(clinic):
    fitting = WholeFitting(clinic, 5, leg_of(7, 4), Random(4))
    fitting.standing.offset_mm = fitting.standing.target_mm - 9
    run = fitting.run()
    view = fitting.desk.view
    assert run.is_complete and run.realigned >= 1
    first, last = view.trials("alignment/static")[0], view.trials("alignment/static")[-1]
    assert abs(Decimal(first.body["load_line_offset_mm"]) - 34) > 5
    assert abs(Decimal(last.body["load_line_offset_mm"]) - 34) <= 5
    moved = {name.partition("/")[2].partition(".")[0] for name in view.filled("screw_moved/*")}
    assert moved == {"upper_adapter"}, "the slide lies there"


def test_an_adapter_that_reaches_no_target_leaves_the_step_open(clinic):
    fitting = WholeFitting(clinic, 6, leg_of(7, 4), Random(4))
    fitting.standing.move_mm = lambda by_mm: None
    fitting.standing.offset_mm = fitting.standing.target_mm - 14
    run = fitting.run()
    assert run.state == INCOMPLETE and run.why == "static: load_line_off"
    assert run.realigned == MOST_REALIGNED


def test_a_standing_reading_scatters_about_the_truth():
    standing = Standing(Random(1), 34.0)
    readings = [int(standing.read_mm()) for _ in range(400)]
    assert abs(sum(readings) / 400 - standing.offset_mm) < 0.2
    assert len(set(readings)) > 2


def knee_in_turns() -> dict:
    """Return the demo knee with its adjusters in fractions of a turn, some of them the other way round."""
    body = demo_sheet("knee_alder")
    figures = {
        "stance_threshold": ("0.25", "5.25", "0.25", "0.25", "0.25", "less"),
        "swing_flexion": ("0", "2.5", "1.25", "0.125", "0.375", "less"),
        "swing_extension": ("1", "11", "4", "0.5", "1.5", "more"),
        "stance_damping": ("0", "3.2", "1.6", "0.2", "0.2", "less"),
    }
    names = ("lowest", "highest", "start", "smallest_step", "largest_step", "clockwise")
    adjusters = [{**a, "unit": "turns", **dict(zip(names, figures[a["function"]]))} for a in body["adjusters"]]
    return {**body, "adjusters": adjusters}


def test_a_knee_counted_in_fractions_of_a_turn_is_fitted_like_any_other():
    knee = knee_in_turns()
    sheets = {body["part"]: body for body in (*map(demo_sheet, DEMO_SHEETS), knee)}
    clinic, adjusters = Clinic.founded(sheets), sheet_from(knee).adjusters
    for number in range(1, 6):
        fitting = WholeFitting(clinic, number, Leg(model_person(number, adjusters=adjusters)), Random(number))
        run = fitting.run()
        assert run.is_complete, run.why
        assert all(count.too_large == 0 for count in run.counts.values())
        for adjuster in adjusters:
            place = (Decimal(fitting.desk.view.settings()[adjuster.function]) - adjuster.lowest) / adjuster.smallest_step
            assert place == int(place), "only positions that the sheet has"
