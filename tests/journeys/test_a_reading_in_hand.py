"""One reading in hand: what it was last, the likely change, saved at once, and taken back in two taps."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from shared_models.wording.entering import last_words
from tests.journeys.at_work import alone
from tests.journeys.tablet_desk import TabletDesk
from tests.journeys.test_fitting_pages import hands, show_fitting

RECHECK = "alignment/recheck"


@pytest.fixture
def at_work(tmp_path):
    """A tablet whose fitting was stood once and is tuned as far as the second standing."""
    tablet, session = alone(tmp_path / "tablet")
    desk = TabletDesk(tablet, session)
    desk.before_the_bench().on_the_bench().tune()
    yield tablet, session, desk
    tablet.close()


def test_the_last_figure_and_when_it_was_read_stand_beside_the_field(at_work, on_screen, finger):
    show_fitting(on_screen, finger, at_work, "alignment_closing", "alignment/closing")
    field = finger.find("field:load_line_offset_mm")
    assert field.text == "", "never taken over"
    assert "last 36 at " in field.hint and "asked 34 ± 5 mm" in field.hint


def test_the_same_figure_again_is_one_tap_and_a_step_starts_from_it(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "alignment_closing", "alignment/closing")
    finger.tap("field:load_line_offset_mm")
    finger.tap("step:=36")
    assert finger.find("field:load_line_offset_mm").text == "36"
    finger.tap("key:clear")
    finger.tap("step:-1")
    assert finger.find("field:load_line_offset_mm").text == "35"
    finger.tap("save")
    assert page.view.head("alignment/closing").body["load_line_offset_mm"] == "35"


def test_the_last_figure_of_an_earlier_fitting_of_the_same_person_is_shown(at_work, on_screen, finger):
    tablet, session, desk = at_work
    opened = dict(desk.head("opened").body)
    desk.note("opened", opened, subject=Subject("fitting", "fitting-2"))
    desk.note("opened", {**opened, "person": "person-2"}, subject=Subject("fitting", "fitting-3"))
    stage = on_screen(tablet, session)
    stage.go_fitting("fitting-2", "person", "body")
    finger.settle()
    assert "last 82.5 at " in finger.find("field:body_mass_kg").hint
    stage.go_fitting("fitting-3", "person", "body")
    finger.settle()
    assert "last" not in finger.find("field:body_mass_kg").hint, "somebody else's"


def test_a_screw_shows_its_own_last_torque_and_not_another_screws(at_work, on_screen, finger):
    _, _, desk = at_work
    desk.final_torque("foot.front", "12")
    show_fitting(on_screen, finger, at_work, "torque", "torque_final/knee.top_front")
    assert "last" not in finger.find("field:reading_nm").hint
    page = show_fitting(on_screen, finger, at_work, "torque", "torque_final/foot.front")
    finger.tap("anew")
    assert "last 12 at " in finger.find("field:reading_nm").hint
    assert page.slot == "torque_final/foot.front"


@pytest.mark.parametrize(("day", "words"), [
    ("2026-05-12T10:42:07.120+02:00", "last 38 at 10:42"),
    ("2026-05-11T10:42:07.120+02:00", "last 38 on 11 May"),
    ("2025-12-01T10:42:07.120+02:00", "last 38 on 1 December 2025"),
])
def test_the_day_of_the_last_figure_is_said_as_shortly_as_it_stays_clear(day, words):
    from datetime import date

    assert last_words("38", day, date(2026, 5, 12)) == words


def test_a_field_without_stated_steps_gets_some_from_what_is_likely():
    from shared_models.checks.entering import Limits
    from mobile.screens.fields import likely_steps

    assert likely_steps(Limits("min", "1", "240", "5", "30", whole=True)) == ("2", "1")
    assert likely_steps(Limits("steps", "1", "60", "3", "20", whole=True)) == ("1",)
    assert likely_steps(Limits("kg", "0", "60", "0", "10")) == ("1",)
    assert likely_steps(Limits("m", "0", "60")) == ()


def test_what_was_saved_is_said_where_the_main_button_was_and_taken_back_in_two_taps(at_work, on_screen, finger):
    _, session, _ = at_work
    page = show_fitting(on_screen, finger, at_work, "alignment_closing", "alignment/closing")
    hands(finger).enter("load_line_offset_mm", "53")
    finger.tap("save")
    saved = finger.find("last_saved").text
    assert saved.startswith("Saved ") and "That was wrong" in saved
    assert page.header.saved == saved.splitlines()[0].lower()
    finger.tap("last_saved")
    assert finger.find("field:load_line_offset_mm").text == "53", "what was typed is there"
    hands(finger).enter("load_line_offset_mm", "35")
    finger.tap("save")
    entry = session.fitting("fitting-1").head("alignment/closing")
    assert (entry.body["load_line_offset_mm"], entry.because_code) == ("35", "mistyped")


def test_measured_again_is_one_tap_too(at_work, on_screen, finger):
    _, session, _ = at_work
    show_fitting(on_screen, finger, at_work, "person", "body")
    finger.tap("correct")
    hands(finger).enter("body_mass_kg", "83")
    finger.tap("save:measured_again")
    assert session.fitting("fitting-1").head("body").because_code == "measured_again"


def test_another_reason_needs_a_word_which_is_kept_while_it_is_typed(at_work, on_screen, finger):
    _, session, _ = at_work
    show_fitting(on_screen, finger, at_work, "person", "body")
    finger.tap("correct")
    hands(finger).enter("body_mass_kg", "83")
    finger.tap("save:another")
    finger.tap("correction:confirm")
    assert finger.find("field:reason_note").message_kind == "refusal"
    hands(finger).enter("reason_note", "weighed with the coat")
    show_fitting(on_screen, finger, at_work, "person", "body")
    finger.tap("correct")
    assert finger.find("field:body_mass_kg").text == "83"
    finger.tap("save:another")
    assert finger.find("field:reason_note").text == "weighed with the coat"
    finger.tap("correction:confirm")
    entry = session.fitting("fitting-1").head("body")
    assert (entry.because_code, entry.because_note) == ("other", "weighed with the coat")


def test_the_reason_for_taking_something_out_is_kept_while_it_is_typed(at_work, on_screen, finger):
    _, session, _ = at_work
    show_fitting(on_screen, finger, at_work, "person", "footwear")
    finger.tap("withdraw")
    hands(finger).fill({"reason": "other", "reason_note": "the shoe of her brother"})
    show_fitting(on_screen, finger, at_work, "person", "footwear")
    finger.tap("withdraw")
    assert finger.find("field:reason_note").text == "the shoe of her brother"
    finger.tap("correction:confirm")
    assert session.fitting("fitting-1").head("footwear") is None


def test_what_was_saved_before_the_next_form_is_corrected_and_the_next_form_keeps_what_was_typed(at_work, on_screen, finger):
    _, session, _ = at_work
    page = show_fitting(on_screen, finger, at_work, "person", "body")
    finger.tap("anew")
    hands(finger).fill({"body_mass_kg": "84", "carried_load_kg": "6"})
    finger.tap("save")
    finger.tap("last_saved")
    assert page.slot == "body"
    finger.tap("back")
    assert session.fitting("fitting-1").head("body").body["body_mass_kg"] == "84"


def test_who_stands_by_is_asked_once_under_either_name(at_work, on_screen, finger):
    show_fitting(on_screen, finger, at_work, "ready", "ready")
    finger.tap("anew")
    assert finger.find("field:stands_by").text == "Bo"


def test_whom_to_call_begins_with_the_clinic_and_stays_what_somebody_typed(at_work, on_screen, finger):
    _, _, desk = at_work
    show_fitting(on_screen, finger, at_work, "handover", "handover")
    assert finger.find("field:whom_to_call").text == "Harbour Hill demo clinic (invented)"
    desk.hand_over()
    show_fitting(on_screen, finger, at_work, "handover", "handover")
    finger.tap("anew")
    assert finger.find("field:whom_to_call").text == "the clinic"


def test_a_part_without_a_number_is_one_press_and_the_offer_goes_once_something_is_typed(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "components", "component/foot")
    finger.tap("anew")
    hands(finger).enter("lot", "")
    hands(finger).enter("serial", "")
    finger.tap("offer:serial:1")
    finger.tap("offer:lot:1")
    assert not finger.is_there("offer:serial:1")
    finger.tap("save")
    assert page.view.head("component/foot").body["serial"] == "none marked"


def test_a_step_of_one_thing_goes_straight_on_to_the_next_when_nothing_is_left_to_read(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "skin_end")
    hands(finger).fill({"skin_state": "intact"})
    finger.tap("save")
    assert page.step_key == "torque" and finger.is_there("last_saved")


def test_a_step_with_something_to_read_stays(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "alignment_closing", "alignment/closing")
    hands(finger).enter("load_line_offset_mm", "53")
    finger.tap("save")
    assert page.step_key == "alignment_closing"
