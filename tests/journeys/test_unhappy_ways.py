"""Days that do not go by the book: what happened, what now and why stand on the page, and the way leads on."""

from __future__ import annotations

import shutil

import pytest

from shared_models.entries.envelope import Subject
from mobile.keeping.tablet import Tablet
from tests.journeys.at_work import PINS, PROSTHETIST, TECHNICIAN, alone
from tests.journeys.tablet_desk import TabletDesk
from tests.journeys.test_at_the_screen import hands_of
from tests.shared_models.making import CHEAP

F = "fitting-1"
FLEXION, THRESHOLD = "trial/swing_flexion", "trial/stance_threshold"
LEAD = "demo-lead"
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
