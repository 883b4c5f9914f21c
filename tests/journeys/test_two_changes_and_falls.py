"""Two changes before one walk, and a stop for a fall: each asks for its reason, or its event, and keeps it."""

from __future__ import annotations

import pytest

from shared_models.papers.course_on_paper import course_rows
from shared_models.wording.course_lines import course_of
from shared_models.wording.sentences import sentence_of
from tests.journeys.at_work import PROSTHETIST
from tests.journeys.test_at_the_screen import hands_of
from tests.journeys.test_unhappy_ways import F, FLEXION, RISE, tuning, tuning_folder  # noqa: F401
from tests.journeys.ways import PORTRAIT, assert_in_sight

STOOD = {"load_line_offset_mm": "36", "height_difference_mm": "-4", "weight_on_prosthesis_kg": "40", "weight_on_sound_side_kg": "44", "balance": "even"}


# Two changes at once ----------------------------------------------------------------


def test_a_second_change_before_the_next_walk_needs_its_reason_which_stands_on_page_and_paper(tuning, finger):
    tuning.desk.walk("swing_flexion", "change", findings=RISE)
    tuning.desk.turn("stance_threshold", "2")
    tuning.go("swing_flexion", FLEXION)
    finger.tap("suggestion:act")
    assert finger.sees("Changed since the last walk already: stance threshold.")
    assert tuning.view.settings()["swing_flexion"] == "8", "nothing is recorded before the reason is there"
    field = finger.find("field:besides_because")
    assert field.label == "A second change before the next walk, because" != finger.find("field:override_because").label
    assert_in_sight(field)
    why = "the bar is free for one walk only"
    hands_of(finger).enter("besides_because", why)
    finger.tap("suggestion:act")
    turned = tuning.view.head("setting/swing_flexion")
    assert (turned.body["position"], turned.body["besides_because"]) == ("11", why)
    assert "override_because" not in turned.body, "the step is the advised one"
    assert any(why in sentence_of(r, tuning.view) for r in tuning.session.verdict(F).step("swing_flexion").remarks)
    tuning.desk.walk("swing_flexion")
    assert any(why in note for line in course_of(tuning.view) for note in line.notes), "on the page"
    assert any(why in cell for row in course_rows(tuning.view) for cell in row), "on paper"


def test_what_was_turned_back_before_the_walk_is_no_second_change(tuning, finger):
    tuning.desk.walk("swing_flexion", "change", findings=RISE)
    tuning.desk.turn("stance_threshold", "2")
    tuning.desk.turn("stance_threshold", "1")
    tuning.go("swing_flexion", FLEXION)
    finger.tap("suggestion:act")
    assert tuning.view.settings()["swing_flexion"] == "11"


@pytest.mark.plain_way
def test_the_reason_for_a_second_change_is_in_sight_on_an_upright_tablet_with_large_type(tuning, finger, window):
    from mobile.widgets.theme import theme

    tuning.desk.walk("swing_flexion", "change", findings=RISE)
    tuning.desk.turn("stance_threshold", "2")
    window.set_size(*PORTRAIT)
    theme.font_scale = 1.5
    tuning.go("swing_flexion", FLEXION)
    finger.tap("suggestion:act")
    finger.settle()
    assert_in_sight(finger.find("field:besides_because"))
    tuning.go("static", "alignment/static")
    finger.tap("anew")
    hands_of(finger).fill({**STOOD, "load_line_offset_mm": "30"})
    finger.tap("save")
    finger.settle()
    assert_in_sight(finger.find("field:besides_because"))


def test_another_step_than_advised_as_a_second_change_asks_for_each_reason_under_its_own_label(tuning, finger):
    tuning.desk.walk("swing_flexion", "change", findings=RISE)
    tuning.desk.turn("stance_threshold", "2")
    tuning.go("swing_flexion", FLEXION)
    finger.tap("turn:7")
    assert finger.find("turn:trouble").lead.startswith("Changed since the last walk already")
    hands_of(finger).enter("besides_because", "one walk only today")
    finger.tap("turn:7")
    turned = tuning.view.head("setting/swing_flexion").body
    assert (turned["position"], turned["besides_because"]) == ("7", "one walk only today")


def test_an_alignment_and_a_setting_recorded_in_their_forms_ask_why_two_come_before_one_walk(tuning, finger):
    desk, hands = tuning.desk, hands_of(finger)
    desk.turn("swing_flexion", "9")
    tuning.go("static", "alignment/static")
    finger.tap("anew")
    assert not finger.is_there("field:besides_because")
    hands.fill({**STOOD, "load_line_offset_mm": "30"})
    finger.tap("save")
    field = finger.find("field:besides_because")
    assert field.message.startswith("Changed since the last walk already: swing flexion.")
    assert tuning.view.head("alignment/static").body["load_line_offset_mm"] == "36", "nothing is recorded before the reason is there"
    assert finger.find("field:load_line_offset_mm").text == "30", "what was typed stays"
    hands.enter("besides_because", "the heel came up as well")
    finger.tap("save")
    stood = tuning.view.head("alignment/static").body
    assert (stood["load_line_offset_mm"], stood["besides_because"]) == ("30", "the heel came up as well")
    assert any("the heel came up as well" in cell for row in course_rows(tuning.view) for cell in row), "on paper"
    tuning.go("swing_extension")
    tuning.stage.page.open("setting/swing_extension")
    finger.settle()
    finger.tap("anew")
    hands.fill({"position": "9", "reason": "trial"})
    finger.tap("save")
    assert "standing alignment" in finger.find("field:besides_because").message or "load line" in finger.find("field:besides_because").message
    desk.walk("swing_flexion", "change", findings=RISE)
    finger.tap("save")
    assert tuning.view.settings()["swing_extension"] == "9", "walked in between, it is the only change"


# A stop for a fall ---------------------------------------------------------------------------------


def test_after_a_fall_each_setting_is_put_back_and_the_fall_is_recorded_from_the_last_page(tuning, finger):
    desk = tuning.desk
    desk.walk("swing_flexion", "change", findings=RISE)
    desk.turn("swing_flexion", "11")
    tuning.go("swing_flexion", FLEXION)
    finger.tap("stop")
    finger.tap("field:stop_reason=fall")
    assert finger.sees("Before anything else put each setting back.")
    finger.tap("restored")
    assert finger.sees("Press at each setting once it is put back")
    assert tuning.view.unanswered_stops()
    finger.tap("restore:swing_flexion")
    finger.tap("restored")
    assert tuning.view.settings()["swing_flexion"] == "8" and not tuning.view.unanswered_stops()
    tuning.go("missing")
    finger.tap("event")
    hands_of(finger).fill({"what": "fall"})
    tuning.begin(PROSTHETIST)
    assert finger.sees("Taken up again."), "a tablet that died in between opens the fall half typed"
    hands_of(finger).fill({"what": "fall", "during": "second step", "injury": "none", "knee_involved": "no", "action": "sat down", "told": "the clinic", "follow_up": "look at the knee"})
    finger.tap("save")
    assert [tuning.view.head(s).body["what"] for s in tuning.view.filled("event/*")] == ["fall"]
    assert tuning.stage.page.step_key == "missing", "back where it was asked for"


def test_a_stop_for_a_fall_leads_to_recording_it_and_is_missing_until_that_is_done(tuning, finger):
    desk = tuning.desk
    desk.walk("swing_flexion", "change", findings=RISE)
    tuning.go("swing_flexion", FLEXION)
    finger.tap("stop")
    hands_of(finger).enter("stop_words", "toe caught on the mat")
    finger.tap("field:stop_reason=fall")
    finger.tap("restored")
    assert finger.sees("the fall is not recorded as an event"), "also once the settings stand again"
    tuning.go("missing")
    assert finger.sees("stopped for a fall"), "it is among what is missing"
    tuning.go("swing_flexion", FLEXION)
    finger.tap("stop_event:act")
    stop = tuning.view.trials(FLEXION)[-1]
    assert finger.find("field:what").value == "fall"
    assert finger.find("field:happened_on").text == stop.happened_at[:10]
    during = finger.find("field:during").text
    assert "Swing flexion trial 2" in during and "toe caught on the mat" in during
    assert not finger.sees("Taken up again."), "nothing of it was typed"
    hands_of(finger).fill({"injury": "none", "knee_involved": "no", "action": "sat down", "told": "the clinic", "follow_up": "look at the mat"})
    finger.tap("save")
    slot, = tuning.view.filled("event/*")
    assert tuning.view.head(slot).body["what"] == "fall"
    assert tuning.stage.page.slot == FLEXION, "back at the trial"
    assert not finger.is_there("stop_event")
    tuning.go("missing")
    assert not finger.sees("stopped for a fall") and finger.is_there(f"follow:{slot.partition('/')[2]}")


def test_why_a_stop_for_a_fall_is_no_event_is_said_from_the_last_page(tuning, finger):
    desk = tuning.desk
    stop = desk.walk("swing_flexion", "stopped", stop_reason="fall")
    desk.note("stop_answered", {"stopped": stop.digest, "restored": True})
    tuning.go("missing")
    finger.tap("no_event")
    finger.tap("save")
    assert finger.find("field:because").message_kind == "refusal", "no reason, no entry"
    why = "it was the next person's stick that fell"
    hands_of(finger).enter("because", why)
    finger.tap("save")
    assert tuning.stage.page.step_key == "missing" and not finger.is_there("stop_event")
    assert any(why in cell for row in course_rows(tuning.view) for cell in row), "on paper"
    assert any(why in sentence_of(r, tuning.view) for r in tuning.session.verdict(F).step("swing_flexion").remarks)


def test_right_after_a_stumble_a_near_fall_is_offered_and_nothing_is_missing_for_it(tuning, finger):
    tuning.go("swing_flexion", FLEXION)
    finger.tap("stop")
    finger.tap("field:stop_reason=stumble")
    finger.tap("stop_event:act")
    assert finger.find("field:what").value == "near_fall"
    tuning.go("swing_flexion", FLEXION)
    finger.tap("restored")
    assert not finger.is_there("stop_event")
    assert all(not r.blocks for r in tuning.session.verdict(F).step("swing_flexion").remarks if r.code == "near_fall_without_event")
