"""The next step of an adjuster on the tablet: what is known, why, and another step with its reason."""

from __future__ import annotations

import pytest

from mobile.flows.forms import SlotForm
from mobile.flows.tuning import Tuning
from tests.journeys.at_work import alone
from tests.journeys.tablet_desk import TabletDesk

RISE = [{"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen"}]
MISSING = [{"finding": "no_damping_when_loaded", "grade": "marked", "perceived": "felt"}]


@pytest.fixture
def at_work(tmp_path):
    """A tablet alone with a fitting that stands aligned, its threshold confirmed at 1."""
    tablet, session = alone(tmp_path / "tablet")
    desk = TabletDesk(tablet, session)
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.turn("stance_threshold", "1")
    desk.walk("stance_threshold")
    yield tablet, session, desk
    tablet.close()


def show(on_screen, finger, at_work, step, slot):
    tablet, session, _ = at_work
    stage = on_screen(tablet, session)
    stage.go_fitting("fitting-1", step, slot)
    finger.settle()
    return stage.page


def test_the_page_says_the_step_what_is_known_and_why_and_shows_it_on_a_dial(at_work, on_screen, finger):
    _, _, desk = at_work
    desk.walk("swing_flexion", "change", findings=RISE)
    show(on_screen, finger, at_work, "swing_flexion", "trial/swing_flexion")
    assert finger.find("suggestion").text == "Turn clockwise to 11"
    assert finger.sees("Found: heel rises too high") and finger.sees("11 is one largest step towards the positions that are likely to be good.")
    dial = finger.find("dial").scene.says
    assert "stands at 8; suggested: turn clockwise to 11; clearly too low up to 8" in dial and "too high" not in dial
    finger.tap("suggestion:act")
    assert finger.sees("Turned to 11.") and finger.sees("Walk, then say what was seen and felt.")


def test_another_step_than_advised_keeps_its_reason_and_is_learnt_from(at_work):
    _, session, desk = at_work
    desk.walk("swing_flexion", "change", findings=RISE)
    tuning = Tuning(session, "fitting-1", "trial/swing_flexion")
    entry = tuning.turned(tuning.position + 5, override="the person walks fast today")
    assert entry.body["override_because"] == "the person walks fast today"
    desk.record.add([entry]) if entry.digest not in desk.record.entries else None
    desk.walk("swing_flexion", "change", findings=RISE)
    after = Tuning(session, "fitting-1", "trial/swing_flexion").suggestion()
    assert after.too_low_up_to >= 11 and after.position > 13


def test_a_threshold_where_damping_was_missing_needs_a_reason_even_one_smallest_step_up(at_work):
    _, session, desk = at_work
    desk.turn("stance_threshold", "2")
    desk.walk("stance_threshold", "change", findings=MISSING, damping_came_in=False)
    desk.turn("stance_threshold", "1", "restored")
    desk.walk("stance_threshold")
    tuning = Tuning(session, "fitting-1", "trial/stance_threshold")
    assert tuning.step_trouble(tuning.position + 1) == "missing"


def test_turning_flexion_after_extension_was_confirmed_says_to_walk_extension_again(at_work):
    _, session, desk = at_work
    desk.walk("swing_flexion")
    desk.walk("swing_extension")
    tuning = Tuning(session, "fitting-1", "trial/swing_flexion")
    assert tuning.recheck_words() == "This turn disturbs swing extension: walk that again afterwards."


def test_where_an_adjuster_stood_before_is_asked_only_once_it_was_set(at_work):
    _, session, desk = at_work
    asked = SlotForm(session, "fitting-1", "setting/stance_threshold")
    assert asked.typed["position_before"] == "1"
    desk.withdraw(desk.head("setting/swing_extension"))
    first = SlotForm(session, "fitting-1", "setting/swing_extension")
    assert "position_before" not in first.typed and "position_before" not in {f.key for f in first.fields}
