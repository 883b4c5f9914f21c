"""The panel of practice: what is said and read, and a figure that walks when asked to."""

import time
from typing import Callable

from kivy.clock import Clock
from kivy.graphics import StencilPop, StencilPush, StencilUnUse, StencilUse, Color, Rectangle
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty

from mobile.widgets import kv_beside
from mobile.widgets.banner import LeadWords
from mobile.widgets.buttons import MainButton, PlainButton
from mobile.widgets.drawing import DrawingView
from mobile.widgets.listing import SettingCells
from mobile.widgets.surface import Column, Page, Row
from mobile.widgets.theme import theme

FRAMES_A_SECOND = 30
HALF_PACE = 0.5


class MotionView(DrawingView):
    """A drawing that changes many times a second; what reaches beyond its place is not shown."""

    def _redraw(self, *_args) -> None:
        self.canvas.clear()
        if self.scene is None or self.width < 2 or self.height < 2:
            return
        with self.canvas:
            Color(*theme.colour("field"))
            Rectangle(pos=self.pos, size=self.size)
            StencilPush()
            Rectangle(pos=self.pos, size=self.size)
            StencilUse()
            for shape in self.scene.shapes:
                getattr(self, f"_draw_{type(shape).__name__.lower()}")(shape)
            StencilUnUse()
            Rectangle(pos=self.pos, size=self.size)
            StencilPop()


class Walk:
    """What a walk is made of, as plain data: a scene at any moment, and contacts to be tapped.

    ``contacts``: moment in s within a stride and the side that comes down.
    """

    def __init__(
        self, scene_at: Callable[[float], object], period_s: float, strides: int,
        contacts: tuple[tuple[float, str], ...] = (),
    ) -> None:
        self.scene_at, self.period_s, self.strides = scene_at, period_s, strides
        self.contacts = contacts

    @property
    def lasts_s(self) -> float:
        """How long all strides take at full pace, in s."""
        return self.period_s * self.strides

    def contacts_between(self, first_s: float, last_s: float) -> list[tuple[float, str]]:
        """Return the contacts after ``first_s`` and up to ``last_s``."""
        found, stride = [], max(int(first_s // self.period_s), 0)
        while stride * self.period_s <= last_s:
            for within_s, side in self.contacts:
                at_s = stride * self.period_s + within_s
                if first_s < at_s <= last_s and at_s <= self.lasts_s:
                    found.append((at_s, side))
            stride += 1
        return found


class Walkway(Row):
    """``lines`` of (lead, text), buttons, and beside them the figure while there is a walk.

    Give it a :class:`Walk` by :meth:`take`; the figure comes with :meth:`start`. It dispatches
    ``on_start()``, ``on_contact(side, moment_s)`` (on the steady clock), ``on_walked()`` after the
    last stride. Its timer ends by itself when it is no longer on the screen.
    """

    __events__ = ("on_start", "on_walked", "on_contact")
    lines = ListProperty([])
    walking = BooleanProperty(False)
    most_height = NumericProperty(dp(320))
    """How high figure and words may be, in pixels."""
    now_s = staticmethod(time.monotonic)
    """The steady clock the figure walks by."""
    pace = NumericProperty(1.0)
    hushed = BooleanProperty(False)
    """Whether only the buttons are shown, where there is no room for words."""

    def __init__(self, **kwargs):
        self.walk: Walk | None = None
        self.elapsed_s = 0.0
        self.strides_done = 0
        self._timer = None
        self._seen_s = 0.0
        self._is_beside = False
        super().__init__(**kwargs)
        self.view = MotionView(test_name="walkway:figure", size_hint_y=None)
        self.words, self.doors = Column(spacing=dp(6), padding=[0, 0, dp(8), 0]), SettingCells()
        self.scroll = Page(size_hint_y=None)
        self.scroll.add_widget(self.words)
        self.beside = Column(spacing=dp(8), pos_hint={"top": 1})
        self._arrange()
        for thing, name in ((self.words, "height"), (self.doors, "height"), (self, "most_height"), (self, "hushed")):
            thing.fbind(name, self._fit)
        self.fbind("lines", self._write)
        self.fbind("width", self._fit)
        self._write()

    # What is asked and said ----------------------------------------------------------

    def on_start(self) -> None:
        """The figure began to walk from the first stride."""

    def on_walked(self) -> None:
        """All strides are walked."""

    def on_contact(self, side: str, moment_s: float) -> None:
        """A foot came down."""

    def door(self, text: str, act: Callable[[], None], test_name: str, main: bool = False) -> PlainButton:
        """Add a button."""
        button = (MainButton if main else PlainButton)(text=text, fit=True, test_name=test_name)
        button.fbind("on_release", lambda *_: act())
        self.doors.add_widget(button)
        if self._is_beside and self.doors.parent is None:
            self.add_widget(self.doors)
        return button

    def clear_doors(self) -> None:
        """Take every button away."""
        self.doors.clear_widgets()
        if self._is_beside and self.doors.parent is not None:
            self.remove_widget(self.doors)

    def _write(self, *_args) -> None:
        self.words.clear_widgets()
        for number, (lead, text) in enumerate(self.lines):
            self.words.add_widget(LeadWords(lead=lead, after=text, test_name=f"practice:line:{number}"))
        self._fit()

    def _arrange(self, shown: bool = False) -> None:
        """Beside the figure words stand over the buttons; without it, where it is wide, next to them."""
        self.clear_widgets()
        for part in (self.beside, self.scroll, self.doors):
            part.clear_widgets() if part is self.beside else part.parent and part.parent.remove_widget(part)
        self._is_beside = not shown and self.is_wide
        if shown:
            self.add_widget(self.view)
        if self._is_beside:
            self.scroll.pos_hint = self.doors.pos_hint = {"top": 1}
            self.scroll.size_hint_x, self.doors.size_hint_x = 0.6, 0.4
            self.add_widget(self.scroll)
            if self.doors.children:
                self.add_widget(self.doors)
        else:
            self.scroll.size_hint_x = self.doors.size_hint_x = 1
            self.beside.add_widget(self.scroll)
            self.beside.add_widget(self.doors)
            self.add_widget(self.beside)
        self._fit()

    @property
    def is_wide(self) -> bool:
        """Whether words and buttons have room side by side."""
        return self.width > dp(1000)

    def _fit(self, *_args) -> None:
        if self._is_beside != (not self.is_shown and self.is_wide):
            self._arrange(self.is_shown)
            return
        doors = 0 if self._is_beside else self.doors.height
        left = self.most_height - doors - dp(24)
        self.scroll.height = 0 if self.hushed else min(self.words.height, max(left, dp(48)))
        self.scroll.opacity = 0 if self.hushed else 1
        self.view.height = max(self.most_height - dp(16), 1)
        for button in self.doors.children:
            button.most_width = max(self.doors.width, theme.touch)

    # Walking -------------------------------------------------------------------------

    def take(self, walk: Walk | None) -> None:
        """Take another walk; its figure is put away until it starts or is shown."""
        self.stop()
        self.put_away()
        self.walk, self.elapsed_s, self.strides_done = walk, 0.0, 0
        if walk is not None:
            self.view.scene = walk.scene_at(0.0)

    @property
    def is_shown(self) -> bool:
        """Whether the figure is to be seen."""
        return self.view.parent is not None

    def show(self) -> None:
        """Show the figure as it stands."""
        if self.walk is not None and not self.is_shown:
            self._arrange(shown=True)

    def put_away(self) -> None:
        """Take the figure away and stop it; the words and buttons stay."""
        self.stop()
        if self.is_shown:
            self._arrange()

    def start(self) -> None:
        """Walk all strides from the first."""
        if self.walk is None:
            return
        self.show()
        self.elapsed_s, self.strides_done = 0.0, 0
        self.dispatch("on_start")
        self.go_on()

    def go_on(self) -> None:
        """Walk on from where the figure stands."""
        if self.walk is None or self._timer is not None:
            return
        self.show()
        self._seen_s = self.now_s()
        self._timer = Clock.schedule_interval(self._frame, 1 / FRAMES_A_SECOND)
        self.walking = True

    def stop(self) -> None:
        """Stand still; nothing is scheduled any more."""
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        self.walking = False

    def _frame(self, _dt) -> None:
        if self.get_parent_window() is None or self.walk is None:
            self.stop()
            return
        now_s = self.now_s()
        self.advance((now_s - self._seen_s) * self.pace, now_s)
        self._seen_s = now_s

    def advance(self, by_s: float, now_s: float) -> None:
        """Let so much of the walk pass; ``now_s`` is the moment on the steady clock."""
        walk, before_s = self.walk, self.elapsed_s
        self.elapsed_s = min(before_s + by_s, walk.lasts_s)
        self.strides_done = int(self.elapsed_s / walk.period_s + 1e-9)
        for at_s, side in walk.contacts_between(before_s, self.elapsed_s):
            self.dispatch("on_contact", side, now_s - (self.elapsed_s - at_s) / self.pace)
        self.view.scene = walk.scene_at(self.elapsed_s)
        if self.elapsed_s >= walk.lasts_s:
            self.stop()
            self.dispatch("on_walked")


kv_beside.load(__file__)
