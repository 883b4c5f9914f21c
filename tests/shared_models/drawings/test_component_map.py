"""Where caps and screws sit: drawn only where the sheet says so, and told apart without colour."""

from __future__ import annotations

import math

import pytest

from shared_models.catalogue.sheets import demo_sheet, sheet_from
from shared_models.drawings.component_map import DrawnPart, Mark, apart, component_map, mark_shapes
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Disc, Label, Line, Spot

KNEE = sheet_from(demo_sheet("knee_alder"))
ROOM = Room(0.8, 0.04)


def part(*states: str, drawing=KNEE.drawing, in_hand: int = -1) -> DrawnPart:
    keys = ["cap/flexion", "cap/extension", "cap/front_cover"]
    marks = tuple(
        Mark(f"cap/knee.{of[4:]}", of, n + 1, of, state, n == in_hand)
        for n, (of, state) in enumerate(zip(keys, states))
    )
    return DrawnPart("knee", drawing, marks)


def spots(scene) -> dict[str, tuple[float, float]]:
    return {s.key: s.at for s in scene.shapes if isinstance(s, Spot)}


def test_each_cap_is_pressed_in_the_view_and_at_the_height_that_the_sheet_states():
    found = spots(component_map([part("open", "open", "open")], ROOM))
    assert set(found) == {"cap/knee.flexion", "cap/knee.extension", "cap/knee.front_cover"}
    assert found["cap/knee.flexion"][1] > found["cap/knee.front_cover"][1], "the flexion cap sits above the cover's lower end"
    assert found["cap/knee.extension"][0] > found["cap/knee.flexion"][0], "the back stands to the right of the front"


@pytest.mark.parametrize("without", ["nothing drawn", "no drawing"])
def test_no_place_is_made_up_where_the_sheet_states_none(without):
    drawing = None if without == "no drawing" else sheet_from({**demo_sheet("knee_alder"), "drawing": {}}).drawing
    assert component_map([part("open", "open", "open", drawing=drawing)], ROOM) is None


def test_a_screw_that_the_sheet_does_not_place_is_left_out_of_the_drawing():
    body = demo_sheet("knee_alder")
    body["drawing"]["places"] = [p for p in body["drawing"]["places"] if p["of"] != "cap/extension"]
    scene = component_map([part("open", "open", "open", drawing=sheet_from(body).drawing)], ROOM)
    assert "cap/knee.extension" not in spots(scene)


def test_no_two_states_look_the_same_without_colour():
    def looks(state):
        return [
            (type(s).__name__, getattr(s, "dashed", ""), getattr(s, "text", ""), getattr(s, "points", ""), bool(getattr(s, "fill_tone", "") == "ink"))
            for s in mark_shapes(Mark("k", "o", 1, "n", state), (0, 0), 10)
        ]
    states = ["open", "met", "doubt", "stale", "disputed", "waived"]
    assert len({str(looks(s)) for s in states}) == len(states)


def test_the_one_in_hand_is_named_and_ringed():
    scene = component_map([part("met", "open", "open", in_hand=1)], ROOM)
    assert any(isinstance(s, Label) and s.bold and s.text == "2  cap/extension" for s in scene.shapes)
    assert any(isinstance(s, Disc) and s.edge_tone == "working" for s in scene.shapes)
    assert "1, cap/flexion: done" in scene.says


@pytest.mark.parametrize("wide", [0.4, 0.8, 2.5])
@pytest.mark.parametrize("line", [0.03, 0.09])
def test_everything_stays_inside_of_the_drawing_and_marks_can_be_pressed_apart(wide, line):
    scene = component_map([part("open", "doubt", "stale")], Room(wide, line))
    found = list(spots(scene).values())
    for x, y in found:
        assert scene.left <= x <= scene.left + scene.width and scene.bottom <= y <= scene.height
    for shape in scene.shapes:
        if isinstance(shape, Line) and shape.closed:
            assert all(0 <= x <= scene.width and 0 <= y <= scene.height for x, y in shape.points)
    for n, one in enumerate(found):
        assert all(math.dist(one, other) > 1.7 * line * 1000 * 0.85 for other in found[:n])


def test_marks_that_crowd_each_other_are_moved_apart_and_lone_ones_stay():
    moved = apart([(0, 0), (0, 0), (1, 0), (500, 500)], 50)
    assert moved[3] == (500, 500)
    assert all(math.dist(a, b) > 45 for n, a in enumerate(moved) for b in moved[:n])
