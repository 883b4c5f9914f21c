"""Days that do not go by the book: what happened, what now and why stand on the page, and the way leads on."""

from __future__ import annotations

import shutil

import pytest

from shared_models.entries.envelope import Subject
from shared_models.papers.course_on_paper import course_rows
from shared_models.wording.course_lines import course_of
from shared_models.wording.sentences import sentence_of
from mobile.keeping.tablet import Tablet
from tests.journeys.at_work import PINS, PROSTHETIST, TECHNICIAN, alone
from tests.journeys.tablet_desk import TabletDesk
from tests.journeys.test_at_the_screen import hands_of
from tests.journeys.ways import PORTRAIT
from tests.shared_models.making import CHEAP

F = "fitting-1"
FLEXION, THRESHOLD = "trial/swing_flexion", "trial/stance_threshold"
LEAD = "demo-lead"
STOOD = {"load_line_offset_mm": "36", "height_difference_mm": "-4", "weight_on_prosthesis_kg": "40", "weight_on_sound_side_kg": "44", "balance": "even"}
RISE = [{"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen"}]


def _recorded(folder, how):
    """Record a fitting in a tablet's folder, and close the tablet."""
    tablet, session = alone(folder)
    with tablet.store.together():
        how(TabletDesk(tablet, session))
    tablet.close()
    return folder


@pytest.fixture(scope="module")
def tuning_folder(tmp_path_factory):
    """A tablet whose fitting stands aligned, its threshold confirmed at 1; recorded once for all ways."""
    def how(desk):
        desk.before_the_bench().on_the_bench()
        desk.stand()
        desk.turn("stance_threshold", "1")
        desk.walk("stance_threshold")

    return _recorded(tmp_path_factory.mktemp("unhappy") / "tuning", how)


@pytest.fixture(scope="module")
def finished_folder(tmp_path_factory):
    """A tablet whose fitting is tuned, tight, signed and handed over; recorded once for all ways."""
    return _recorded(
        tmp_path_factory.mktemp("unhappy") / "finished",
        lambda desk: desk.before_the_bench().on_the_bench().tune().close().hand_over(),
    )


class At:
    """A copy of a tablet, its prosthetist at work in it, on the screen."""

    def __init__(self, folder, on_screen, finger, work) -> None:
        self.folder, self.on_screen, self.finger = work / "copy", on_screen, finger
        shutil.copytree(folder, self.folder)
        self.tablet, self.stage = None, None
        self.begin(PROSTHETIST)

    def begin(self, staff: str) -> None:
        """Begin anew, as after the tablet was switched off: somebody unlocks it."""
        if self.tablet is not None:
            self.tablet.close()
        self.tablet = Tablet(self.folder, CHEAP)
        self.session = self.tablet.unlock(staff, PINS[staff])
        self.stage = self.on_screen(self.tablet, self.session)
        if staff == PROSTHETIST:
            self.desk = TabletDesk(self.tablet, self.session)

    def go(self, step: str, slot: str = "") -> None:
        self.stage.go_fitting(F, step, slot)
        self.finger.settle()

    @property
    def view(self):
        return self.session.fitting(F)

    def state(self, step: str) -> str:
        return self.session.verdict(F).step(step).state


@pytest.fixture
def tuning(tuning_folder, on_screen, finger, tmp_path):
    at = At(tuning_folder, on_screen, finger, tmp_path)
    yield at
    at.tablet.close()


@pytest.fixture
def finished(finished_folder, on_screen, finger, tmp_path):
    at = At(finished_folder, on_screen, finger, tmp_path)
    yield at
    at.tablet.close()


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
    _is_in_sight(field)
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


def _is_in_sight(widget):
    """The whole of a field, its label and what is typed in it, lies within the pane that scrolls it."""
    from kivy.uix.scrollview import ScrollView

    pane = widget.parent
    while not isinstance(pane, ScrollView):
        pane = pane.parent
    bottom, top = (widget.to_window(0, y)[1] for y in (widget.y, widget.top))
    lowest, highest = (pane.to_window(0, y)[1] for y in (pane.y, pane.top))
    assert lowest - 1 <= bottom and top <= highest + 1, (lowest, bottom, top, highest)


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
    _is_in_sight(finger.find("field:besides_because"))
    tuning.go("static", "alignment/static")
    finger.tap("anew")
    hands_of(finger).fill({**STOOD, "load_line_offset_mm": "30"})
    finger.tap("save")
    finger.settle()
    _is_in_sight(finger.find("field:besides_because"))


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


# Alignment found wrong while swing is tuned ------------------------------------------------


def test_an_alignment_found_wrong_while_swing_is_tuned_is_made_anew_and_what_was_tuned_is_walked_again(tuning, finger):
    desk = tuning.desk
    desk.walk("swing_flexion")
    desk.stand("30")
    tuning.go("swing_flexion")
    for step in ("stance_threshold", "swing_flexion"):
        assert tuning.state(step) == "stale"
    assert finger.sees("standing alignment"), "why stands on the page"
    desk.walk("stance_threshold")
    assert (tuning.state("stance_threshold"), tuning.state("swing_flexion")) == ("met", "stale")
    desk.walk("swing_flexion")
    assert tuning.state("swing_flexion") == "met"


# The technician is absent -----------------------------------------------------------------------


def test_without_the_technician_the_fitting_waits_and_the_technician_alone_takes_it_up_the_next_day(finished, finger):
    desk = finished.desk
    desk.withdraw(desk.head("trial/final_walk"))
    desk.withdraw(desk.head("sign_off"))
    finished.go("sign_off")
    assert finger.sees("Without the technician's sign-off the person does not leave wearing the knee unsupervised.")
    finished.begin(TECHNICIAN)
    assert finished.stage.page.step_key == "sign_off", "where it waits"
    finger.tap("give")
    hands = hands_of(finger)
    hands.fill({"way": "witnessed"})
    hands.pin(PINS[TECHNICIAN])
    assert finished.view.head("sign_off").recorded_by == TECHNICIAN
    finished.begin(PROSTHETIST)
    finger.tap("header:leave")
    finger.tap(f"fitting:{F}")
    assert finished.state("sign_off") == "met"
    assert finished.stage.page.step_key == "final_walk", "where the prosthetist goes on"


# Broken off in the middle of a trial -----------------------------------------------------------------


def test_a_trial_broken_off_is_there_the_next_day_with_all_that_was_said_of_it(tuning, finger):
    tuning.go("swing_flexion", FLEXION)
    finger.tap("seen:heel_rise_too_high=marked")
    hands_of(finger).fill({"stands_by": "Bo", "aid": "none", "pain_0_10": "3"})
    tuning.begin(PROSTHETIST)
    page = tuning.stage.page
    assert (page.step_key, page.slot) == ("swing_flexion", FLEXION)
    assert page.trial.form.typed["pain_0_10"] == "3"
    finger.tap("change")
    trial, = tuning.view.trials(FLEXION)
    assert trial.body["pain_0_10"] == "3" and trial.body["findings"][0]["finding"] == "heel_rise_too_high"
    assert finger.find("suggestion").text == "Turn clockwise to 11"


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


# Torque -------------------------------------------------------------------------------------------


def test_a_torque_typed_in_the_wrong_unit_is_doubted_with_what_the_sheet_asks(finished, finger):
    desk = finished.desk
    desk.withdraw(desk.head("torque_final/foot.front"))
    finished.go("torque", "torque_final/foot.front")
    hands_of(finger).enter("reading_nm", "106")
    field = finger.find("field:reading_nm")
    assert field.text == "106", "what was typed stays"
    assert field.message_kind == "refusal" and "N·m" in field.message
    finger.tap("save")
    assert finished.view.head("torque_final/foot.front") is None


def test_a_screw_that_does_not_hold_is_recorded_as_read_and_keeps_the_fitting_open(finished, finger):
    desk = finished.desk
    desk.withdraw(desk.head("torque_final/foot.front"))
    finished.go("torque", "torque_final/foot.front")
    hands = hands_of(finger)
    hands.enter("reading_nm", "7")
    assert "too low" in finger.find("torque:doubt").text
    finger.tap("save")
    assert finished.view.head("torque_final/foot.front").body["reading_nm"] == "7"
    assert finished.state("torque") == "open" and finished.state("sign_off") != "met"
    finished.go("torque")
    assert finger.sees("too low")


# Returned with remarks ----------------------------------------------------------------------------


def _decides(at, decision, remarks=()):
    lead = at.tablet.unlock_beside(at.session, LEAD, PINS[LEAD])
    at.session.save("review_decision", Subject("fitting", F), {"decision": decision, "remarks": list(remarks)}, signed_with=lead)


def test_remarks_of_a_returned_fitting_stand_at_their_step_are_answered_and_it_is_accepted(finished, finger):
    finished.go("missing")
    finger.tap("request_review")
    remark = "Walk the stairs once more, with the usual shoe."
    _decides(finished, "rejected", [{"step": "stance_damping", "text": remark}])
    finished.go("missing")
    assert finger.sees("Review: returned with remarks.") and not finger.sees("Everything is there.")
    assert finger.find("request_review").text == "Send for review again"
    hands_of(finger).enter("note", "Walked again with the usual shoe; even.")
    finger.tap("remark:stance_damping")
    assert finger.find("review_remark").text == remark
    finished.go("person")
    assert not finger.is_there("review_remark")
    finished.go("missing")
    assert finger.find("field:note").text == "Walked again with the usual shoe; even.", "an answer begun stays"
    finger.tap("request_review")
    asked = finished.view.head("review")
    assert asked.body["note"] == "Walked again with the usual shoe; even."
    _decides(finished, "accepted")
    finished.go("missing")
    assert finger.sees("Review: accepted")
    assert finished.session.verdict(F).review == "accepted"
