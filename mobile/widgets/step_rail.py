"""The plumb line the steps of a fitting hang on; the bob marks where one is."""

from kivy.clock import Clock
from kivy.graphics import Rectangle, SmoothEllipse, SmoothRectangle, SmoothTriangle
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, OptionProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.scrollview import ScrollView

from mobile.widgets import kv_beside
from mobile.widgets.fonts import longest_word_width
from mobile.widgets.marks import STATES, StateMark
from mobile.widgets.surface import Column, Named, Row, SteadyScroll, Surface
from mobile.widgets.theme import theme


#: So many rows are made in one frame.
_AT_ONCE = 5


class StringPiece(StateMark):
    """A piece of the plumb line with the mark of one step, and the bob when one is at it.

    The string is thick as far as the bob and thin beyond it.
    """

    current = BooleanProperty(False)
    first = BooleanProperty(False)
    last = BooleanProperty(False)
    passed = BooleanProperty(False)
    """Whether the string runs on past this step to the bob further along."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("current", "first", "last", "passed"):
            self.fbind(name, self._again)

    def string(self, x, y, to_x, to_y, *, taut: bool) -> None:
        """A length of string, taut above the bob, a mere guide beyond it."""
        self.use("ink" if taut else "hairline")
        half = dp(1.25) if taut else dp(0.75)
        left, right = sorted((x, to_x))
        low, high = sorted((y, to_y))
        if left == right:
            Rectangle(pos=(left - half, low), size=(2 * half, high - low))
        else:
            Rectangle(pos=(left, low - half), size=(right - left, 2 * half))

    def bob(self, x: float, hung_from: float) -> None:
        """The plumb bob, its point 45 dp below where it hangs from."""
        half, shoulder, tip = dp(8), hung_from - dp(16), hung_from - dp(45)
        self.use("ink")
        Rectangle(pos=(x - dp(1.25), shoulder), size=(dp(2.5), hung_from - shoulder))
        collar = dp(3.5)
        SmoothRectangle(pos=(x - collar, shoulder), size=(2 * collar, dp(6)))
        SmoothEllipse(pos=(x - half, shoulder - half - dp(1)), size=(2 * half, 2 * half))
        base = shoulder - dp(3.5)
        SmoothTriangle(points=(x - 0.96 * half, base, x + 0.96 * half, base, x, tip))


class DownPiece(StringPiece):
    """A piece of the line that runs down; the bob hangs under the current step."""

    def draw(self, x, _y, _r):
        r = dp(11)
        y = self.top - dp(30) if self.current else self.center_y
        if not self.first:
            self.string(x, self.top, x, y, taut=self.passed or self.current)
        if not self.last:
            below = y - dp(58) if self.current else y
            self.string(x, below, x, self.y, taut=self.passed)
        if self.current:
            self.bob(x, y - r)
        super().draw(x, y, r)


class AcrossPiece(StringPiece):
    """A piece of the line that runs across; the bob hangs from it under the current step."""

    def draw(self, x, _y, _r):
        r = dp(11)
        y = self.top - dp(16)
        if not self.first:
            self.string(self.x, y, x, y, taut=self.passed or self.current)
        if not self.last:
            self.string(x, y, self.right, y, taut=self.passed)
        if self.current:
            self.bob(x, y - r)
        super().draw(x, y, r)


class _OnTheLine:
    """What a step on the line shows, whichever way the line runs."""

    narrow = BooleanProperty(False)
    key = StringProperty("")
    title = StringProperty("")
    state_of_step = OptionProperty("open", options=STATES)
    state_word = StringProperty("")
    current = BooleanProperty(False)
    asks_why = BooleanProperty(False)
    first = BooleanProperty(False)
    last = BooleanProperty(False)
    passed = BooleanProperty(False)


class DownStep(ButtonBehavior, _OnTheLine, Row):
    """A step on the line that runs down, in landscape."""


class AcrossStep(ButtonBehavior, _OnTheLine, Surface):
    """A step on the line that runs across, in portrait."""


class DownLine(Column):
    """The steps one below the other."""


class AcrossLine(Surface):
    """The steps side by side."""


class StepRail(SteadyScroll, Named, ScrollView):
    """The steps with their states, scrolled to the current one.

    ``steps`` is a list of dicts with ``key``, ``title``, ``state`` (one of
    :data:`mobile.widgets.marks.STATES`) and ``state_word``; ``current`` the key of the step one is
    at. ``direction`` is ``'down'`` (landscape) or ``'across'`` (portrait). A press dispatches
    ``on_choose(key)``. The rows are called ``step_rail:<key>``. It sets its own width when it runs
    down, its own height when it runs across.
    """

    __events__ = ("on_choose",)
    steps = ListProperty([])
    current = StringProperty("")
    direction = OptionProperty("down", options=["down", "across"])
    narrow = BooleanProperty(False)
    """Marks and bob only, where the line runs down and its page needs the room."""

    more_before = BooleanProperty(False)
    more_after = BooleanProperty(False)
    """Whether steps lie out of sight before or after those shown."""

    def __init__(self, **kwargs):
        self._make = Clock.create_trigger(self._make_steps, -1)
        self._make_more = Clock.create_trigger(self._go_on_making, 0)
        super().__init__(**kwargs)
        self._made = []
        self.fbind("steps", self._make)
        self.fbind("direction", self._make)
        self.fbind("narrow", self._make_narrow)
        self.fbind("current", self._mark_current)
        self.fbind("size", self._to_current)
        for name in ("scroll_x", "scroll_y", "size", "viewport_size"):
            self.fbind(name, self._look_further)
        theme.bind(font_scale=self._size_across)
        self._make_steps()

    def on_choose(self, key: str) -> None:
        """A person pressed the step called ``key``."""

    def _make_steps(self, *_args):
        keys = [step["key"] for step in self.steps]
        if (keys, self.direction) != getattr(self, "_built", None):
            self._build(keys)
        self._show_steps()

    def _go_on_making(self, _dt):
        self._add_rows()
        self._show_steps()

    def _show_steps(self):
        for widget, step in zip(self._made, self.steps):
            widget.title = step["title"]
            widget.state_of_step = step["state"]
            widget.state_word = step["state_word"]
        self._size_across()
        self._mark_current()

    def _make_narrow(self, *_args):
        for widget in self._made:
            widget.narrow = self.narrow
        self._size_across()

    def _build(self, keys):
        self.clear_widgets()
        down = self.direction == "down"
        line = DownLine() if down else AcrossLine()
        self._made = []
        self.do_scroll_x, self.do_scroll_y = not down, down
        self.add_widget(line)
        if not down:
            line.fbind("height", self._size_across)
        self._size_across()
        self._built = (keys, self.direction)
        self._add_rows()

    def _add_rows(self):
        """Add the next rows, a few in each frame so that no frame is felt."""
        keys, direction = self._built
        line = self.children[0]
        for number in range(len(self._made), min(len(self._made) + _AT_ONCE, len(keys))):
            widget = (DownStep if direction == "down" else AcrossStep)(
                key=keys[number],
                narrow=self.narrow,
                test_name=f"step_rail:{keys[number]}",
                first=number == 0,
                last=number == len(keys) - 1,
            )
            widget.fbind("on_release", self._choose)
            line.add_widget(widget)
            self._made.append(widget)
        if len(self._made) < len(keys):
            self._make_more()

    def _size_across(self, *_args):
        if self.direction == "across":
            self.size_hint = (1, None)
            self.height = self.children[0].height if self.children else theme.touch
        else:
            self.size_hint = (None, 1)
            self.width = dp(74) if self.narrow else max(dp(292) * (0.5 + 0.5 * theme.font_scale), self._whole_words)

    @property
    def _whole_words(self) -> float:
        """Pixels at which no title or state has a word broken: bold as the current one, with mark and edges."""
        size = theme.type_size("body")
        longest = max((longest_word_width(f"{step['title']} {step['state_word']}", size, bold=True) for step in self.steps), default=0)
        return longest + dp(20 + 34 + 14 + 12 + 2)

    def _choose(self, widget):
        self.dispatch("on_choose", widget.key)

    def _mark_current(self, *_args):
        keys = [widget.key for widget in self._made]
        at = keys.index(self.current) if self.current in keys else -1
        for number, widget in enumerate(self._made):
            widget.current = number == at
            widget.passed = number < at
            # The last is a page of its own, which says why by itself.
            widget.asks_why = number == at and not widget.last
        self._to_current()

    def point(self, before: bool, x, y, right, top) -> list:
        """The corners of the mark for 'there is more that way', at the edge it points to."""
        half, high = dp(9), dp(9)
        if self.direction == "down":
            middle = right - dp(22)
            edge, inner = (top - dp(4), top - dp(4) - high) if before else (y + dp(4), y + dp(4) + high)
            return [middle - half, inner, middle + half, inner, middle, edge]
        middle = top - dp(18)
        edge, inner = (x + dp(4), x + dp(4) + high) if before else (right - dp(4), right - dp(4) - high)
        return [inner, middle - half, inner, middle + half, edge, middle]

    def _look_further(self, *_args):
        line = self.children[0] if self.children else None
        down = self.direction == "down"
        spare = 0 if line is None else (line.height - self.height if down else line.width - self.width)
        seen = (1 - self.scroll_y if down else self.scroll_x) * max(spare, 0)
        self.more_before, self.more_after = seen > dp(8), spare - seen > dp(8)

    def _to_current(self, *_args):
        # Two frames: the first lays the rows out, the second knows their heights.
        Clock.schedule_once(lambda _dt: Clock.schedule_once(self._scroll, 0), 0)

    def _scroll(self, _dt):
        for widget in self._made:
            if widget.current and widget.get_parent_window() is not None:
                self._bring_to_middle(widget)

    def _bring_to_middle(self, widget):
        line = self.children[0]
        spare_x, spare_y = line.width - self.width, line.height - self.height
        if self.direction == "across" and spare_x > 0:
            wanted = (widget.center_x - line.x - self.width / 2) / spare_x
            self.scroll_x = min(1, max(0, wanted))
        elif self.direction == "down" and spare_y > 0:
            wanted = (widget.center_y - line.y - self.height / 2) / spare_y
            self.scroll_y = min(1, max(0, wanted))
        else:
            self.scroll_x, self.scroll_y = 0, 1


kv_beside.load(__file__)
