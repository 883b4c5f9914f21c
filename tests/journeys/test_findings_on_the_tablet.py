"""What was seen in a trial, what else it could be, and what the record keeps of it."""

from __future__ import annotations

import pytest

from mobile.device.finding import every
from shared_models.checks.bodies import body_troubles
from shared_models.wording.findings import findings_words
from tests.journeys.test_fitting_pages import SIZES, at_work, hands, must_fit, show_fitting

__all__ = ["at_work"]


@pytest.fixture
def walking(at_work, on_screen, finger):
    """A person who walks, at the page of the swing flexion trial; gives page and session."""
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    return show_fitting(on_screen, finger, at_work, "swing_flexion"), session


def latest(session):
    return session.fitting("fitting-1").trials("trial/swing_flexion")[-1]


def answer_the_rest(finger) -> None:
    hands(finger).fill({"stands_by": "Bo", "aid": "none", "pain_0_10": "0"})


def test_a_trial_page_asks_for_its_own_findings_and_for_the_others_once_they_are_looked_for(walking, finger):
    page, session = walking
    asked = [w.test_name for w in every(page) if getattr(w, "test_name", "").startswith(("seen:", "felt:", "heard:")) and "=" not in w.test_name]
    own = ("heel_rise_too_high", "heel_rise_too_low", "heel_rise_uneven")
    assert asked == [f"{way}:{key}" for key in own for way in ("seen", "felt")]
    finger.tap("something_else")
    finger.tap("seen_at=path")
    assert finger.sees("circumduction")
    finger.tap("else:swings_outward")
    assert not finger.is_there("seen_at")
    finger.tap("seen:swings_outward=slight")
    answer_the_rest(finger)
    finger.tap("change")
    assert latest(session).body["findings"] == [
        {"finding": "swings_outward", "grade": "slight", "perceived": "seen"},
    ]


def test_the_pace_of_a_finding_is_kept_with_it_and_taken_up_again_from_the_draft(walking, finger):
    page, session = walking
    assert not finger.is_there("pace:heel_rise_too_high")
    finger.tap("seen:heel_rise_too_high=marked")
    finger.tap("pace:heel_rise_too_high=fast")
    page.go("swing_extension")
    page.go("swing_flexion")
    finger.settle()
    assert finger.find("pace:heel_rise_too_high").value == "fast"
    answer_the_rest(finger)
    finger.tap("change")
    trial = latest(session)
    assert trial.body["findings"] == [
        {"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen", "pace": "fast"},
    ]
    assert body_troubles(trial) == []
    assert findings_words(trial, session.fitting("fitting-1")) == [
        "heel rises too high, shank comes back late: marked, seen, fast pace",
    ]
    assert finger.sees("heel rises too high, shank comes back late: marked, seen, fast pace")


def test_something_else_that_was_graded_is_taken_up_again_from_the_draft(walking, finger):
    page, _ = walking
    finger.tap("something_else")
    finger.tap("seen_at=trunk")
    finger.tap("else:trunk_leans")
    finger.tap("seen:trunk_leans=marked")
    page.go("swing_extension")
    page.go("swing_flexion")
    finger.settle()
    assert finger.find("seen:trunk_leans").value == "marked"


def test_a_pace_that_nobody_said_and_a_finding_that_was_not_there_leave_no_pace_behind(walking, finger):
    _, session = walking
    finger.tap("seen:heel_rise_too_high=slight")
    finger.tap("pace:heel_rise_too_high=slow")
    finger.tap("seen:heel_rise_too_high=none")
    finger.tap("seen:heel_rise_too_low=slight")
    answer_the_rest(finger)
    finger.tap("change")
    assert latest(session).body["findings"] == [
        {"finding": "heel_rise_too_high", "grade": "none", "perceived": "seen"},
        {"finding": "heel_rise_too_low", "grade": "slight", "perceived": "seen"},
    ]


def test_why_opens_once_something_was_found_and_the_stop_stays_in_reach(walking, finger):
    page, _ = walking
    assert not finger.is_there("why")
    finger.tap("seen:heel_rise_too_high=none")
    assert not finger.is_there("why")
    finger.tap("seen:heel_rise_too_high=slight")
    finger.tap("why")
    for words in (
        "Nothing here is certain.", "Try first: heel rises too high", "excessive heel rise".capitalize(),
        "Too little swing-flexion resistance.", "On the person's side", "Throws the thigh forward strongly.",
        "Trying it can disturb", "Swing extension: once something was tried", "Source for 'heel rises too high",
    ):
        assert finger.sees(words), words
    finger.tap("stop")
    assert finger.sees("Stopped. Why?")
    finger.tap("stopping:withdraw")
    finger.tap("why")
    assert finger.is_there("why:open")
    finger.tap("why")
    assert not finger.is_there("why:open")


def test_what_contradicts_itself_is_explained_while_it_is_graded_and_suggests_no_turn(walking, finger):
    _, session = walking
    finger.tap("seen:heel_rise_too_high=marked")
    finger.tap("why")
    assert not finger.is_there("why:contradiction")
    finger.tap("seen:heel_rise_too_low=slight")
    assert finger.sees("Say at which pace each was found")
    finger.tap("pace:heel_rise_too_high=slow")
    finger.tap("pace:heel_rise_too_low=fast")
    assert finger.sees("Too high when slow, cut short when fast")
    assert not finger.sees("Say at which pace each was found")
    assert not finger.sees("Too little swing-flexion resistance.")
    answer_the_rest(finger)
    finger.tap("change")
    assert finger.is_there("suggestion") and not finger.is_there("suggestion:act")
    finger.tap("why_last")
    assert finger.sees("Too high when slow, cut short when fast")


def test_a_knee_that_gives_way_while_swing_is_tuned_sends_back_to_the_threshold(walking, finger):
    _, session = walking
    finger.tap("something_else")
    finger.tap("seen_at=knee")
    finger.tap("else:no_damping_when_loaded")
    finger.tap("seen:no_damping_when_loaded=slight")
    finger.tap("why")
    assert finger.is_there("why:restore")
    answer_the_rest(finger)
    finger.tap("change")
    assert finger.sees("Go back to the stance threshold")
    assert not finger.is_there("suggestion:act")


def test_a_trial_recorded_before_paces_were_asked_for_reads_as_it_did(walking, at_work, finger):
    page, session = walking
    _, _, desk = at_work
    desk.walk("swing_flexion", "change", findings=[
        {"finding": "leg_swings_round", "grade": "marked", "perceived": "seen"},
    ])
    page.go("swing_flexion")
    finger.settle()
    assert finger.sees("leg swings round to the side, or rises on the sound toe: marked, seen")
    finger.tap("why_last")
    assert finger.sees("Look at height and suspension, then at whether the knee bends freely.")


@pytest.mark.parametrize("type_size", [1.0, 1.5], ids=["usual-type", "largest-type"])
@pytest.mark.parametrize("way_up", SIZES)
def test_everything_that_opens_on_a_trial_page_fits_the_tablet_either_way_up(walking, finger, window, way_up, type_size):
    from mobile.widgets.theme import theme

    page, _ = walking
    theme.font_scale = type_size
    try:
        window.set_size(*SIZES[way_up])
        page.go("swing_flexion")
        finger.settle()
        for key in ("heel_rise_too_high", "heel_rise_too_low"):
            finger.tap(f"seen:{key}=marked")
        finger.tap("why")
        finger.tap("something_else")
        for place in page.view.edition.other_findings("swing_flexion"):
            finger.tap(f"seen_at={place}")
            finger.settle()
            must_fit(window, page)
    finally:
        theme.font_scale = 1.0
