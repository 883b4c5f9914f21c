"""A scene on the screen: to scale, drawn anew, and its spots pressed."""

from __future__ import annotations

import gc
import weakref

import pytest

from shared_models.drawings.scene import Area, Disc, Label, Line, Scene, Spot, rectangle


@pytest.fixture
def view(window):
    from mobile.widgets.drawing import DrawingView

    view = DrawingView(size=(400, 300), size_hint=(None, None), test_name="drawing")
    window.add_widget(view)
    yield view
    window.remove_widget(view)


LEG = Scene(-50, 0, 100, 200, (
    Line(((0, 0), (0, 200))), Area(rectangle(-10, 20, 20, 40)), Disc((0, 100), 10, dashed=True),
    Label((0, 200), "34 mm", role="figure"), Spot("knee", (0, 100), "knee"),
    Line(((-20, 0), (20, 0), (20, 10)), dashed=True, closed=True),
))


def test_a_drawing_to_scale_keeps_a_millimetre_the_same_across_and_up(view):
    view.scene = LEG
    x, y = view.to_pixels((0, 0))
    right, _ = view.to_pixels((10, 0))
    _, top = view.to_pixels((0, 10))
    assert right - x == pytest.approx(top - y)


def test_a_chart_fills_its_place_both_ways(view):
    view.margin = [0, 0, 0, 0]
    view.scene = Scene(0, 0, 10, 1, to_scale=False)
    assert view.to_pixels((10, 1)) == pytest.approx((view.right, view.top))


def test_a_cap_is_pressed_where_it_sits_in_the_drawing_and_nowhere_else(view, finger):
    pressed = []
    view.scene = LEG
    view.bind(on_spot=lambda _view, key: pressed.append(key))
    finger.settle()
    finger.press_at(view.to_pixels((0, 100)))
    finger.press_at((view.x + 3, view.y + 3))
    assert pressed == ["knee"]


def test_a_drawing_that_was_left_is_not_held_by_the_theme(window):
    from mobile.widgets.drawing import DrawingView

    left = weakref.ref(DrawingView(scene=LEG, size=(100, 100)))
    gc.collect()
    assert left() is None
