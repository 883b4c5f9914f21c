"""A walk timed at the tablet: by thumbs on two areas, or from a file of another instrument."""

from __future__ import annotations

import time

import pytest

from shared_models.checks.walk_timing import timed_trial
from mobile.device.finding import window_box
from mobile.flows.walk_timing import WalkTiming
from tests.journeys.test_fitting_pages import SIZES, at_work, hands, must_fit, show_fitting  # noqa: F401

FLEXION, STAIRS = "trial/swing_flexion", "trial/stairs"
ANSWERS = {"stands_by": "Bo", "aid": "none", "pain_0_10": "0"}


@pytest.fixture
def at_swing(at_work, on_screen, finger):  # noqa: F811
    """The page of a swing flexion trial, ready to be timed."""
    _, _, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    return show_fitting(on_screen, finger, at_work, "swing_flexion", FLEXION)


def walk(finger, steps):
    """Bring thumbs down on the areas at these seconds, as (side, seconds), through the whole window."""
    from kivy.base import EventLoop
    from mobile.device.finger import _Touch

    began = time.time() - steps[-1][1] - 1
    for side, at_s in steps:
        area = finger.find(f"tap:{side}")
        touch = _Touch("thumb", next(finger._numbers), finger._share(area.to_window(*area.center)))
        touch.time_start = began + at_s
        EventLoop.post_dispatch_input("begin", touch)
        finger.pump(1)
        EventLoop.post_dispatch_input("end", touch)
    finger.settle()


def even(count, step_s=0.6, longer_right_s=0.0):
    """Return an even walk; steps onto the right foot may take longer."""
    at_s, found = 0.0, []
    for number in range(count):
        side = ("left", "right")[number % 2]
        at_s += 0 if not number else step_s + (longer_right_s if side == "right" else -longer_right_s)
        found.append((side, round(at_s, 3)))
    return found


def test_a_walk_timed_by_thumbs_is_saved_with_its_trial_to_the_millisecond(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    finger.tap("time_walk")
    walk(finger, even(14, longer_right_s=0.05))
    assert finger.find("tap:left").count == finger.find("tap:right").count == "7"
    finger.tap("done")
    hands(finger).enter("distance_m", "10")
    assert finger.sees("14 contacts in 7.8 s") and finger.sees("not shown yet")
    before = session.entries.count()
    finger.tap("keep")
    assert session.entries.count() == before, "a walk is saved with its trial, not before it"
    hands(finger).fill(ANSWERS)
    finger.tap("change")
    view = session.fitting("fitting-1")
    timing = next(e for e in view.entries() if e.kind == "walk_timing")
    assert timing.body["trial"] == view.trials(FLEXION)[0].digest
    assert (timing.body["instrument"], timing.body["distance_m"]) == ("thumb taps on the tablet", "10")
    taken = [part.split() for part in timing.body["contacts"].split(", ")]
    wanted = even(14, longer_right_s=0.05)
    assert [side for side, _ in taken] == [side for side, _ in wanted]
    assert all(abs(float(at) - at_s) <= 0.002 for (_, at), (_, at_s) in zip(taken, wanted))
    assert not session.draft(f"fitting/fitting-1/{FLEXION}/timing")
    assert finger.find_all("timing:"), "the figures stand beneath the trial"


def test_a_doubled_tap_is_shown_and_taken_away_before_saving(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    steps = even(12)
    steps.insert(6, (steps[5][0], steps[5][1] + 0.08))
    finger.tap("time_walk")
    walk(finger, steps)
    finger.tap("done")
    assert finger.sees("Perhaps tapped twice: 1.")
    finger.tap("doubled:act")
    assert not finger.is_there("doubled") and finger.sees("12 contacts in")
    finger.tap("keep")
    hands(finger).fill(ANSWERS)
    finger.tap("confirm")
    timing = next(e for e in session.fitting("fitting-1").entries() if e.kind == "walk_timing")
    assert timing.body["taken_away"].startswith("right 3.0"), "what was taken away stays readable"


def test_undo_takes_one_tap_and_starting_over_asks_first(at_swing, finger):
    finger.tap("time_walk")
    walk(finger, even(5))
    finger.tap("undo")
    assert finger.sees("4 taps · last: right")
    finger.tap("start_over")
    finger.tap("starting_over:withdraw")
    assert finger.sees("4 taps")
    finger.tap("start_over")
    finger.tap("starting_over:confirm")
    assert finger.sees("0 taps")


def test_taps_not_saved_are_there_after_the_app_was_killed(at_swing, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    finger.tap("time_walk")
    walk(finger, even(9))
    kept = session.entries.draft(f"fitting/fitting-1/{FLEXION}/timing")
    assert kept and kept["contacts"].count(",") == 8, "each tap is on the disk when it is counted"
    stage = on_screen(tablet, session)  # as after a start: from what the store holds
    assert stage.page.slot == FLEXION
    finger.tap("time_walk")
    assert finger.sees("9 contacts in 4.8 s")
    finger.tap("more")
    assert finger.sees("9 taps")


def test_a_stop_is_in_reach_while_a_walk_is_timed(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    finger.tap("time_walk")
    walk(finger, even(7))
    finger.tap("stop")
    finger.tap("field:stop_reason=stumble")
    view = session.fitting("fitting-1")
    assert view.unanswered_stops() and [e.kind for e in view.entries()][-1] == "walk_timing"


def test_a_walk_timed_before_the_valve_was_turned_is_not_taken_for_the_next(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    finger.tap("time_walk")
    walk(finger, even(9))
    finger.tap("done")
    finger.tap("keep")
    finger.tap("turn_first")
    finger.tap("turn:11")
    assert finger.sees("Timed at 8, and it stands at 11 now")
    hands(finger).fill(ANSWERS)
    finger.tap("change")
    assert not [e for e in session.fitting("fitting-1").entries() if e.kind == "walk_timing"]
    finger.tap("time_walk")
    assert finger.sees("Timed with the adjuster at 8; in that trial it stood at 11.")
    finger.tap("throw_away")
    assert not session.draft(f"fitting/fitting-1/{FLEXION}/timing")


def test_the_second_timing_says_whether_it_changed_since_the_first(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    for longer_s in (0.2, 0.0):
        finger.tap("time_walk")
        walk(finger, even(24, longer_right_s=longer_s))
        finger.tap("done")
        finger.tap("keep")
        hands(finger).fill(ANSWERS)
        finger.tap("change")
    assert finger.sees("Step time, symmetry index: changed since the trial timed before")
    view = session.fitting("fitting-1")
    second = [e for e in view.entries() if e.kind == "walk_timing"][-1]
    symmetry = timed_trial(view, second).shifts[0]
    # Longer on the sound side (right) by 0.4 s of 0.6 s: -2 * 0.2 / 0.6 of the index's 100.
    assert symmetry.difference == pytest.approx(200 * 0.4 / 1.2, abs=0.5)


def test_a_file_of_contacts_is_attached_to_a_recorded_trial_with_its_digest(at_swing, at_work, finger):  # noqa: F811
    import hashlib

    tablet, session, desk = at_work
    trial = desk.walk("swing_flexion", "change")
    tablet.contacts_folder.mkdir()
    data = "side;time_s;room\n" + "".join(f"{side};{str(at_s).replace('.', ',')};hall\n" for side, at_s in even(16))
    (tablet.contacts_folder / "hall.csv").write_text(data, "utf-8")
    (tablet.contacts_folder / "broken.csv").write_text("side,time_s\nleft,0\nright,soon\n", "utf-8")
    at_swing.go("swing_flexion", FLEXION)
    finger.tap("attach_contacts")
    finger.tap("file:broken.csv")
    assert finger.sees("broken.csv: Line 3 (right): the time 'soon' is not a number.")
    finger.tap("file:hall.csv")
    assert finger.sees("Read from hall.csv: 16 contacts. Columns not used: room.")
    finger.tap("field:instrument")
    finger.key("end")
    for _ in "by another instrument":
        finger.key("backspace")
    finger.type("by insoles")
    hands(finger).fill({"contact_sd_s": "0.01"})
    assert finger.sees("Recorded in a file by insoles; counted: initial contact.")
    finger.tap("keep")
    view = session.fitting("fitting-1")
    timing = next(e for e in view.entries() if e.kind == "walk_timing")
    assert timing.body["trial"] == trial.digest and timing.body["instrument"] == "recorded in a file by insoles"
    assert timing.body["file_sha256"] == hashlib.sha256(data.encode()).hexdigest()
    assert timed_trial(view, timing).figures.jitter_s == 0.01


def test_a_distance_of_a_recorded_timing_is_corrected_and_the_timing_keeps_its_trial(at_swing, at_work, finger):  # noqa: F811
    _, session, _ = at_work
    finger.tap("time_walk")
    walk(finger, even(12))
    finger.tap("done")
    hands(finger).enter("distance_m", "1")
    finger.tap("keep")
    hands(finger).fill(ANSWERS)
    finger.tap("change")
    finger.tap(finger.find_all("timing:")[0])
    finger.tap("correct")
    hands(finger).enter("distance_m", "10")
    finger.tap("save")
    view = session.fitting("fitting-1")
    timing = view.head(next(name for name in view.filled("timing/*")))
    assert (timing.body["distance_m"], timing.because_code) == ("10", "mistyped")
    timed = timed_trial(view, timing)
    assert timed.trial.digest == view.trials(FLEXION)[0].digest
    assert timed.figures.whole["speed_m_per_s"].value == pytest.approx(10 / 6.6, abs=0.01)


def test_steps_down_a_stair_give_seconds_for_each_side(at_work, on_screen, finger):  # noqa: F811
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench().tune()
    show_fitting(on_screen, finger, at_work, "stance_damping", STAIRS)
    finger.tap("walk_again")
    finger.tap("time_walk")
    walk(finger, even(12, step_s=0.9, longer_right_s=0.15))
    finger.tap("landing")
    assert finger.sees("last: right, on a landing")
    finger.tap("landing")
    finger.tap("done")
    assert finger.sees("Step time, left, prosthesis") and finger.sees("0.75 s") and finger.sees("1.05 s")
    timing = WalkTiming(session, "fitting-1", STAIRS)
    assert timing.typed["way"] == "down" and not timing.figures().whole


@pytest.mark.parametrize(("way_up", "type_size"), [("landscape", 1.0), ("portrait", 1.5)])
def test_the_pages_of_a_timing_fit_either_way_up(at_swing, at_work, finger, window, way_up, type_size):  # noqa: F811
    from mobile.widgets.theme import theme

    theme.font_scale = type_size
    try:
        window.set_size(*SIZES[way_up])
        stage = at_swing.stage
        stage.go_timing("fitting-1", "swing_flexion", FLEXION)
        finger.settle()
        for area in (finger.find("tap:left"), finger.find("tap:right")):
            left, bottom, right, top = window_box(area)
            assert right - left >= 300 and top - bottom >= 400, "a gloved thumb finds it without looking"
        must_fit(window, stage.page)
        walk(finger, even(14))
        finger.tap("done")
        must_fit(window, stage.page)
        stage.go_contact_files("fitting-1", "swing_flexion", FLEXION)
        finger.settle()
        must_fit(window, stage.page)
        stage.go_fitting("fitting-1", "swing_flexion", FLEXION)
        finger.settle()
        must_fit(window, stage.page)
    finally:
        theme.font_scale = 1.0


def test_a_timed_test_is_measured_with_the_watch_in_its_field(at_work, on_screen, finger):  # noqa: F811
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench().tune().close()
    show_fitting(on_screen, finger, at_work, "outcome", "outcome")
    began = time.time() - 20
    press_at(finger, "field:timed_up_and_go_s:watch", began)
    assert finger.find("field:timed_up_and_go_s").text == "", "nothing stands there while the watch runs"
    assert finger.sees("End the watch: ")
    press_at(finger, "field:timed_up_and_go_s:watch", began + 9.4)
    assert finger.find("field:timed_up_and_go_s").text == "9.4"
    assert finger.sees("Start the watch") and not finger.sees("End the watch")
    assert session.draft("fitting/fitting-1/outcome")["timed_up_and_go_s"] == "9.4"


def press_at(finger, name, moment):
    """Press a button with a finger that came down at a moment of the wall clock."""
    from kivy.base import EventLoop
    from mobile.device.finger import _Touch

    button = finger.find(name)
    finger.bring_into_view(button)
    finger.must_be_reachable(button)
    touch = _Touch("finger", next(finger._numbers), finger._share(button.to_window(*button.center)))
    touch.time_start = moment
    EventLoop.post_dispatch_input("begin", touch)
    finger._rest(finger._needed_rest(button))
    EventLoop.post_dispatch_input("end", touch)
    finger.settle()
