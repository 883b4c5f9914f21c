"""A scene as SVG of a page: read back by an XML parser, held against what the tablet draws."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from mobile.widgets.palettes import SUN
from shared_models.drawings.daylight import TONES
from shared_models.drawings.scene import Area, Disc, Label, Line, Scene, Spot
from shared_models.drawings.svg import Paper, svg_of

PAPER = Paper(300, 200, 0.5)
SVG = "{http://www.w3.org/2000/svg}"


def read(*shapes, to_scale=True, says="", title="t", paper=PAPER) -> ElementTree.Element:
    return ElementTree.fromstring(svg_of(Scene(0, 0, 100, 100, shapes, to_scale, says), paper, "one", title))


def test_up_in_the_scene_is_up_on_the_page_and_a_drawing_to_scale_is_never_stretched():
    points = read(Line(((0, 0), (100, 100))))[1].get("points")
    assert points == "50,200 250,0", "200 px high leave 50 px at either side of a square"
    assert read(Line(((0, 0), (100, 100))), to_scale=False)[1].get("points") == "0,200 300,0"


def test_a_drawing_has_a_name_and_says_in_words_what_it_shows():
    found = read(title="Heel <rise>", says="a & b")
    assert found.get("role") == "img" and found.get("aria-labelledby") == "one-title one-says"
    assert {e.get("id"): e.text for e in found} == {"one-title": "Heel <rise>", "one-says": "a & b"}


def test_words_that_look_like_markup_stay_words():
    found = read(Label((50, 50), "<script>&\"'\nsecond"))
    assert [s.text for s in found.iter(f"{SVG}tspan")] == ["<script>&\"'", "second"]
    assert not list(found.iter(f"{SVG}script"))


def test_nothing_needs_an_inline_style_or_another_address():
    text = svg_of(Scene(0, 0, 9, 9, (
        Line(((0, 0), (1, 1)), dashed=True), Area(((0, 0), (1, 0), (0, 1)), faint=True),
        Disc((1, 1), 1, "ink", ""), Disc((1, 1), 1), Label((1, 1), "x", ground_tone="field"), Spot("k", (1, 1), "w"),
    )), PAPER, "one", "t")
    assert "style" not in text and "href" not in text and "url(" not in text
    assert 'stroke-dasharray="3 3"' in text and 'fill-opacity="0.45"' in text and 'paint-order="stroke"' in text


@pytest.mark.parametrize("at, across, up", [
    ((0, 0), "right", "top"), ((100, 100), "left", "bottom"), ((100, 0), "middle", "middle"),
])
def test_words_at_the_edge_stay_on_the_paper(at, across, up):
    found = read(Label(at, "twelve marks", across=across, up=up), to_scale=False)
    span, size = found.find(f".//{SVG}tspan"), 9.0
    x, y, wide = float(span.get("x")), float(span.get("y")), 12 * 0.56 * size
    left = x - {"start": 0, "middle": wide / 2, "end": wide}[found.find(f"{SVG}text").get("text-anchor")]
    assert left >= -0.01 and left + wide <= 300.01
    assert y - 0.92 * size >= -0.01 and y + 0.23 * size <= 200.01


def test_the_page_draws_in_the_tones_of_the_tablet_in_daylight():
    # White paper has no ground of its own.
    assert {name: value for name, value in TONES.items() if name != "ground"}.items() <= SUN.items()
    assert all(re.fullmatch("#[0-9A-F]{6}", value) for value in TONES.values())
