"""A sheet may say where its caps and screws sit; what it says of that holds together, or is refused in words."""

from __future__ import annotations

import copy

import pytest

from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet, sheet_from
from shared_models.wording.sheet_troubles import trouble_sentence

KNEE = demo_sheet("knee_alder")


def knee(**changed) -> dict:
    body = copy.deepcopy(KNEE)
    body["drawing"].update(changed)
    return body


def with_place(**changed) -> dict:
    body = copy.deepcopy(KNEE)
    body["drawing"]["places"][0].update(changed)
    return body


def place_of(name: str) -> dict:
    return next(p for p in KNEE["drawing"]["places"] if p["of"] == name)


def test_a_sheet_without_a_drawing_is_as_sound_as_before():
    body = {key: value for key, value in KNEE.items() if key != "drawing"}
    assert sheet_troubles(body) == []
    assert sheet_from(body).drawing is None


def test_every_cap_and_screw_of_a_drawn_demo_part_has_its_place():
    drawn = [sheet_from(demo_sheet(name)) for name in DEMO_SHEETS]
    drawn = [sheet for sheet in drawn if sheet.drawing]
    assert len(drawn) >= 3
    for sheet in drawn:
        for of in [f"screw/{s.key}" for s in sheet.screws] + [f"cap/{c.key}" for c in sheet.caps]:
            assert sheet.drawing.place(of) is not None, (sheet.name, of)


def test_a_place_is_read_exactly_as_the_sheet_states_it():
    drawing = sheet_from(with_place(x_mm="3.50")).drawing
    assert str(drawing.place("screw/top_front").at[0]) == "3.50"
    assert drawing.frame("front") is not None and drawing.frame("left") is None
    assert drawing.place("screw/side") is None


TROUBLES = {
    "a view from above": (with_place(view="top"), "'top' is no side"),
    "a place of a screw it does not list": (with_place(of="screw/side"), "'screw/side' is no screw"),
    "a place of another part's cap": (with_place(of="foot.cap"), "'foot.cap' is no screw"),
    "one screw at two places": (with_place(of="cap/flexion"), "has a place already (cap/flexion)"),
    "a place beside the part": (with_place(x_mm="90"), "lies outside"),
    "a place in a view without an outline": (with_place(view="left"), "Nothing is drawn on this side"),
    "two things on one another": (with_place(x_mm=place_of("cap/flexion")["x_mm"], y_mm=place_of("cap/flexion")["y_mm"]), "lies on "),
    "a place that is no number": (with_place(y_mm="high"), "is not a figure"),
    "a place without end": (with_place(y_mm="Infinity"), "is not a figure"),
    "a place without a height": (knee(places=[{"of": "screw/top_front", "view": "front", "x_mm": "0"}]), "y_mm: Nothing is written"),
    "a line for an outline": (knee(outlines=[{"view": "front", "corners_mm": [["0", "0"], ["1", "0"], ["0", "0"]]}]), "at least 3 different corners"),
    "a corner of one figure": (knee(outlines=[{"view": "front", "corners_mm": [["0"]]}]), "is no corner"),
    "corners that are a word": (knee(outlines=[{"view": "front", "corners_mm": "round"}]), "is not a list"),
    "an outline without end": (knee(outlines=[{"view": "front", "corners_mm": [["0", "0"]] * 201}]), "at most 200"),
    "a circle of nothing": (knee(circles=[{"view": "back", "x_mm": "0", "y_mm": "0", "radius_mm": "0"}]), "A radius is above 0"),
    "a part of two metres": (knee(circles=[{"view": "back", "x_mm": "0", "y_mm": "0", "radius_mm": "2000"}]), "in millimetres"),
    "shapes that are no list": (knee(circles={"view": "back"}), "is not a list"),
    "a drawing that is a word": ({**KNEE, "drawing": "see the booklet"}, "can't be read"),
}


@pytest.mark.parametrize("case", TROUBLES)
def test_a_drawing_is_not_taken_that_has(case):
    body, said = TROUBLES[case]
    found = [f"{trouble.at}: {trouble_sentence(trouble)}" for trouble in sheet_troubles(body)]
    assert any(said in trouble for trouble in found), found
