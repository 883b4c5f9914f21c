"""A visit after the first: it starts from how the leg was left, and is judged like a fitting."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta

from shared_models.checks.deciding import DecisionRefusal, refuse_decision
from shared_models.checks.drift import drifts
from shared_models.checks.events import events_of, open_events
from shared_models.checks.parts_over_time import parts_over_time, services, steps_a_day, steps_walked_before
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import now_here
from shared_models.wording.sentences import sentence_of
from tests.fitting_desk import LEAD, Desk


def codes(desk: Desk, step: str) -> set[str]:
    return {r.code for r in desk.verdict().step(step).remarks}


@pytest.fixture
def desk() -> Desk:
    return Desk.finished().visit()


def quiet(desk: Desk) -> Desk:
    """A visit at which nothing had to be changed."""
    desk.asked()
    desk.compared()
    return desk.found().ready_again().leave()


def test_a_visit_has_the_parts_left_last_time_and_none_of_the_readings(desk):
    view = desk.view
    assert set(view.sheets()) == {"socket", "upper_adapter", "knee", "tube", "foot"}
    assert view.settings() == {} and view.head("alignment/static") is None
    assert view.former.settings()["stance_threshold"] == "1"
    assert view.last_confirmed()["stance_threshold"] == "1"
    assert desk.states()["as_found"] == "open"


def test_a_visit_at_which_nothing_was_touched_is_complete_without_tuning_or_tightening(desk):
    quiet(desk)
    assert desk.verdict().state == "complete", [sentence_of(r, desk.view) for s in desk.verdict().steps for r in s.remarks if r.blocks]
    for step in ("swing_flexion", "torque", "sign_off", "exchange", "static"):
        assert desk.states()[step] == "not applicable"


def test_the_fitting_before_stays_as_it_was_judged(desk):
    before = FittingView(desk.record, "fitting-1")
    quiet(desk)
    from shared_models.checks.verdict import judge

    assert judge(before, now_here().date()).digest == judge(FittingView(desk.record, "fitting-1"), now_here().date()).digest


def test_an_adjuster_found_one_step_off_has_drifted_and_is_said_not_blocked(desk):
    desk.asked()
    desk.compared()
    desk.found(swing_flexion="9")
    drifted = [d for d in drifts(desk.view) if d.has_drifted]
    assert [(d.name, str(d.left), str(d.found), str(d.difference)) for d in drifted] == [("Flexion valve", "8", "9", "1")]
    said = [sentence_of(r, desk.view) for r in desk.verdict().step("as_found").remarks]
    assert said == ["Flexion valve: found at 9 marks, left at 8 last time. Ask who turned it, and decide where it stands."]
    assert desk.states()["as_found"] == "met"


@pytest.mark.parametrize("load_line, has_drifted", [("40", False), ("40.5", True), ("30", False), ("29.9", True)])
def test_the_load_line_has_drifted_beyond_the_sheets_tolerance_from_where_it_was_left(desk, load_line, has_drifted):
    desk.asked().found(load_line=load_line)  # left at 35 mm, tolerated 5 mm
    line = next(d for d in drifts(desk.view) if d.name == "Load line")
    assert str(line.left) == "35" and line.has_drifted is has_drifted


def test_a_valve_turned_at_the_visit_asks_for_its_trial_and_for_the_walk_again(desk):
    quiet(desk)
    desk.turn("swing_flexion", "9")
    assert desk.states()["swing_flexion"] == "open" and desk.states()["swing_extension"] == "not applicable"
    assert desk.states()["final_walk"] == "stale"
    desk.walk("swing_flexion")
    desk.caps()
    desk.walk("final_walk")
    assert desk.verdict().is_complete


def test_a_screw_that_turned_is_tightened_again_and_signed_for_by_a_second_person(desk):
    quiet(desk)
    desk.check("foot.front", "4", held=False)
    assert "screw_worked_loose" in codes(desk, "as_found") and desk.states()["as_found"] == "open"
    desk.final_torque("foot.front", str(desk.view.screw("foot.front").screw.final_nm), cleaned_and_renewed=True)
    states = desk.states()
    assert states["as_found"] == "met" and states["torque"] == "met"
    assert states["sign_off"] == "open" and states["alignment_closing"] == "open"
    desk.caps()
    desk.closing_alignment()
    desk.sign_off()
    desk.walk("final_walk")
    assert desk.verdict().is_complete


def test_what_was_not_cleared_last_time_stays_so_until_it_is_walked():
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.stand()
    desk.turn("stance_threshold", "1")
    desk.walk("stance_threshold")
    desk.note("skin_first", {"minutes_walked": "12", "skin_state": "intact"})
    desk.walk("swing_flexion")
    desk.walk("swing_extension")
    desk.recheck()
    desk.walk("ramp")
    desk.walk("low_steps")
    desk.note("restriction", {"what": "stairs", "because": "no_place", "follow_up_on": "2999-01-01"})
    desk.close().hand_over()
    assert desk.verdict().state == "complete_with_restriction"
    quiet(desk.visit())
    assert desk.verdict().state == "complete_with_restriction" and desk.verdict().restrictions == ("stairs",)
    desk.walk("stairs")
    assert desk.verdict().restrictions == ()
    assert desk.states()["stance_damping"] == "met"
    quiet(desk.visit("visit-2"))
    assert desk.verdict().state == "complete"


def exchange_the_foot(desk: Desk, serial: str = "F-200") -> None:
    sheet = next(e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "foot")
    desk.note("part_out", {"place": "foot", "serial": "none marked", "reason": "broken", "condition": "damaged", "goes_to": "maker"})
    assert "nothing_built_in" in codes(desk, "exchange")
    desk.component("foot", sheet, serial)


def test_a_part_taken_out_asks_for_another_one_and_for_all_that_stands_on_it(desk):
    quiet(desk)
    exchange_the_foot(desk)
    states = desk.states()
    assert states["exchange"] == "met" and states["parts"] == "stale"
    for step in ("static", "torque", "alignment_closing"):
        assert states[step] in ("open", "stale"), step
    asked = {r.slot for r in desk.verdict().step("torque").remarks}
    assert asked and all(slot.startswith("torque_final/foot.") for slot in asked)
    assert all(not r.slot.startswith("torque_check/foot.") for r in desk.verdict().step("as_found").remarks)


def test_who_carried_which_part_from_when_to_when_is_kept_over_the_exchange(desk):
    quiet(desk)
    exchange_the_foot(desk)
    feet = [p for p in parts_over_time(desk.view) if p.place == "foot"]
    assert [(p.serial, p.until is None, p.fitting) for p in feet] == [("none marked", False, "fitting-1"), ("F-200", True, "visit-1")]
    assert feet[0].out.body["reason"] == "broken" and feet[0].until == feet[1].since
    assert len([p for p in parts_over_time(desk.view) if p.place == "knee"]) == 1
    quiet(desk.visit("visit-2"))
    assert desk.view.value("component/foot", "serial") == "F-200"


def test_an_exchange_taken_back_leaves_the_part_that_was_there(desk):
    quiet(desk)
    exchange_the_foot(desk)
    desk.withdraw(desk.head("component/foot"))
    assert desk.view.value("component/foot", "serial") == "none marked"
    assert "nothing_built_in" in codes(desk, "exchange")


def test_an_event_is_open_at_the_next_visit_until_a_follow_up_closes_it():
    desk = Desk.finished()
    desk.event()
    desk.visit().asked(falls="1")
    assert "event_open" in codes(desk, "since") and desk.states()["since"] == "met"
    desk.follow_up(closes=False, what="knee sent a photo of")
    assert [e.is_open for e in events_of(desk.view)] == [True]
    desk.follow_up(closes=True)
    assert open_events(desk.view) == [] and "event_open" not in codes(desk, "since")
    assert [f.body["closes"] for f in events_of(desk.view)[0].follow_ups] == [False, True]
    # Whoever looks at the fitting alone still sees it open; with the visit at hand, closed.
    fitting = FittingView(desk.record, "fitting-1")
    assert open_events(fitting) and not open_events(fitting, [desk.view])


def test_serious_harm_stops_the_visit_with_a_suggestion_until_it_is_closed():
    desk = Desk.finished()
    desk.event(injury="serious", knee_involved="perhaps")
    desk.visit().asked(falls="1")
    assert desk.states()["since"] == "open"
    said = next(sentence_of(r, desk.view) for r in desk.verdict().step("since").remarks if r.code == "serious_event_open")
    assert "Suggested: the knee is not worn until somebody has looked at it, and the maker is told as your local rules say" in said
    desk.follow_up()
    assert desk.states()["since"] == "met"


def test_harm_that_the_knee_had_no_part_in_stops_nothing():
    desk = Desk.finished()
    desk.event(injury="care", knee_involved="no")
    desk.visit().asked(falls="1")
    assert codes(desk, "since") == {"event_open"}


def test_falls_that_were_only_said_are_asked_for_as_entries(desk):
    desk.asked(falls="2")
    assert "falls_not_recorded" in codes(desk, "since") and desk.states()["since"] == "open"
    desk.event("e1")
    assert desk.states()["since"] == "met"  # one is recorded; the second is still said to be missing
    desk.event("e2")
    assert "falls_not_recorded" not in codes(desk, "since")


def test_a_service_is_due_by_the_earlier_of_calendar_and_steps_and_starts_again_when_done(desk):
    today = now_here().date()
    desk.asked(steps_a_day="20000")  # 2 400 000 steps in 120 days, 24 months later by the calendar
    due = {s.part.place: s.due for s in services(desk.view)}
    assert set(due) == {"knee"}
    assert due["knee"].decided_by == "steps" and due["knee"].due_on == today + timedelta(days=120)
    later = (today + timedelta(days=10)).isoformat()
    desk.note("service", {"place": "knee", "serviced_on": later, "done": "by the maker", "done_by": "maker"})
    assert services(desk.view)[0].due.due_on == today + timedelta(days=130)


def test_without_steps_the_calendar_decides_and_without_an_interval_nobody_is_told(desk):
    assert [s.due.decided_by for s in services(desk.view)] == ["months"]
    assert "foot" not in {s.part.place for s in services(desk.view)}


def test_a_part_exchanged_is_served_by_its_own_clock_and_the_others_by_theirs(desk):
    """Counted by hand: the knee is new on the day of the visit, the foot stays as old as it was."""
    today = now_here().date()
    first = desk.view.former
    foot = next(e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "foot")
    with_interval = desk.note("component_sheet", {**foot.body, "version": "9", "service": {"months": 12}}, by=LEAD, subject=foot.subject)
    desk.component("foot", with_interval)  # the same foot, by a newer version of its sheet
    knee = next(e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "knee")
    desk.note("part_out", {"place": "knee", "serial": "none marked", "reason": "leak", "condition": "leaking", "goes_to": "maker"})
    later = now_here() + timedelta(days=40)
    desk.note("component", {"place": "knee", "sheet": knee.subject.id, "sheet_digest": knee.digest, "serial": "K-2", "lot": "none marked"}, happened_at=later)
    since = {s.part.place: s.due.since for s in services(desk.view)}
    assert since == {"knee": today + timedelta(days=40), "foot": today}
    # The version of the sheet that is recorded now says the interval, from the day the part itself was built in.
    due = {s.part.place: s.due for s in services(desk.view)}["foot"]
    assert due.by_months == today + relativedelta(months=12)
    assert {s.part.place: s.due.since for s in services(first)} == {"knee": today}


def test_a_visit_at_which_nobody_said_the_steps_leaves_them_at_what_was_said_before():
    desk = Desk.finished()
    desk.visit("visit-1").asked(steps_a_day="3000")
    desk.visit("visit-2").asked(steps_a_day="")
    assert steps_a_day(desk.view) == 3000
    assert [pace for _, pace in steps_walked_before(desk.view)] == [3000, 3000]
    desk.visit("visit-3").asked(steps_a_day="5000")
    assert steps_a_day(desk.view) == 5000
    assert [pace for _, pace in steps_walked_before(desk.view)] == [3000, 3000, 5000]


def test_a_visit_at_which_no_screw_was_tightened_needs_no_signature_to_be_accepted(desk):
    quiet(desk)
    assert desk.verdict().screws_are_signed and desk.states()["sign_off"] == "not applicable"
    desk.request_review()
    refuse_decision(desk.view, desk.verdict(), LEAD, "accepted", {})


def test_a_visit_at_which_a_screw_was_tightened_is_not_accepted_before_it_is_signed(desk):
    quiet(desk)
    desk.tighten(desk.view.screws()[0].key)
    assert not desk.verdict().screws_are_signed
    with pytest.raises(DecisionRefusal, match="accept_without_sign_off"):
        refuse_decision(desk.view, desk.verdict(), LEAD, "accepted", {})


def test_a_mass_more_than_five_kilograms_apart_is_said(desk):
    desk.asked()
    assert "mass_changed" not in codes(desk, "since")
    desk.correct(desk.head("body"), body_mass_kg="88")
    assert "mass_changed" in codes(desk, "since")


def test_a_visit_that_arrives_before_its_fitting_waits_for_it_and_a_circle_is_not_followed():
    desk = Desk().staff()
    desk.note("opened", {"person": "p", "prosthetist": "x", "side": "left", "amputation_level": "transfemoral", "socket_stage": "definitive", "after": "nowhere"})
    assert desk.view.former is None and desk.verdict().state == "incomplete"
    desk.correct(desk.head("opened"), after=desk.fitting.id)
    assert desk.view.former is None and desk.verdict(date(2026, 1, 1)).state == "incomplete"


def test_a_visit_after_somebody_elses_fitting_takes_nothing_from_it(desk):
    desk.correct(desk.head("opened"), "wrong_person", person="person-2")
    assert desk.view.former is None and desk.view.sheets() == {}
