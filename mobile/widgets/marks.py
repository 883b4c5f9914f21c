"""Marks drawn with a few strokes: they tell by shape what colour alone would not.

:class:`StateMark` for the state of a step, :class:`GradeMark` for how marked a finding is,
:class:`ChoiceMark` for what is chosen, :class:`KindMark` for the kind of a message.
"""

import math

from kivy.clock import Clock
from kivy.graphics import Color, Line, SmoothEllipse, SmoothLine, SmoothRectangle
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, OptionProperty, StringProperty
from kivy.uix.widget import Widget

from mobile.widgets.surface import Named
from mobile.widgets.theme import theme

STATES = ["met", "open", "stale", "disputed", "waived", "not_applicable"]
KINDS = ["", "refusal", "doubt", "info", "caution", "stop"]


class Mark(Named, Widget):
    """A square drawing in the theme's colours, drawn again whenever it moves or changes.

    ``tone`` is the colour of the strokes, ``fill_tone`` that of the ground it lies on.
    """

    tone = StringProperty("ink")
    fill_tone = StringProperty("")
    stroke = NumericProperty(dp(1.6))

    def __init__(self, **kwargs):
        self._again = Clock.create_trigger(self._draw_again, -1)
        super().__init__(**kwargs)
        for name in ("pos", "size", "tone", "fill_tone", "stroke"):
            self.fbind(name, self._again)
        # bind and not fbind: the theme outlives the mark and must not hold it.
        theme.bind(name=self._other_theme)
        self._again()

    def _other_theme(self, *_args):
        self._again()

    def _draw_again(self, *_args):
        self.canvas.clear()
        with self.canvas:
            self.draw(*self.center, min(self.size) / 2 - self.stroke)

    def draw(self, x: float, y: float, r: float) -> None:
        """Draw around (x, y) within the radius r, in pixels; the canvas is already entered."""

    def use(self, tone: str) -> None:
        """Go on drawing in this tone of the theme."""
        Color(rgba=theme.colour(tone))

    def ring(self, x, y, r, start=0, end=360):
        SmoothLine(circle=(x, y, r, start, end), width=self.stroke)

    def disc(self, x, y, r, start=0, end=360):
        SmoothEllipse(pos=(x - r, y - r), size=(2 * r, 2 * r), angle_start=start, angle_end=end)

    def stroke_through(self, *points, width=None):
        SmoothLine(points=points, width=width or self.stroke, cap="round", joint="round")

    def tick(self, x, y, r):
        self.stroke_through(
            x - 0.48 * r, y + 0.02 * r, x - 0.12 * r, y - 0.36 * r, x + 0.52 * r, y + 0.38 * r,
            width=max(self.stroke, 0.11 * r),
        )  # fmt: skip


class StateMark(Mark):
    """The state of a step by its shape alone.

    Filled disc with a tick: met. Empty ring: open. Broken ring: stale. Split ring: disputed. Ring
    with a bar: waived. Small ring with a dash inside: not applicable. The word stands beside it.
    """

    state = OptionProperty("open", options=STATES)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.fbind("state", self._again)

    def draw(self, x, y, r):
        self.use(self.fill_tone)
        self.disc(x, y, r)
        self.use("doubt" if self.state in ("stale", "disputed") else self.tone)
        getattr(self, f"_{self.state}")(x, y, r)

    def _met(self, x, y, r):
        self.disc(x, y, r)
        self.use(self.fill_tone or "ground")
        self.tick(x, y, r)

    def _open(self, x, y, r):
        self.ring(x, y, r)

    def _stale(self, x, y, r):
        for start in range(0, 360, 60):
            self.ring(x, y, r, start + 12, start + 48)

    def _disputed(self, x, y, r):
        apart = 0.2 * r
        SmoothLine(ellipse=(x - r - apart, y - r, 2 * r, 2 * r, 180, 360), width=self.stroke)
        SmoothLine(ellipse=(x - r + apart, y - r, 2 * r, 2 * r, 0, 180), width=self.stroke)
        for side in (-apart, apart):
            self.stroke_through(x + side, y - r, x + side, y + r)

    def _waived(self, x, y, r):
        self.ring(x, y, r)
        self.stroke_through(x - 0.62 * r, y - 0.62 * r, x + 0.62 * r, y + 0.62 * r)

    def _not_applicable(self, x, y, r):
        self.ring(x, y, 0.62 * r)
        self.stroke_through(x - 0.3 * r, y, x + 0.3 * r, y)


class ChoiceMark(Mark):
    """An empty ring for what could be chosen, a filled disc with a tick for what is."""

    chosen = BooleanProperty(False)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.fbind("chosen", self._again)

    def draw(self, x, y, r):
        self.use(self.tone)
        if not self.chosen:
            self.ring(x, y, r)
            return
        self.disc(x, y, r)
        self.use(self.fill_tone)
        self.tick(x, y, r)


class GradeMark(Mark):
    """Rising bars, as many filled as the grade: none filled for 'none', all for the highest."""

    grade = NumericProperty(0)
    highest = NumericProperty(2)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.fbind("grade", self._again)
        self.fbind("highest", self._again)

    def draw(self, x, y, r):
        self.use(self.tone)
        count = max(1, int(self.highest))
        apart = 0.24 * r
        width = (2 * r - apart * (count - 1)) / count
        for number in range(count):
            left = x - r + number * (width + apart)
            height = 2 * r * (number + 1) / count
            if number < self.grade:
                SmoothRectangle(pos=(left, y - r), size=(width, height))
            else:
                Line(rectangle=(left + 1, y - r + 1, width - 2, height - 2), width=dp(1))


class KindMark(Mark):
    """The kind of a message: crossed square for a refusal, triangle for a doubt, ring with an i for
    information, diamond for a caution, octagon for a stop."""

    kind = OptionProperty("", options=KINDS)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.fbind("kind", self._again)

    def draw(self, x, y, r):
        if not self.kind:
            return
        self.use({"doubt": "doubt", "stop": "stop_edge", "info": "working"}.get(self.kind, "ink"))
        getattr(self, f"_{self.kind}")(x, y, r)

    def _polygon(self, x, y, r, corners, turn=0.0):
        points = []
        for number in range(corners):
            angle = math.radians(turn + 360 * number / corners)
            points += [x + r * math.sin(angle), y + r * math.cos(angle)]
        SmoothLine(points=points, close=True, width=self.stroke, joint="round")

    def _exclamation(self, x, y, r):
        self.stroke_through(x, y + 0.42 * r, x, y - 0.12 * r)
        self.disc(x, y - 0.42 * r, self.stroke)

    def _refusal(self, x, y, r):
        s = 0.85 * r
        self._polygon(x, y, 1.2 * r, 4, 45)
        self.stroke_through(x - 0.45 * s, y - 0.45 * s, x + 0.45 * s, y + 0.45 * s)
        self.stroke_through(x - 0.45 * s, y + 0.45 * s, x + 0.45 * s, y - 0.45 * s)

    def _doubt(self, x, y, r):
        self._polygon(x, y - 0.2 * r, 1.15 * r, 3)
        self._exclamation(x, y - 0.18 * r, 0.8 * r)

    def _info(self, x, y, r):
        self.ring(x, y, r)
        self.stroke_through(x, y + 0.08 * r, x, y - 0.5 * r)
        self.disc(x, y + 0.46 * r, self.stroke)

    def _caution(self, x, y, r):
        self._polygon(x, y, 1.1 * r, 4)
        self._exclamation(x, y, 0.9 * r)

    def _stop(self, x, y, r):
        self._polygon(x, y, 1.05 * r, 8, 22.5)
        self.stroke_through(x - 0.5 * r, y, x + 0.5 * r, y, width=2 * self.stroke)


__all__ = ["ChoiceMark", "GradeMark", "KINDS", "KindMark", "Mark", "STATES", "StateMark"]
