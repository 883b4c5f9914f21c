"""A frame to draw in by finger, glove, stylus or mouse, over nothing or over a picture."""

from __future__ import annotations

from typing import NamedTuple

from kivy.graphics import Color, Line, Rectangle
from kivy.graphics.texture import Texture
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, OptionProperty, StringProperty
from kivy.uix.widget import Widget

from mobile.widgets.surface import Named
from mobile.widgets.theme import theme

#: A gloved fingertip wanders so far on the spot; less than this is no movement.
JITTER_DP = 2.5
#: A stroke that never left this far from where it began is a dot.
DOT_DP = 10
#: An arrow or a ring shorter than this was a slip.
LEAST_SHAPE_DP = 24
#: How much wider than the line its contrasting edge is, each side.
_EDGE_DP = 2.0
_RING = "ring"


class DrawnStroke(NamedTuple):
    """One stroke as plain data: points and width in shares of the frame, and how it is drawn."""

    points: tuple
    width: float
    way: str = "line"


def through_points(strokes, wide, high):
    """Return (points, width) of plain strokes in a frame; used where no other way is given."""
    return [([(x * wide, y * high) for x, y in s.points], s.width * wide) for s in strokes]


class DrawingPad(Named, Widget):
    """Keeps ``strokes`` in shares of a frame ``frame_wide`` times as wide as it is high.

    Turned or made larger, it draws the same strokes anew. One finger draws; others that touch it
    meanwhile, a palm for one, are ignored. ``way`` is what is drawn next (``'line'``, ``'arrow'``,
    ``'ring'``); ``lines_of(strokes, wide, high)`` gives the lines of strokes as (points, width)
    pairs or objects of these. Without ``takes_drawing`` it only shows. ``on_drawn()`` follows each
    change that a person made. :meth:`show_picture` puts a picture behind.
    """

    __events__ = ("on_drawn",)
    strokes = ObjectProperty(())
    frame_wide = NumericProperty(2.5)
    pen = NumericProperty(0.008)
    """Width of the line as a share of the frame's width."""

    way = OptionProperty("line", options=["line", "arrow", _RING])
    line_tone = StringProperty("ink")
    edge_tone = StringProperty("")
    ground_tone = StringProperty("field")
    rim_tone = StringProperty("ink")
    takes_drawing = BooleanProperty(True)
    lines_of = ObjectProperty(through_points)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._texture = None
        self._touch, self._path = None, []
        self._before_clearing: tuple = ()
        for name in ("pos", "size", "strokes", "frame_wide", "ground_tone"):
            self.fbind(name, self._redraw)
        # Bound weakly: the theme outlives every pad.
        theme.bind(name=self._redraw)
        self._redraw()

    def on_drawn(self) -> None:
        """A person drew a stroke, or took one back."""

    # What is drawn -----------------------------------------------------------------

    def undo(self) -> None:
        """Take the last stroke back; after clearing, bring back what was cleared."""
        if self.strokes:
            self.strokes = self.strokes[:-1]
        elif self._before_clearing:
            self.strokes, self._before_clearing = self._before_clearing, ()
        else:
            return
        self.dispatch("on_drawn")

    def clear(self) -> None:
        """Take everything back; `undo` brings it again."""
        if self.strokes:
            self._before_clearing, self.strokes = self.strokes, ()
            self.dispatch("on_drawn")

    def show_picture(self, width: int, height: int, rgb: bytes) -> None:
        """Show a picture behind the strokes: rows of red, green, blue from the top."""
        texture = Texture.create(size=(width, height), colorfmt="rgb", bufferfmt="ubyte")

        def fill(filled):
            filled.blit_buffer(rgb, colorfmt="rgb", bufferfmt="ubyte")

        fill(texture)
        texture.flip_vertical()
        # A tablet that was put aside may come back with an empty graphics memory.
        texture.add_reload_observer(fill)
        self._texture = texture
        self.frame_wide = width / height
        self._redraw()

    @property
    def has_picture(self) -> bool:
        """Whether a picture is shown."""
        return self._texture is not None

    # The frame ---------------------------------------------------------------------

    @property
    def frame(self) -> tuple[float, float, float, float]:
        """Left, bottom, width and height of the frame in pixels: as large as fits, in the middle."""
        wide = min(self.width, self.height * self.frame_wide)
        high = wide / self.frame_wide if self.frame_wide else 0
        return self.x + (self.width - wide) / 2, self.y + (self.height - high) / 2, wide, high

    def _share(self, position) -> tuple[float, float]:
        left, bottom, wide, high = self.frame
        return (
            min(max((position[0] - left) / max(wide, 1), 0.0), 1.0),
            min(max((position[1] - bottom) / max(high, 1), 0.0), 1.0),
        )

    def _is_in_frame(self, position) -> bool:
        left, bottom, wide, high = self.frame
        return left <= position[0] <= left + wide and bottom <= position[1] <= bottom + high

    # Drawing by hand -----------------------------------------------------------------

    def on_touch_down(self, touch):
        if not self.takes_drawing or self.disabled or not self._is_in_frame(touch.pos):
            return super().on_touch_down(touch)
        if getattr(touch, "is_mouse_scrolling", False):
            return super().on_touch_down(touch)
        if self._touch is None:
            touch.grab(self)
            self._touch, self._path = touch, [touch.pos]
        return True

    def on_touch_move(self, touch):
        if touch.grab_current is not self or touch is not self._touch:
            return super().on_touch_move(touch)
        if _away(self._path[-1], touch.pos) >= dp(JITTER_DP):
            self._path.append(touch.pos)
            self._redraw()
        return True

    def on_touch_up(self, touch):
        if touch.grab_current is not self or touch is not self._touch:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        path, self._touch = self._path, None
        if len(path) > 1 and _away(path[-1], touch.pos) > 0:
            path[-1] = touch.pos  # the end lies where the finger was lifted
        self._path = []
        if all(_away(path[0], point) < dp(DOT_DP) for point in path):
            path = path[:1]
        stroke = self._stroke(path)
        if self.way != "line" and (len(path) < 2 or _away(path[0], path[-1]) < dp(LEAST_SHAPE_DP)):
            self._redraw()
            return True
        self._before_clearing = ()
        self.strokes = (*self.strokes, stroke)
        self.dispatch("on_drawn")
        return True

    def _stroke(self, path) -> DrawnStroke:
        shares = tuple(self._share(point) for point in path)
        if self.way != "line" and len(shares) > 1:
            shares = (shares[0], shares[-1])
        return DrawnStroke(shares, self.pen, self.way)

    # Showing -----------------------------------------------------------------------

    def _redraw(self, *_args) -> None:
        self.canvas.clear()
        left, bottom, wide, high = self.frame
        if wide < 2 or high < 2:
            return
        under_way = (self._stroke(self._path),) if self._path else ()
        with self.canvas:
            if self._texture is None:
                Color(*theme.colour(self.ground_tone))
                Rectangle(pos=(left, bottom), size=(wide, high))
                self.draw_ground(left, bottom, wide, high)
            else:
                Color(1, 1, 1, 1)
                Rectangle(pos=(left, bottom), size=(wide, high), texture=self._texture)
            lines = self.lines_of((*self.strokes, *under_way), wide, high)
            for tone, more in ((self.edge_tone, dp(_EDGE_DP)), (self.line_tone, 0)):
                if tone:
                    self._draw_lines(lines, tone, more, left, bottom)
            if self.rim_tone:
                Color(*theme.colour(self.rim_tone))
                Line(rectangle=(left + 1, bottom + 1, wide - 2, high - 2), width=dp(1))

    def draw_ground(self, left: float, bottom: float, wide: float, high: float) -> None:
        """Draw what lies on the paper beneath the strokes."""

    def _draw_lines(self, lines, tone: str, more: float, left: float, bottom: float) -> None:
        Color(*theme.colour(tone))
        for line in lines:
            points, width = (line.points, line.width) if hasattr(line, "points") else line
            flat = [n for x, y in points for n in (left + x, bottom + y)]
            if len(flat) == 2:
                flat += [flat[0] + 0.5, flat[1]]
            elif len(flat) == 4 and flat[:2] == flat[2:]:
                flat[2] += 0.5  # a line of no length is not drawn at all
            Line(points=flat, width=max(width / 2, dp(1)) + more, joint="round", cap="round")


def _away(one, other) -> float:
    return ((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5
