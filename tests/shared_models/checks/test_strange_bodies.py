"""Entries made elsewhere may hold anything; the verdict says so and never breaks."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared_models.catalogue.sheets import demo_sheet
from shared_models.checks.verdict import judge
from shared_models.entries.fitting import FittingView
from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.wording.sentences import sentence_of
from tests.fitting_desk import LEAD, Desk
from tests.properties.desk_moves import finished_desks, held, pick, strange

JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**40), 2**40) | st.text(max_size=8)
    | st.sampled_from(["NaN", "Infinity", "1e999999999", "-0", "٣", "*", "{screw}", "../x", "stopped"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(deadline=None, max_examples=250)
@given(number=st.integers(0, 10_000), whole=st.booleans(), junk=JSON, second=st.integers(0, 50))
def test_whatever_stands_in_an_entry_becomes_a_remark_and_never_a_breakdown(number, whole, junk, second):
    (desk,) = finished_desks("tablet-a")
    slot, head = pick(held(desk), number)
    keys = sorted(head.body)
    body = {key: junk for key in keys} if whole else {**head.body, pick(keys, second): junk}
    strange(desk, head.kind, body, (head.digest,))
    strange(desk, "review_decision", {"decision": junk, "remarks": junk})
    strange(desk, "component_sheet", junk if isinstance(junk, dict) else {"part": junk})
    verdict = judge(desk.view, date(2026, 6, 1))
    assert verdict.digest
    for remark in (*verdict.remarks, *(r for s in verdict.steps for r in s.remarks)):
        assert sentence_of(remark, desk.view)
    desk.view.last_confirmed(), desk.view.settings(), desk.view.entries(), desk.view.restrictions()


#: kind, slot, field, and a value that is not of the field's form or impossible.
UNREADABLE = [
    ("torque_final/foot.front", "reading_nm", "abc"),
    ("torque_final/foot.front", "reading_nm", "NaN"),
    ("torque_final/foot.front", "reading_nm", "1e1"),
    ("torque_final/foot.front", "reading_nm", 12),
    ("torque_final/foot.front", "reading_nm", "90"),
    ("torque_final/foot.front", "reading_nm", {"not_applicable": "no wrench"}),
    ("torque_final/foot.front", "wrench_calibrated_on", "zzz"),
    ("cap/knee.flexion", "seated", 1),
    ("cap/knee.flexion", "seated", {"not_applicable": "lost"}),
    ("setting/swing_flexion", "position", "a bit more"),
    ("alignment/static", "load_line_offset_mm", "34mm"),
    ("alignment/static", "load_line_offset_mm", "900"),
    ("trial/swing_flexion", "findings", [3]),
    ("trial/swing_flexion", "outcome", "splendid"),
    ("body", "body_mass_kg", "1e2"),
    ("activity", "functional_level", "9"),
    ("consent", "given", {"not_applicable": "in a hurry"}),
    ("review_plan", "review_on", "zzzz"),
    ("footwear", "shoe_heel_height_mm", "٣"),
]


@pytest.mark.parametrize(("slot", "field", "value"), UNREADABLE)
def test_a_value_that_no_form_would_take_proves_nothing(slot, field, value):
    (desk,) = finished_desks("tablet-a")
    step = desk.view.edition.step_of_slot(slot).key
    head = desk.head(slot)
    strange(desk, head.kind, {**head.body, field: value}, (head.digest,))
    verdict = desk.verdict().step(step)
    assert verdict.state == "open"
    assert ("body_unreadable", field) in {(r.code, r.figures.get("field")) for r in verdict.remarks}


def test_a_blank_answer_is_a_missing_one():
    desk = Desk.finished()
    desk.correct(desk.head("torque_final/foot.front"), wrench="   ")
    assert ("torque", "field_missing") in {(s.key, r.code) for s in desk.verdict().steps for r in s.remarks}


def test_a_measure_that_does_not_apply_may_say_so_with_its_reason():
    desk = Desk.finished()
    desk.correct(desk.head("outcome"), two_minute_walk_m={"not_applicable": "no corridor"})
    assert desk.verdict().state == "complete"
    desk.correct(desk.head("outcome"), two_minute_walk_m={"not_applicable": " "})
    assert desk.states()["outcome"] == "open"


def test_a_step_is_not_waived_without_a_reason():
    desk = Desk.finished()
    desk.withdraw(desk.head("outcome"))
    desk.note("waiver", {"step": "outcome", "because": " "})
    assert desk.states()["outcome"] == "open"
    desk.note("waiver", {"step": "outcome", "because": "no stop watch"})
    assert desk.states()["outcome"] == "waived"


def test_the_sign_off_can_not_be_waived():
    desk = Desk.finished()
    desk.withdraw(desk.head("sign_off"))
    desk.note("waiver", {"step": "sign_off", "because": "nobody here"})
    assert desk.states()["sign_off"] == "open"


def test_a_guarded_yield_whose_threshold_setting_was_taken_back_asks_for_a_new_one():
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.withdraw(desk.head("setting/stance_threshold"))
    codes = {r.code for r in desk.verdict().step("ready").remarks}
    assert "threshold_not_low" in codes


def test_a_fitting_of_which_nothing_is_known_asks_for_everything():
    verdict = judge(FittingView(Record(), "nobody's"), date(2026, 6, 1))
    assert {s.state for s in verdict.steps} == {"open"}


def test_a_fitting_whose_person_has_not_arrived_asks_who_it_is():
    desk = Desk.finished()
    record = Record()
    record.add([e for e in desk.record.entries.values() if e.kind != "identity"], desk.record.signatures.values())
    step = judge(FittingView(record, desk.fitting.id), date(2026, 6, 1)).step("person")
    assert (step.state, [(r.code, r.slot) for r in step.remarks]) == ("open", [("not_recorded", "identity")])


def test_an_edition_that_is_not_known_here_is_kept_and_said():
    (desk,) = finished_desks("tablet-a")
    head = desk.head("footwear")
    later = strange(desk, "footwear", dict(head.body), (head.digest,), edition="2031.4")
    verdict = desk.verdict()
    assert ("needs_newer_version", later.digest) in {(r.code, r.cause) for r in verdict.remarks}
    assert later in desk.view.entries()
    assert verdict.step("person").state == "open"


def test_a_newer_entry_in_a_place_leaves_the_step_open_rather_than_showing_the_old_figure():
    (desk,) = finished_desks("tablet-a")
    head = desk.head("setting/swing_flexion")
    later = strange(desk, "setting", {"function": "swing_flexion", "turns": "2"}, (head.digest,), version=2)
    step = desk.verdict().step("swing_flexion")
    assert step.state == "open"
    assert ("needs_newer_version", later.digest) in {(r.code, r.cause) for r in step.remarks}
    assert "swing_flexion" not in desk.view.settings()


def test_an_unknown_kind_beside_the_fitting_changes_nothing_but_is_said():
    (desk,) = finished_desks("tablet-a")
    film = strange(desk, "film_of_gait", {"seconds": "12"})
    verdict = desk.verdict()
    assert verdict.state == "complete"
    assert [(r.code, r.cause) for r in verdict.remarks] == [("needs_newer_version", film.digest)]


def test_a_role_list_that_is_no_list_gives_nobody_a_role():
    desk = Desk.finished()
    for roles in (7, "technician", {"technician": True}):
        desk.note("staff", {"name": "Tamsin", "roles": roles}, by=LEAD, subject=Subject("staff", "demo-technician"))
        assert desk.states()["sign_off"] == "open"


def test_a_component_whose_sheet_contradicts_itself_is_not_judged_by_it():
    desk = Desk.finished()
    body = demo_sheet("foot_elm") | {"sheet": "demo-foot-bad", "mass_limit_kg": "-5"}
    sheet = desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", "demo-foot-bad"))
    desk.component("foot", sheet)
    step = desk.verdict().step("components")
    assert (step.state, [r.code for r in step.remarks]) == ("open", ["sheet_unsound"])


def test_a_component_can_not_borrow_the_sheet_of_another_part():
    desk = Desk.finished()
    knee = desk.head("component/knee")
    desk.note("component", {**desk.head("component/foot").body, "sheet_digest": knee.body["sheet_digest"]})
    assert desk.states()["components"] == "open"


def test_positions_found_on_an_exchanged_knee_are_not_offered_for_restoring():
    desk = Desk.finished()
    assert desk.view.last_confirmed()["swing_flexion"] == "8"
    desk.note("component", {**desk.head("component/knee").body, "serial": "another"})
    assert desk.view.last_confirmed() == {}


def test_a_course_of_more_than_five_hundred_entries_still_closes():
    desk = Desk.finished()
    for turn in range(240):
        desk.turn("swing_flexion", str(8 + turn % 2))
        desk.walk("swing_flexion", "change" if turn < 239 else "confirmed")
    desk.walk("swing_extension")
    desk.caps()
    desk.walk("final_walk")
    assert len(desk.record.entries) > 500
    assert desk.verdict().state == "complete"
