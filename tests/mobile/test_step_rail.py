"""The plumb line shows each step's state and where one is, in both ways up."""

import pytest

from mobile.device.finding import window_box
from mobile.widgets.page_frame import PageFrame
from mobile.widgets.step_rail import DownPiece, StepRail

STEPS = [
    {"key": f"step_{number}", "title": f"Step {number}", "state": "open", "state_word": "open"}
    for number in range(24)
]


@pytest.fixture
def frame(window, finger):
    frame = PageFrame(has_side=True)
    frame.rail.steps = STEPS
    frame.rail.current = "step_20"
    window.add_widget(frame)
    finger.settle()
    finger.pump(4)
    return frame


def _is_in_sight(widget, pane):
    left, bottom, right, top = window_box(widget)
    pane_left, pane_bottom, pane_right, pane_top = window_box(pane)
    return pane_left <= left + 1 and right <= pane_right + 1 and pane_bottom <= bottom + 1 and top <= pane_top + 1


def test_the_rail_is_scrolled_to_the_current_step(finger, frame):
    assert _is_in_sight(finger.find("step_rail:step_20"), frame.rail)
    assert not _is_in_sight(finger.find("step_rail:step_0"), frame.rail)


def test_moving_on_moves_the_bob(finger, frame):
    frame.rail.current = "step_2"
    finger.pump(4)
    assert [w.key for w in finger.find_all("step_rail:") if w.current] == ["step_2"]
    assert _is_in_sight(finger.find("step_rail:step_2"), frame.rail)


def test_a_step_far_down_can_be_chosen(finger, frame, heard):
    chosen = heard(frame.rail, "on_choose")
    finger.tap("step_rail:step_0")
    finger.tap("step_rail:step_23")
    assert chosen == ["step_0", "step_23"]


def test_turned_upright_the_line_runs_across_the_top(window, finger, frame):
    assert frame.rail.direction == "down" and frame.rail.height > frame.rail.width
    window.turn()
    finger.settle()
    finger.pump(4)
    assert frame.rail.direction == "across" and frame.rail.width == 800
    assert frame.rail.top == pytest.approx(frame.header.y, abs=1)
    assert _is_in_sight(finger.find("step_rail:step_20"), frame.rail)
    window.turn()
    finger.settle()
    assert frame.rail.direction == "down"


def test_turning_keeps_what_was_typed_and_which_field_is_in_hand(window, finger, frame):
    from mobile.widgets.figure_field import AmountField
    from mobile.widgets.keypad import Keypad

    pad = Keypad()
    field = AmountField(test_name="field:mass", label="Body mass", keypad=pad)
    frame.body.add_widget(field)
    frame.side.add_widget(pad)
    finger.tap("field:mass")
    finger.tap("key:8")
    window.turn()
    finger.settle()
    finger.tap("key:4")
    assert field.text == "84"


def test_new_states_reach_the_rail_without_building_it_again(finger, frame):
    before = finger.find("step_rail:step_20")
    frame.rail.steps = [{**step, "state": "met", "state_word": "met"} for step in STEPS]
    finger.settle()
    after = finger.find("step_rail:step_20")
    assert after is before and after.state_of_step == "met" and after.state_word == "met"


def test_an_unknown_state_is_a_fault():
    with pytest.raises(ValueError):
        StepRail(steps=[{"key": "a", "title": "A", "state": "green", "state_word": ""}])


@pytest.mark.parametrize(
    "state", ["met", "open", "stale", "disputed", "waived", "not_applicable"]
)
def test_every_state_is_drawn_with_strokes_of_its_own(finger, state):
    from kivy.graphics import SmoothEllipse, SmoothLine

    piece = DownPiece(state=state, first=True, last=True, size=(34, 58))
    finger.pump(2)
    kinds = [type(i).__name__ for i in piece.canvas.children if isinstance(i, (SmoothEllipse, SmoothLine))]
    expected = {
        "met": ["SmoothEllipse"] * 2 + ["SmoothLine"],
        "open": ["SmoothEllipse", "SmoothLine"],
        "stale": ["SmoothEllipse"] + ["SmoothLine"] * 6,
        "disputed": ["SmoothEllipse"] + ["SmoothLine"] * 4,
        "waived": ["SmoothEllipse"] + ["SmoothLine"] * 2,
        "not_applicable": ["SmoothEllipse"] + ["SmoothLine"] * 2,
    }
    assert kinds == expected[state]
