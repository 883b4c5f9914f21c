"""On a tablet: figures typed in pounds, inches and inch-pounds, through the forms that screens use."""

from __future__ import annotations

import pytest

from shared_models.checks.as_typed import AS_TYPED
from mobile.flows.alignment import AlignmentForm
from mobile.flows.forms import SlotForm
from mobile.flows.torque_form import TorqueForm
from tests.journeys.at_work import alone, open_fitting, record, to_the_bench

SCREW = "torque_final/knee.top_front"


@pytest.fixture
def at_work(tmp_path):
    tablet, session = alone(tmp_path)
    fitting = open_fitting(session, "D-8201")
    yield session, fitting
    tablet.close()


def filled(form, **typed):
    for key, value in typed.items():
        form.edit(key, value)
    return form


def test_what_was_typed_is_kept_through_a_restart_and_into_a_correction(at_work):
    session, fitting = at_work
    filled(SlotForm(session, fitting, "body"), body_mass_kg="180 lb")
    form = SlotForm(session, fitting, "body")
    assert form.typed["body_mass_kg"] == "180 lb"
    entry = filled(form, carried_load_kg="6").save()
    assert entry.body == {"body_mass_kg": "81.6", "carried_load_kg": "6", AS_TYPED: {"body_mass_kg": "180 lb"}}
    again = SlotForm(session, fitting, "body", wrong=entry)
    assert again.typed["body_mass_kg"] == "180 lb" and not again.changes_something
    assert filled(again, carried_load_kg="7").read().body[AS_TYPED] == {"body_mass_kg": "180 lb"}


def test_the_last_figure_is_said_as_it_was_typed(at_work):
    session, fitting = at_work
    filled(SlotForm(session, fitting, "body"), body_mass_kg="180 lb", carried_load_kg="6").save()
    last = SlotForm(session, fitting, "body").last.of("body_mass_kg")
    assert last.value == "81.6" and "81.6 (typed as 180 lb)" in last.words


def test_a_torque_typed_with_its_unit_is_a_reading_in_that_unit(at_work):
    """97.5 lbf·in = 11.016020830192629 N·m: NIST SP 811, 0.1129848290276167 N·m each."""
    session, fitting = at_work
    to_the_bench(session, fitting)
    form = filled(TorqueForm(session, fitting, SCREW), reading_nm="97.5 in-lb", wrench="Inch wrench", wrench_calibrated_on="2026-08-01")
    assert "That is 11.02 N·m" in " ".join(line.words for line in form.lines())
    body = form.read().body
    assert (body["reading_unit"], body["reading_as_typed"], body["reading_nm"]) == ("lbf_in", "97.5", "11.016")
    assert AS_TYPED not in body
    form.save()
    assert not [r for s in session.verdict(fitting).steps for r in s.remarks if r.slot == SCREW and r.code.startswith("reading_")]


def test_an_extension_in_inches_lacks_no_grip_that_was_typed_in_inches(at_work):
    session, fitting = at_work
    to_the_bench(session, fitting)
    form = filled(TorqueForm(session, fitting, SCREW), reading_nm="9.2", wrench="W", extension_mm="2 in")
    assert form.read().refused["grip_mm"].refusal == "missing"
    form.edit("grip_mm", "10 in")
    assert "grip_mm" not in form.read().refused
    body = form.read().body
    assert (body["extension_mm"], body["grip_mm"]) == ("50.8", "254")
    assert body[AS_TYPED] == {"extension_mm": "2 in", "grip_mm": "10 in"}
    form.edit("grip_mm", "ten in")
    assert form.read().refused["grip_mm"].refusal == "not_a_number"


def test_what_an_alignment_does_not_ask_leaves_nothing_typed_behind(at_work):
    session, fitting = at_work
    to_the_bench(session, fitting)
    form = filled(AlignmentForm(session, fitting, "alignment/static"), load_line_offset_mm="1.4 in", weight_on_prosthesis_kg="89 lb")
    assert form.read().body[AS_TYPED] == {"load_line_offset_mm": "1.4 in", "weight_on_prosthesis_kg": "89 lb"}
    filled(form, load_line_method="two_scales", scale_back_kg="40 lb")
    assert form.read().body[AS_TYPED] == {"scale_back_kg": "40 lb"}


def test_a_marked_distance_in_feet_gives_its_speed_in_metres(at_work):
    from mobile.flows.walk_watch import WalkWatch

    session, fitting = at_work
    to_the_bench(session, fitting)
    record(session, fitting, "ready")
    form = filled(SlotForm(session, fitting, "trial/swing_flexion"), marked_distance_m="33 ft", marked_time_s="10.06")
    assert WalkWatch(session, form).words().count("1.0") and "33 ft" not in WalkWatch(session, form).words()


def test_the_target_of_the_sheet_is_said_in_inches_behind_its_own_millimetres(at_work):
    """34 mm = 1.3386 in, 5 mm = 0.1969 in: 25.4 mm each (NIST SP 811)."""
    session, fitting = at_work
    to_the_bench(session, fitting)
    form = AlignmentForm(session, fitting, "alignment/static")
    field = form.kind.field("load_line_offset_mm")
    assert form.asked(field) == form.asked(field, "mm") == "asked 34 ± 5 mm"
    assert form.asked(field, "in") == "asked 34 ± 5 mm (1.34 ± 0.2 in)"
