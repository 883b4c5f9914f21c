"""What a trial must say to prove anything, and when it may be walked."""

from __future__ import annotations

from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.envelope import Subject
from tests.fitting_desk import LEAD, Desk, undrawn


def ready_desk() -> Desk:
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.stand()
    return desk


def codes(desk: Desk, step: str) -> set[str]:
    return {r.code for r in desk.verdict().step(step).remarks if r.blocks}


def test_a_swing_trial_counts_only_after_a_confirmed_threshold_trial():
    desk = ready_desk()
    desk.walk("stance_threshold", "change")
    desk.walk("swing_flexion")
    assert codes(desk, "swing_flexion") == {"walked_before"}
    desk.walk("stance_threshold")
    desk.walk("swing_flexion")
    assert desk.states()["swing_flexion"] == "met"


def test_a_stopped_ramp_does_not_open_the_way_to_the_stairs():
    desk = ready_desk()
    desk.walk("stance_threshold")
    stop = desk.walk("ramp", "stopped", stop_reason="stumble")
    desk.note("stop_answered", {"stopped": stop.digest, "restored": True})
    desk.walk("low_steps")
    slots = {r.slot for r in desk.verdict().step("stance_damping").remarks if r.code == "walked_before"}
    assert slots == {"trial/low_steps"}


def test_stairs_taken_step_by_step_are_confirmed_only_with_a_reason():
    desk = ready_desk()
    desk.walk("stance_threshold")
    desk.walk("ramp")
    desk.walk("low_steps")
    desk.walk("stairs", step_over_step=False)
    assert codes(desk, "stance_damping") == {"confirmed_short_of"}
    desk.walk("stairs", step_over_step=False, confirmed_although="stairs at home have short treads")
    assert desk.states()["stance_damping"] == "met"


def test_a_trial_that_asks_for_a_change_is_open_and_never_stale():
    desk = ready_desk()
    desk.walk("stance_threshold", "change")
    desk.turn("stance_threshold", "1")
    remarks = {r.code for r in desk.verdict().step("stance_threshold").remarks}
    assert remarks == {"trial_change"}


def test_a_knee_without_a_threshold_adjuster_asks_for_no_threshold_setting():
    desk = ready_desk()
    body = undrawn(demo_sheet("knee_alder"))
    body = {**body, "sheet": "plain-knee", "adjusters": [a for a in body["adjusters"] if a["function"] != "stance_threshold"]}
    body["caps"] = [{**c, "over": [o for o in c["over"] if o != "setting/stance_threshold"]} for c in body["caps"]]
    sheet = desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", "plain-knee"))
    desk.component("knee", sheet)
    slots = {r.slot for r in desk.verdict().step("stance_threshold").remarks}
    assert "setting/stance_threshold" not in slots
