"""A trial stopped for a fall is recorded as an event, or the fitting says that it is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.soundness import self_check
from shared_models.checks.deciding import ACCEPTED, DecisionRefusal, refuse_decision
from shared_models.checks.stop_events import stops_without_event
from shared_models.papers.fitting_record import fitting_record
from shared_models.wording.course_lines import course_of
from shared_models.wording.sentences import sentence_of
from tests.fitting_desk import LEAD, Desk


def stopped(reason: str = "fall", slot: str = "swing_flexion") -> tuple[Desk, object]:
    """A whole fitting in which one trial was stopped, answered, and walked again."""
    desk = Desk.finished()
    stop = desk.walk(slot, "stopped", stop_reason=reason)
    desk.note("stop_answered", {"stopped": stop.digest, "restored": True})
    desk.walk(slot)
    return desk, stop


def said(desk: Desk, step: str = "swing_flexion") -> dict[str, bool]:
    """What is said of the stop, and whether it blocks."""
    found = [r for r in desk.verdict().step(step).remarks if r.code.endswith(("without_event", "no_event"))]
    return {sentence_of(r, desk.view): r.blocks for r in found}


def test_a_fall_that_nobody_recorded_as_an_event_keeps_the_fitting_incomplete_and_says_so():
    desk, _ = stopped()
    assert desk.states()["swing_flexion"] == "open" and not desk.verdict().is_complete
    (sentence, blocks), = said(desk).items()
    assert blocks and "stopped for a fall" in sentence and "not recorded as an event" in sentence
    paper = fitting_record(desk.view, desk.verdict())
    assert any(sentence in gap for gap in paper.gaps), "on paper too"
    with pytest.raises(DecisionRefusal) as refused:
        refuse_decision(desk.view, desk.verdict(), LEAD, ACCEPTED, {})
    assert refused.value.code == "accept_incomplete"


def test_the_event_recorded_from_the_stop_closes_the_gap():
    desk, stop = stopped()
    desk.event(stops_without_event(desk.view)[0].event)
    assert said(desk) == {} and desk.states()["swing_flexion"] == "met"


def test_a_fall_recorded_for_that_day_counts_for_one_stop_and_not_for_two():
    desk, _ = stopped()
    desk.event("by-hand")
    assert said(desk) == {}
    again = desk.walk("swing_flexion", "stopped", stop_reason="fall")
    desk.note("stop_answered", {"stopped": again.digest, "restored": True})
    assert len(said(desk)) == 1
    desk.event("another")
    assert said(desk) == {}


def test_pain_recorded_for_that_day_or_a_fall_of_another_day_is_not_this_fall():
    desk, _ = stopped()
    desk.event("ache", what="pain")
    desk.event("before", happened_on="2020-01-01")
    assert list(said(desk).values()) == [True]


def test_a_stated_reason_stands_instead_in_verdict_and_course():
    desk, stop = stopped()
    why = "pressed by mistake, it was the chair that fell"
    desk.note("no_event", {"stopped": stop.digest, "because": why})
    (sentence, blocks), = said(desk).items()
    assert not blocks and sentence.endswith(f"because: {why}")
    assert desk.states()["swing_flexion"] == "met"
    assert any(why in note for line in course_of(desk.view) for note in line.notes)


def test_a_reason_that_says_nothing_is_none():
    desk, stop = stopped()
    desk.note("no_event", {"stopped": stop.digest, "because": "  "})
    assert list(said(desk).values()) == [True]


def test_a_stumble_or_a_knee_that_gave_way_is_asked_about_and_blocks_nothing():
    for reason in ("stumble", "buckling"):
        desk, stop = stopped(reason)
        assert list(said(desk).values()) == [False]
        assert desk.states()["swing_flexion"] == "met"
        event = stops_without_event(desk.view)[0]
        assert event.what == "near_fall"
        desk.event(event.event, what="near_fall")
        assert said(desk) == {}


def test_a_stop_for_pain_asks_for_no_event():
    desk, _ = stopped("pain")
    assert said(desk) == {}


def test_a_stop_whose_pain_is_corrected_keeps_its_event():
    desk = Desk.finished()
    stop = desk.walk("swing_flexion", "stopped", stop_reason="fall")
    desk.event(stops_without_event(desk.view)[0].event, happened_on="2020-01-01")
    desk.correct(stop, pain_0_10="2")
    assert stops_without_event(desk.view) == []


def test_a_fall_on_stairs_that_are_not_cleared_afterwards_is_missed_all_the_same():
    desk, _ = stopped(slot="stairs")
    desk.note("restriction", {"what": "stairs", "because": "not_cleared", "follow_up_on": "2999-01-01"})
    assert list(said(desk, "stance_damping").values()) == [True]
    assert not desk.verdict().is_complete


def test_a_fall_in_a_trial_that_a_visit_does_not_ask_for_stands_with_the_visit_as_a_whole():
    desk = Desk.finished().visit().asked()
    desk.compared()
    desk.found().ready_again()
    stop = desk.walk("ramp", "stopped", stop_reason="fall")
    desk.note("stop_answered", {"stopped": stop.digest, "restored": True})
    assert [r.code for r in desk.verdict().remarks if r.blocks] == ["fall_without_event"]


def test_an_edition_that_leads_a_stop_to_an_event_nobody_offers_is_found_out():
    edition = load_edition()
    kind = edition.kinds["trial_ramp"]
    fields = tuple(replace(f, events={"fall": "tumble"}, events_needed=("fall", "leak")) if f.key == "stop_reason" else f for f in kind.fields)
    troubles = self_check(replace(edition, kinds={**edition.kinds, "trial_ramp": replace(kind, fields=fields)}))
    assert any("the event tumble" in t for t in troubles) and any("needs an event for leak" in t for t in troubles)
