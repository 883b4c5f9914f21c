"""Where caps and screws sit: drawn only where the sheet says so, and told apart without colour."""

from __future__ import annotations

import math

import pytest

from shared_models.catalogue.sheets import demo_sheet, sheet_from
from shared_models.drawings.component_map import DrawnPart, Mark, apart, component_map, mark_shapes
from shared_models.drawings.plain_shapes import Room, text_width
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


@pytest.mark.parametrize(("wide", "line"), [(0.4, 0.03), (0.4, 0.08), (0.8, 0.03), (0.8, 0.09), (2.5, 0.03), (2.5, 0.09)])
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


def test_the_name_of_the_cap_in_hand_gives_way_where_its_ring_would_reach_into_it():
    parts = [part("open", "open", "open", in_hand=0)]
    for line in (0.03, 0.06, 0.09, 0.12, 0.13):
        scene = component_map(parts, Room(1.2, line))
        names = [s for s in scene.shapes if isinstance(s, Label) and s.text.startswith("1  ")]
        ring = max(s.centre[1] + s.radius for s in scene.shapes if isinstance(s, Disc) and s.edge_tone == "working")
        for name in names:
            assert ring <= scene.height - (1 + name.text.count("\n")) * line * 1000
        assert ring <= scene.height
        assert bool(names) == (line < 0.125), "it stands there wherever it has room"


def test_a_room_too_low_for_the_marks_is_left_to_a_list():
    assert component_map([part("open", "open", "open")], Room(2.5, 0.3)) is None


def test_marks_that_crowd_each_other_are_moved_apart_and_lone_ones_stay():
    moved = apart([(0, 0), (0, 0), (1, 0), (500, 500)], 50)
    assert moved[3] == (500, 500)
    assert all(math.dist(a, b) > 45 for n, a in enumerate(moved) for b in moved[:n])


def boxes(scene, line: float) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Where the words of a drawing lie, with letters as wide as the drawing takes them."""
    found = []
    for shape in scene.shapes:
        if isinstance(shape, Label):
            high = line * (1 + shape.text.count("\n"))
            wide = text_width(shape.text, line) * (1.1 if shape.bold else 1.0)
            x = shape.at[0] - {"left": 0, "middle": wide / 2, "right": wide}[shape.across]
            y = shape.at[1] - {"bottom": 0, "middle": high / 2, "top": high}[shape.up]
            found.append((shape.text, (x, y, x + wide, y + high)))
    return found


def meet(a, b) -> bool:
    return a[0] < b[2] - 2 and b[0] < a[2] - 2 and a[1] < b[3] - 2 and b[1] < a[3] - 2


@pytest.mark.parametrize("sheet, sort", [
    ("knee_alder", "screw"), ("knee_alder", "cap"), ("adapter_cove", "screw"), ("foot_elm", "screw"),
])
@pytest.mark.parametrize("wide, line", [
    # A tablet lying and upright at 100 and 150 %, and a low place beside a keypad.
    (0.8, 0.04), (0.6, 0.04), (0.6, 0.063), (0.55, 0.07), (1.5, 0.063), (1.5, 0.09), (0.5, 0.063),
])
def test_no_words_run_into_each_other_or_into_a_mark_at_large_type(sheet, sort, wide, line):
    found = sheet_from(demo_sheet(sheet))
    own = [f"cap/{c.key}" for c in found.caps] if sort == "cap" else [f"screw/{s.key}" for s in found.screws]
    for in_hand in range(len(own)):
        marks = tuple(Mark(of, of, n + 1, "A screw with a longer name", "open", n == in_hand) for n, of in enumerate(own))
        scene = component_map([DrawnPart(found.name, found.drawing, marks)], Room(wide, line))
        words = boxes(scene, 1000 * line)
        rings = [
            (d.centre[0] - d.radius, d.centre[1] - d.radius, d.centre[0] + d.radius, d.centre[1] + d.radius)
            for d in scene.shapes if isinstance(d, Disc) and d.edge_tone in ("ink", "working") and d.radius > 500 * line
        ]
        for n, (text, box) in enumerate(words):
            assert not [other for other, its in words[:n] if meet(box, its)], f"{text} runs into other words"
            assert not [ring for ring in rings if meet(box, ring)], f"{text} runs into a mark"


def test_views_that_have_no_room_beside_each_other_stand_in_two_rows_at_one_scale():
    parts = [part("open", "open", "open")]
    beside = spots(component_map(parts, Room(0.8, 0.04)))
    beneath = spots(component_map(parts, Room(0.3, 0.06)))
    front, back = "cap/knee.flexion", "cap/knee.extension"
    assert beside[back][0] > beside[front][0] and abs(beside[back][1] - beside[front][1]) < 100
    assert beneath[back][1] < beneath[front][1] - 250
