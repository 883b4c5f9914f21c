"""A page on which trial after trial is walked keeps the widgets of the one it shows, and of no other."""

from __future__ import annotations

import gc
from collections import Counter

import pytest

from tests.journeys.at_work import alone
from tests.journeys.tablet_desk import TabletDesk

SLIGHT = [{"finding": "heel_rise_too_high", "grade": "slight", "perceived": "seen"}]


@pytest.fixture
def stage(tmp_path, on_screen):
    """A fitting on the screen at the trials of swing flexion, its threshold confirmed."""
    tablet, session = alone(tmp_path / "tablet")
    desk = TabletDesk(tablet, session)
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.turn("stance_threshold", "1")
    desk.walk("stance_threshold")
    desk.walk("swing_flexion", "change", findings=SLIGHT)
    stage = on_screen(tablet, session)
    stage.go_fitting("fitting-1", "swing_flexion", "trial/swing_flexion")
    yield stage
    tablet.close()


def alive(window) -> Counter:
    """Count the widgets that are still there though nobody sees them, and what stood on the page."""
    from kivy.uix.widget import Widget
    from mobile.screens.timing_part import TimingPart
    from mobile.screens.trial import TrialPane
    from mobile.screens.trial_walk import WalkPart

    gc.collect()
    shown = {id(widget) for child in window.children for widget in child.walk()}
    found = (type(thing) for thing in gc.get_objects() if id(thing) not in shown)
    return Counter(kind.__name__ for kind in found if issubclass(kind, (Widget, TimingPart, TrialPane, WalkPart)))


def walk(stage, finger) -> None:
    """Walk once more here, say something in words and by grades, and have it not right yet."""
    if finger.is_there("walk_again"):
        finger.tap("walk_again")
    finger.tap("seen:heel_rise_too_high=slight")
    finger.tap("own_words")
    finger.type("a little")
    finger.tap("field:pain_0_10=2")
    finger.tap("change")


def test_ten_trials_keep_no_more_widgets_alive_than_the_first_ones(stage, window, finger):
    finger.settle()
    seen = {}
    for number in range(1, 11):
        walk(stage, finger)
        if number in (3, 10):
            seen[number] = alive(window)
    assert len(stage.page.trial.course) == 11
    grown = seen[10] - seen[3]
    assert not grown, f"kept from trials before: {grown}"
