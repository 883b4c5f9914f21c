"""Whole fittings without screens, on model people, through the real record and verdict."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest

from shared_models.calculations.tuning import Suggestion
from shared_models.checks.verdict import COMPLETE, RESTRICTED, judge
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.quantities.moments import now_here
from shared_models.rehearsing.clinic_desk import Clinic
from shared_models.rehearsing.people_run import PeopleFigures, by_plain_rule, leg_of, rehearse_people
from shared_models.rehearsing.trying import guidance
from shared_models.rehearsing.whole_fitting import WholeFitting

PEOPLE, SEED = 24, 7


@pytest.fixture(scope="module")
def clinic() -> Clinic:
    return Clinic.founded()


@pytest.fixture(scope="module")
def fittings(clinic) -> list[WholeFitting]:
    """Some whole fittings, run."""
    found = []
    for number in range(1, PEOPLE + 1):
        fitting = WholeFitting(clinic, number, leg_of(SEED, number), Random(f"{SEED}/{number}/trials"))
        fitting.outcome = fitting.run()
        found.append(fitting)
    return found


@pytest.fixture(scope="module")
def figures(fittings) -> PeopleFigures:
    found = PeopleFigures(PEOPLE, SEED)
    for fitting in fittings:
        found.add(fitting.outcome)
    return found


def the_wrong_way(adjuster, position, course, view) -> Suggestion:
    """Turn one step against the finding, as long as anything is found."""
    advised = by_plain_rule(adjuster, position, course, view)
    if advised.action != "turn":
        return advised
    wrong = 2 * position - advised.position
    return replace(advised, position=min(max(wrong, adjuster.lowest), adjuster.highest))


def too_far(adjuster, position, course, view) -> Suggestion:
    """Take a step above the sheet's largest after the first trial, then do as the guidance says."""
    advised = guidance(adjuster, position, course, view)
    if advised.action != "turn" or len(course) > 1:
        return advised
    return replace(advised, position=min(position + 2 * adjuster.largest_step, adjuster.highest))


def content_at_once(adjuster, position, course, view) -> Suggestion:
    """Confirm whatever was walked."""
    return Suggestion("confirm", position)


def test_a_fitting_on_a_model_person_is_complete_at_the_end(fittings):
    """Every one of them, unless no position of an adjuster suits the person."""
    for fitting in fittings:
        assert fitting.outcome.is_complete or fitting.outcome.nowhere, fitting.outcome.why


def test_no_confirmed_trial_stands_on_another_alignment_or_position_than_it_was_walked_with(fittings):
    for fitting in fittings:
        if fitting.outcome.is_complete:
            assert fitting.trying.walked.stale(fitting.desk.view.settings()) == ()


def test_a_turn_after_the_end_would_be_seen_as_stale(clinic):
    fitting = WholeFitting(clinic, 900, leg_of(SEED, 3), Random(3))
    assert fitting.run().is_complete
    position = Decimal(fitting.desk.view.settings()["swing_flexion"])
    fitting.desk.note("setting", {"function": "swing_flexion", "position": str(position + 1), "reason": "trial"})
    assert fitting.trying.walked.stale(fitting.desk.view.settings()) == (
        "trial/swing_flexion", "trial/swing_extension", "trial/final_walk",
    )
    assert not fitting.verdict().is_complete


def test_who_may_not_take_stairs_ends_complete_with_a_restriction(clinic):
    leg = replace(leg_of(SEED, 2), no_stairs_because="no_place")
    run = WholeFitting(clinic, 901, leg, Random(2)).run()
    assert run.state == RESTRICTED and run.restrictions == ("stairs",)


def test_the_leg_is_aligned_again_where_the_standing_reading_is_off_and_all_that_rests_on_it_done_again(fittings):
    again = [f for f in fittings if f.outcome.realigned]
    assert again, "of so many people some stand off the target at first"
    for fitting in again:
        assert fitting.desk.view.filled("screw_moved/*")
        if fitting.outcome.is_complete:
            assert len(fitting.desk.view.slot("ready").entries) > 1


def test_the_verdict_does_not_hang_on_the_order_in_which_entries_arrive(fittings):
    day = now_here().date()
    for fitting in fittings[:5]:
        entries = list(fitting.desk.record.entries.values())
        Random(5).shuffle(entries)
        other = Record()
        other.add(entries, fitting.desk.record.signatures.values())
        assert judge(FittingView(other, fitting.desk.fitting.id), day).digest == fitting.verdict(day).digest


def test_every_sign_off_is_signed_by_a_technician_with_their_own_key(fittings):
    for fitting in fittings[:5]:
        if fitting.outcome.is_complete:
            head = fitting.desk.view.head("sign_off")
            assert fitting.desk.record.has_signed(head, "signs_off")
            assert head.recorded_by != fitting.desk.view.prosthetist


def test_nothing_is_turned_by_more_than_the_sheets_largest_step(figures):
    assert [a.too_large for a in figures.adjusters.values()] == [0, 0, 0, 0]


def test_most_people_reach_a_complete_verdict_with_every_adjuster_right(figures):
    assert figures.complete >= PEOPLE - 1 and figures.stale == 0
    assert sum(a.wrong for a in figures.adjusters.values()) <= 2
    assert figures.states[COMPLETE] > figures.states[RESTRICTED]


def test_the_same_seed_brings_the_same_figures_and_another_seed_others():
    first, again, other = (rehearse_people(6, seed).as_record() for seed in (SEED, SEED, SEED + 1))
    for record in (first, again, other):
        assert record.pop("seconds") > 0
    assert again == first
    assert other != first


def test_guidance_that_turns_the_wrong_way_finds_no_settings_and_no_complete_verdict():
    bad = rehearse_people(4, SEED, guide=the_wrong_way)
    assert bad.complete == 0, "while most are complete by the real guidance, see above"
    assert sum(a.not_found for a in bad.adjusters.values()) >= 4


def test_guidance_that_confirms_at_once_leaves_wrong_settings_behind():
    bad = rehearse_people(8, SEED, guide=content_at_once)
    assert sum(a.wrong for a in bad.adjusters.values()) >= 8


def test_guidance_that_turns_too_far_is_counted():
    bad = rehearse_people(2, SEED, guide=too_far)
    assert sum(a.too_large for a in bad.adjusters.values()) > 0
