"""A paper to sign on: by finger, glove or mouse, the same line however it is turned."""

from __future__ import annotations

import math

import pytest

from mobile.widgets.drawing_pad import DrawingPad
from mobile.widgets.signature_pad import SignaturePad
from shared_models.checks.strokes import Stroke, strokes_body, strokes_from
from shared_models.drawings.strokes import paths_of

#: A wavy line as shares of the paper.
WAVE = [(0.1 + 0.8 * n / 60, 0.5 + 0.3 * math.sin(n / 4)) for n in range(61)]


@pytest.fixture
def pad(window, finger):
    from kivy.uix.boxlayout import BoxLayout

    around = BoxLayout(orientation="vertical")
    pad = SignaturePad(test_name="signature", label="Sign here")
    around.add_widget(pad)
    window.add_widget(around)
    finger.settle()
    return pad


def in_window(paper, shares):
    left, bottom, wide, high = paper.frame
    return [paper.to_window(left + x * wide, bottom + y * high) for x, y in shares]


def furthest(points, line) -> float:
    """How far the furthest of the points lies from the line through the others, in shares."""
    def to_piece(p, a, b):
        long = math.dist(a, b) ** 2
        along = 0 if not long else max(0, min(1, ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / long))
        return math.dist(p, (a[0] + along * (b[0] - a[0]), a[1] + along * (b[1] - a[1])))
    return max(min(to_piece(p, a, b) for a, b in zip(line, line[1:])) for p in points)


def test_a_signature_is_kept_as_it_was_drawn_to_a_pixel_or_two(pad, finger):
    finger.drag(in_window(pad.paper, WAVE))
    (stroke,) = pad.strokes
    _, _, wide, high = pad.paper.frame
    kept = [(x * wide, y * high) for x, y in strokes_from(strokes_body([Stroke(*stroke)]))[0].points]
    drawn = [(x * wide, y * high) for x, y in WAVE]
    assert furthest(drawn, kept) < 3 and furthest(kept, drawn) < 1.5


def test_turning_the_tablet_keeps_the_signature_and_draws_it_in_proportion(pad, finger, window):
    finger.drag(in_window(pad.paper, WAVE))
    before, (_, _, wide, high) = pad.strokes, pad.paper.frame
    window.turn()
    finger.settle()
    _, _, turned_wide, turned_high = pad.paper.frame
    assert pad.strokes == before and turned_wide != wide
    assert turned_wide / turned_high == pytest.approx(wide / high) == pytest.approx(2.5)
    assert turned_wide >= 300 and turned_high >= 120


@pytest.mark.parametrize("seed", range(8))
def test_a_glove_trembling_on_the_spot_draws_a_dot_and_no_scribble(pad, window, seed):
    from mobile.device.glove import Glove

    Glove(window, seed=seed).press_at(in_window(pad.paper, [(0.5, 0.5)])[0])
    (stroke,) = pad.strokes
    assert len(stroke.points) == 1


def test_a_palm_that_comes_down_while_signing_draws_nothing(pad, finger):
    from kivy.base import EventLoop
    from mobile.device.finger import _Touch

    points = in_window(pad.paper, WAVE)
    hand = _Touch("finger", 9001, finger._share(points[0]))
    EventLoop.post_dispatch_input("begin", hand)
    finger.press_at(in_window(pad.paper, [(0.9, 0.1)])[0])
    for point in points[1:]:
        hand.move(finger._share(point))
        EventLoop.post_dispatch_input("update", hand)
    EventLoop.post_dispatch_input("end", hand)
    finger.settle()
    (stroke,) = pad.strokes
    assert furthest(stroke.points, WAVE) < 0.01


def test_strokes_are_taken_back_one_by_one_and_what_was_cleared_comes_back(pad, finger, heard):
    edits = heard(pad, "on_edit")
    for share in (0.2, 0.5, 0.8):
        finger.drag(in_window(pad.paper, [(share, 0.2), (share, 0.5), (share, 0.8)]))
    three = pad.strokes
    finger.tap("signature:undo")
    assert pad.strokes == three[:2]
    finger.tap("signature:clear")
    assert pad.strokes == ()
    finger.tap("signature:undo")
    assert pad.strokes == three[:2]
    assert [len(strokes) for strokes in edits] == [1, 2, 3, 2, 0, 2]


def test_a_line_that_leaves_the_paper_ends_at_its_edge(pad, finger):
    start = in_window(pad.paper, [(0.5, 0.5)])[0]
    finger.drag([start, (start[0], start[1] + 300), (start[0] + 3000, start[1] + 300)])
    assert all(0 <= n <= 1 for point in pad.strokes[0].points for n in point)


def test_an_arrow_goes_from_where_the_finger_came_down_to_where_it_was_lifted(window, finger):
    pad = DrawingPad(test_name="pad", way="arrow", lines_of=paths_of)
    window.add_widget(pad)
    finger.settle()
    finger.drag(in_window(pad, [(0.2, 0.2), (0.7, 0.1), (0.6, 0.6)]))
    finger.drag(in_window(pad, [(0.3, 0.3), (0.301, 0.301)]))
    (arrow,) = pad.strokes
    assert arrow.way == "arrow", "a slip of a few pixels is no second arrow"
    assert [(round(x, 2), round(y, 2)) for x, y in arrow.points] == [(0.2, 0.2), (0.6, 0.6)]


def test_a_picture_stands_upright_behind_what_is_drawn_and_keeps_its_shape(window, finger):
    pad = DrawingPad(test_name="pad", takes_drawing=False)
    window.add_widget(pad)
    pad.show_picture(8, 4, bytes(8 * 4 * 3))
    finger.settle()
    _, _, wide, high = pad.frame
    assert pad.has_picture and wide / high == 2
    finger.drag(in_window(pad, [(0.2, 0.2), (0.7, 0.7)]))
    assert pad.strokes == (), "what only shows takes no drawing"
