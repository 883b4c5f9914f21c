"""A range of positions as a bar: what is too low, what may be right, what is too high."""

from kivy.graphics import Line, Rectangle
from kivy.metrics import dp
from kivy.properties import NumericProperty, ObjectProperty, StringProperty
from kivy.uix.widget import Widget

from mobile.widgets import kv_beside
from mobile.widgets.marks import Mark
from mobile.widgets.surface import Column, Words


class Stretch(Mark):
    """The bar itself; lengths are in the unit of the positions."""

    lowest = NumericProperty(0)
    highest = NumericProperty(1)
    step = NumericProperty(1)
    low = ObjectProperty(None, allownone=True)
    high = ObjectProperty(None, allownone=True)
    here = ObjectProperty(None, allownone=True)
    there = ObjectProperty(None, allownone=True)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("lowest", "highest", "step", "low", "high", "here", "there"):
            self.fbind(name, self._again)

    def at(self, position: float) -> float:
        """The x in pixels of the middle of a position; a position is one smallest step wide."""
        whole = self.highest - self.lowest + self.step
        return self.x + self.width * (position - self.lowest + self.step / 2) / whole

    def draw(self, x: float, y: float, r: float) -> None:
        """Out: a hatched ground; maybe: the working colour; here and there: a bar and a ring."""
        half = self.width * self.step / (self.highest - self.lowest + self.step) / 2
        left = self.x if self.low is None else self.at(float(self.low)) + half
        right = self.right if self.high is None else self.at(float(self.high)) - half
        self.use("hairline")
        Rectangle(pos=self.pos, size=self.size)
        self.use("working_soft")
        if right > left:
            Rectangle(pos=(left, self.y), size=(right - left, self.height))
        self.use("ink")
        for edge in (left, right):
            if self.x < edge < self.right:
                self.stroke_through(edge, self.y, edge, self.top)
        self._hatch(self.x, left)
        self._hatch(right, self.right)
        Line(rectangle=(self.x, self.y, self.width, self.height), width=self.stroke)
        if self.here is not None:
            at = self.at(float(self.here))
            self.stroke_through(at, self.y, at, self.top, width=dp(3))
        if self.there is not None and self.there != self.here:
            self.use("working")
            self.disc(self.at(float(self.there)), self.center_y, self.height * 0.32)

    def _hatch(self, left: float, right: float) -> None:
        """Slanting strokes: what is out is told without colour too."""
        self.use("ink_soft")
        gap, x = dp(12), left
        while x + self.height < right:
            Line(points=[x, self.y, x + self.height, self.top], width=1)
            x += gap


class PlacedWords(Widget):
    """Words centred on an x within the width there is; as high as they are."""

    text = StringProperty("")
    middle = NumericProperty(0)
    tone = StringProperty("ink")

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.words = Words(fit=True, role="small", bold=True)
        self.add_widget(self.words)
        for name in ("text", "middle", "pos", "size", "tone"):
            self.fbind(name, self._place)
        self.words.fbind("size", self._place)
        self._place()

    def _place(self, *_args):
        words = self.words
        words.text, words.tone = self.text, self.tone
        self.height = words.height if self.text else 0
        left = min(max(self.middle - words.width / 2, self.x), max(self.x, self.right - words.width))
        words.pos = (left, self.y)


class RangeBar(Column):
    """``lowest`` to ``highest`` in ``step``; ``low``: too low up to there, ``high``: too high from
    there (None where nothing is known); ``here``: where it stands, ``there``: where to go next.

    ``here_words`` and ``there_words`` stand above and below the bar at their places; ``words`` under
    it say the same as the bar.
    """

    lowest = NumericProperty(0)
    highest = NumericProperty(1)
    step = NumericProperty(1)
    low = ObjectProperty(None, allownone=True)
    high = ObjectProperty(None, allownone=True)
    here = ObjectProperty(None, allownone=True)
    there = ObjectProperty(None, allownone=True)
    here_words = StringProperty("")
    there_words = StringProperty("")
    low_words = StringProperty("")
    maybe_words = StringProperty("")
    high_words = StringProperty("")

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("lowest", "highest", "step", "here", "there"):
            self.fbind(name, self._place)
        self.ids.stretch.fbind("pos", self._place)
        self.ids.stretch.fbind("size", self._place)
        self._place()

    def _place(self, *_args):
        stretch = self.ids.stretch
        for words, position in ((self.ids.above, self.here), (self.ids.below, self.there)):
            words.middle = stretch.at(float(position)) if position is not None else stretch.x


kv_beside.load(__file__)
