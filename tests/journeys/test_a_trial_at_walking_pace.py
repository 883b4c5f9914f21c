"""One trial as it is walked: few presses, nothing to scroll for, Stop always there, nothing lost."""

from __future__ import annotations

import pytest

from mobile.device.finding import window_box
from mobile.flows.forms import SlotForm
from mobile.flows.walk_watch import WalkWatch
from tests.journeys.test_fitting_pages import at_work, hands, show_fitting  # noqa: F401
from tests.journeys.test_timing_a_walk import even, press_at, walk

FLEXION = "trial/swing_flexion"
RISE = [
    {"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen"},
    {"finding": "heel_rise_too_high", "grade": "slight", "perceived": "felt"},
]
BOTH_WAYS = {"landscape": (1280, 800), "portrait": (800, 1280)}


@pytest.fixture
def at_swing(at_work, on_screen, finger):  # noqa: F811
    """A swing flexion trial after one that found the heel rising too high; gives the page."""
    _, _, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    desk.walk("swing_flexion", "change", findings=RISE)
    return show_fitting(on_screen, finger, at_work, "swing_flexion", FLEXION)


def trials(session):
    return session.fitting("fitting-1").trials(FLEXION)


@pytest.mark.plain_way
def test_a_turn_accepted_one_finding_nothing_else_and_not_yet_right_take_five_presses_and_no_scrolling(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    before = finger.taps
    for press in ("suggestion:act", "seen:heel_rise_too_high=slight", "nothing_else", "field:pain_0_10=1", "change"):
        left, bottom, right, top = window_box(finger.find(press))
        pane = window_box(at_swing._page)
        assert press in ("suggestion:act", "change") or pane[1] <= bottom and top <= pane[3], f"{press} is out of sight"
        finger.tap(press)
    assert finger.taps - before == 5
    last = trials(session)[-1]
    assert last.body["outcome"] == "change" and last.body["stands_by"] == "Bo"
    assert {(i["finding"], i["perceived"]): i["grade"] for i in last.body["findings"]} == {
        (key, way): "slight" if (key, way) == ("heel_rise_too_high", "seen") else "none"
        for key in ("heel_rise_too_high", "heel_rise_too_low", "heel_rise_uneven") for way in ("seen", "felt")
    }
    assert finger.is_there("suggestion"), "what to do next stands there at once"


def test_what_was_seen_and_what_was_felt_are_recorded_apart_with_the_trial_before_beside_them(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    finger.tap("suggestion:act")
    assert finger.sees("before: marked (seen), slight (felt)")
    finger.tap("seen:heel_rise_too_high=none")
    finger.tap("felt:heel_rise_too_high=slight")
    finger.tap("own_words")
    finger.type("it swings late")
    hands(finger).fill({"pain_0_10": "0"})
    finger.tap("change")
    last = trials(session)[-1]
    assert last.body["findings"] == [
        {"finding": "heel_rise_too_high", "grade": "none", "perceived": "seen"},
        {"finding": "heel_rise_too_high", "grade": "slight", "perceived": "felt"},
    ]
    assert last.body["own_words"] == "it swings late" and finger.sees("it swings late")


def test_stop_keeps_its_corner_from_the_suggestion_to_the_walk(at_swing, finger):
    corner = window_box(finger.find("stop"))[:2]
    finger.tap("suggestion:act")
    assert window_box(finger.find("stop"))[:2] == corner
    finger.tap("nothing_else")
    assert window_box(finger.find("stop"))[:2] == corner


def test_a_stop_pressed_before_the_app_is_killed_is_asked_about_again_with_its_words(at_swing, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    finger.tap("suggestion:act")
    finger.tap("felt:heel_rise_too_low=marked")
    finger.tap("stop")
    hands(finger).enter("stop_words", "caught the toe")
    on_screen(tablet, session)  # as after a start: from what the store holds
    assert finger.sees("Stopped. Why?") and finger.find("field:stop_words").text == "caught the toe"
    finger.tap("field:stop_reason=stumble")
    last = trials(session)[-1]
    assert (last.body["outcome"], last.body["stop_reason"], last.body["stop_words"]) == ("stopped", "stumble", "caught the toe")
    assert [i["grade"] for i in last.body["findings"]] == ["marked"]
    assert finger.sees("Flexion valve: anticlockwise to 8")
    assert not session.draft(f"fitting/fitting-1/{FLEXION}/notes")


def test_a_reason_for_another_step_is_kept_while_it_is_typed(at_swing, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    hands(finger).enter("override_because", "walks fast today")
    on_screen(tablet, session)
    assert finger.find("field:override_because").text == "walks fast today"
    finger.tap("turn:9")
    assert session.fitting("fitting-1").head("setting/swing_flexion").body["override_because"] == "walks fast today"


def test_the_first_steps_are_walked_only_once_it_is_said_who_stands_by(at_work, on_screen, finger):  # noqa: F811
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    show_fitting(on_screen, finger, at_work, "stance_threshold", "trial/stance_threshold")
    assert finger.is_there("caution") and not finger.is_there("confirm") and finger.is_there("stop")
    finger.tap("begin")
    assert finger.sees("Say which aid is used.")
    hands(finger).fill({"aid": "bars", "stands_by": "Tamsin"})
    finger.tap("begin")
    assert finger.find("who").text == "Tamsin stands by" and not finger.is_there("caution")
    hands(finger).fill({"damping_came_in": True, "damping_let_go": True, "pain_0_10": "0"})
    finger.tap("nothing_else")
    finger.tap("change")
    assert session.fitting("fitting-1").trials("trial/stance_threshold")[0].body["stands_by"] == "Tamsin"
    assert not finger.is_there("caution") and finger.find("who").text == "Tamsin stands by"
    finger.tap("who")
    finger.tap("stands_by:2")
    assert finger.find("who").text == "Bo stands by"


@pytest.mark.plain_way
@pytest.mark.parametrize("way_up", BOTH_WAYS)
def test_each_half_for_tapping_takes_two_fifths_of_the_screen_either_way_up(at_swing, finger, window, way_up):
    window.set_size(*BOTH_WAYS[way_up])
    at_swing.stage.go_timing("fitting-1", "swing_flexion", FLEXION)
    finger.settle()
    for side in ("left", "right"):
        left, bottom, right, top = window_box(finger.find(f"tap:{side}"))
        assert (right - left) * (top - bottom) >= 0.4 * window.width * window.height
    assert window_box(finger.find("tap:left"))[2] <= window_box(finger.find("tap:right"))[0]
    assert finger.is_there("stop") and finger.sees("Last confirmed: threshold 0")


def test_taps_that_go_on_after_a_restart_say_that_the_gap_is_from_the_tablets_clock(at_swing, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    finger.tap("suggestion:act")
    finger.tap("time_walk")
    walk(finger, even(5))
    place = f"fitting/fitting-1/{FLEXION}/timing"
    session.keep_draft(place, {**session.draft(place), "run": "another run of the app"})
    on_screen(tablet, session)
    finger.tap("time_walk")
    finger.tap("more")
    finger.tap("tap:right")
    finger.tap("done")
    assert finger.sees("The app was restarted between two contacts")


def test_a_watch_over_a_marked_distance_is_recorded_with_the_trial_and_its_distance_not_asked_again(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    import time

    finger.tap("suggestion:act")
    finger.tap("stopwatch")
    hands(finger).enter("marked_distance_m", "10")
    finger.tap("key:next")
    began = time.time() - 20
    press_at(finger, "watch", began)
    press_at(finger, "watch", began + 8.4)
    assert finger.sees("10 m in 8.4 s: 1.19 m/s")
    finger.tap("done")
    assert finger.is_there("watched")
    hands(finger).fill({"pain_0_10": "0"})
    finger.tap("change")
    body = trials(session)[-1].body
    assert (body["marked_distance_m"], body["marked_time_s"], body["marked_time_by"]) == ("10", "8.4", "stopwatch on the tablet")
    form = SlotForm(session, "fitting-1", FLEXION)
    assert WalkWatch(session, form).distance() == "10" and "marked_time_s" not in form.typed


def test_a_watch_that_runs_outlives_the_app_by_the_wall_clock_and_says_so(at_swing, at_work):  # noqa: F811
    _, session, _ = at_work
    form = SlotForm(session, "fitting-1", FLEXION)
    WalkWatch(session, form, "first run", lambda: 500.0, lambda: 9_000.0).start()
    after = WalkWatch(session, SlotForm(session, "fitting-1", FLEXION), "second run", lambda: 3.0, lambda: 9_012.3)
    assert after.is_running and after.was_restarted and after.elapsed_s() == pytest.approx(12.3)
    stopped = after.stop()
    assert (stopped.seconds, stopped.by_wall) == ("12.3", True)
    assert "restarted" in session.draft(f"fitting/fitting-1/{FLEXION}")["marked_time_by"]


def test_a_watch_over_which_the_wall_clock_was_set_back_measures_nothing(at_swing, at_work):  # noqa: F811
    _, session, _ = at_work
    WalkWatch(session, SlotForm(session, "fitting-1", FLEXION), "first run", lambda: 500.0, lambda: 9_000.0).start()
    after = WalkWatch(session, SlotForm(session, "fitting-1", FLEXION), "second run", lambda: 3.0, lambda: 8_000.0)
    assert after.stop().seconds is None and not after.is_running
    assert "marked_time_s" not in session.draft(f"fitting/fitting-1/{FLEXION}")


def test_a_time_taken_at_another_position_is_not_recorded_with_the_walk_after_the_turn(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    clock = iter((100.0, 107.0))
    watch = WalkWatch(session, SlotForm(session, "fitting-1", FLEXION), "a run", lambda: next(clock), lambda: 9_000.0)
    watch.start()
    watch.stop()
    finger.tap("suggestion:act")
    assert finger.sees("Timed at another position; it stands at 11 now: not saved with this trial.")
    hands(finger).fill({"pain_0_10": "0"})
    finger.tap("change")
    assert "marked_time_s" not in trials(session)[-1].body


def test_the_click_is_made_by_its_own_script_can_be_turned_off_and_is_never_an_error(at_swing, at_work, finger):  # noqa: F811
    from mobile.device.click import FILE, Click, tone
    from mobile.screens.timing import click_is_on

    _, session, _ = at_work
    assert FILE.read_bytes() == tone() and len(tone()) < 2000
    assert Click(is_on=False).give() is False
    assert Click().give() in (True, False)
    finger.tap("suggestion:act")
    finger.tap("time_walk")
    finger.tap("click")
    assert not click_is_on(session) and finger.find("click").text == "Click: off"
    finger.tap("tap:left")
    assert finger.sees("1 tap · last: left")
