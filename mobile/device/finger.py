"""A finger and a keyboard for the tablet: touches and keys through the whole window pipeline.

The tests press the screens with it, and so does the rehearsal that a person can watch. It works on
the headless window and on a real one alike. A tap is only made where a person could make it: the
widget must be on the screen, inside every scrolling pane around it, not under an open sheet, not
disabled and, when it is a button, at least 56 dp in both directions.
"""

import time
from itertools import count

from kivy.base import EventLoop
from kivy.clock import Clock
from kivy.input.motionevent import MotionEvent
from kivy.metrics import dp
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.modalview import ModalView
from kivy.uix.scrollview import ScrollView

from mobile.device import finding
from mobile.device.finding import NotOnScreen
from mobile.device.typing_pace import moments

SMALLEST_TOUCH_DP = 56
_HAND_KEY_S, _SCANNER_KEY_S = 0.2, 0.008
_SCROLL_TRIES = 20
KEYS = {
    "backspace": 8, "tab": 9, "enter": 13, "escape": 27, "delete": 127,
    "up": 273, "down": 274, "right": 275, "left": 276, "home": 278, "end": 279,
}  # fmt: skip


class _Touch(MotionEvent):
    def __init__(self, *largs, **kwargs):
        super().__init__(*largs, is_touch=True, type_id="touch", **kwargs)

    def depack(self, args):
        self.sx, self.sy = args
        self.profile = ["pos"]
        super().depack(args)


class Finger:
    """One finger on ``window``; ``rest_s`` slows each action down for a person who watches."""

    def __init__(self, window, *, rest_s: float = 0.0):
        self.window = window
        self.rest_s = rest_s
        #: How often it was put down, and how many characters and keys it typed.
        self.taps = self.typed = 0
        self._numbers = count(1)

    # Looking

    def find(self, name: str, root=None):
        """The one widget with this ``test_name``, on the whole window unless a root is given."""
        return finding.find(root or self.window, name)

    def find_all(self, prefix: str = "", root=None) -> list:
        """All widgets whose ``test_name`` begins with ``prefix``."""
        return finding.find_all(root or self.window, prefix)

    def sees(self, words: str) -> bool:
        """Whether these words stand anywhere on the screen."""
        return words in finding.words_on(self.window)

    def is_there(self, name: str) -> bool:
        """Whether a widget of this name is on the screen."""
        return any(widget.test_name == name for widget in self.find_all(name))

    # Waiting

    def pump(self, frames: int = 2) -> None:
        """Let so many frames pass."""
        for _ in range(frames):
            EventLoop.idle()

    def settle(self, most_frames: int = 40) -> None:
        """Let frames pass until layout triggers have run; a bound keeps repeating timers out."""
        for _ in range(most_frames):
            self.pump(1)
            if not any(event.timeout <= 0 for event in Clock.get_events()):
                break
        self.pump(1)

    def wait_for(self, condition, *, most_s: float = 10.0, what: str = "the condition"):
        """Let frames pass until ``condition()`` is true, and return what it returned.

        For work on another thread. Raises :class:`NotOnScreen` when it stays untrue.
        """
        end = time.monotonic() + most_s
        while True:
            self.pump(1)
            result = condition()
            if result:
                return result
            if time.monotonic() > end:
                shown = finding.words_on(self.window)
                raise NotOnScreen(f"{what} did not come in {most_s:g} s; on the screen:\n{shown}")
            time.sleep(0.004)

    # Touching

    def tap(self, target, *, hold_s: float = 0.0) -> None:
        """Bring the widget (or the one so named) into view and press its centre.

        A widget with a ``touch_part`` is pressed there.
        """
        widget = self.find(target) if isinstance(target, str) else target
        widget = getattr(widget, "touch_part", widget)
        self.bring_into_view(widget)
        self.must_be_reachable(widget)
        self.press_at(self._centre(widget), hold_s=max(hold_s, self._needed_rest(widget)))

    def hold(self, target, seconds: float) -> None:
        """Press the widget and keep the finger down so long."""
        self.tap(target, hold_s=seconds)

    def press_at(self, point, *, hold_s: float = 0.0) -> None:
        """Press a point of the window, given in pixels."""
        self.drag([point], hold_s=hold_s)

    def drag(self, points, *, hold_s: float = 0.0) -> None:
        """Put the finger down at the first point, move it through the others and lift it.

        ``hold_s`` is the time the finger stays on the last point.
        """
        self.taps += 1
        touch = _Touch("finger", next(self._numbers), self._share(points[0]))
        EventLoop.post_dispatch_input("begin", touch)
        self.pump(1)
        for point in points[1:]:
            touch.move(self._share(point))
            EventLoop.post_dispatch_input("update", touch)
            self.pump(1)
        self._rest(hold_s)
        EventLoop.post_dispatch_input("end", touch)
        self.settle()
        self._rest(self.rest_s)

    def bring_into_view(self, widget) -> None:
        """Scroll every pane around the widget until its middle shows."""
        self.settle()
        panes = [p for p in finding.parents_of(widget) if isinstance(p, ScrollView)]
        for _ in range(_SCROLL_TRIES):
            outside = [p for p in panes if not self._centre_is_inside(widget, p)]
            if not outside:
                return
            # A pane whose content has just changed may still be coming to rest.
            for pane in outside:
                pane.scroll_to(widget, padding=dp(8), animate=False)
                self.settle()
                self._rest(0.01)

    def must_be_reachable(self, widget) -> None:
        """Raise :class:`NotOnScreen`, saying why, unless a finger could press this widget."""
        name = getattr(widget, "test_name", "") or type(widget).__name__
        if widget.get_parent_window() is None:
            raise NotOnScreen(f"{name} is not on the window")
        if widget.disabled:
            raise NotOnScreen(f"{name} is disabled")
        x, y = self._centre(widget)
        if not (0 <= x <= self.window.width and 0 <= y <= self.window.height):
            raise NotOnScreen(f"{name} lies outside the window, its centre at {x:.0f}, {y:.0f}")
        for parent in finding.parents_of(widget):
            if isinstance(parent, ScrollView) and not self._centre_is_inside(widget, parent):
                raise NotOnScreen(f"{name} is scrolled out of sight")
        self._must_not_be_covered(widget, name)
        if isinstance(widget, ButtonBehavior):
            must_be_large_enough(widget)

    # Typing

    def type(self, text: str) -> None:
        """Type text on a keyboard, as fast as a person can, into whatever has the focus."""
        self._type(text, _HAND_KEY_S)

    def scan(self, code: str) -> None:
        """Type a code and Enter behind it, as a barcode scanner does that poses as a keyboard."""
        self._type(code + "\r", _SCANNER_KEY_S)

    def _type(self, text: str, key_s: float) -> None:
        with moments.typing(key_s):
            for character in text:
                self.typed += 1
                moments.key()
                code = ord(character.lower()) if ord(character) < 128 else 0
                shown = None if character == "\r" else character
                self.window.dispatch("on_key_down", code, 0, shown, [])
                if shown:
                    self.window.dispatch("on_textinput", shown)
                self.window.dispatch("on_key_up", code, 0)
        self.settle()
        self._rest(self.rest_s)

    def key(self, name: str, *modifiers: str) -> None:
        """Press a key of :data:`KEYS`, such as ``'tab'`` or ``'backspace'``."""
        self.typed += 1
        code = KEYS[name]
        self.window.dispatch("on_key_down", code, 0, None, list(modifiers))
        self.window.dispatch("on_key_up", code, 0)
        self.settle()
        self._rest(self.rest_s)

    # Inside

    def _share(self, point):
        x, y = point
        return x / (self.window.width - 1), y / (self.window.height - 1)

    def _centre(self, widget):
        return widget.to_window(*widget.center)

    def _centre_is_inside(self, widget, pane) -> bool:
        x, y = self._centre(widget)
        left, bottom, right, top = finding.window_box(pane)
        return left <= x <= right and bottom <= y <= top

    def _needed_rest(self, widget) -> float:
        # A scrolling pane keeps a touch so long to see whether it becomes a drag.
        panes = [p for p in finding.parents_of(widget) if isinstance(p, ScrollView)]
        return sum(pane.scroll_timeout / 1000 + 0.015 for pane in panes)

    def _must_not_be_covered(self, widget, name: str) -> None:
        around = [widget, *finding.parents_of(widget)]
        for sheet in self.window.children:  # the topmost comes first
            if sheet in around:
                return
            if isinstance(sheet, ModalView):
                raise NotOnScreen(f"{name} lies under an open sheet")

    def _rest(self, seconds: float) -> None:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.pump(1)
            time.sleep(0.004)


def must_be_large_enough(widget) -> None:
    """Raise :class:`NotOnScreen` unless the widget is 56 dp or more in both directions."""
    # Half a pixel of grace: layouts share out widths in fractions.
    least = dp(SMALLEST_TOUCH_DP) - 0.5
    if widget.width < least or widget.height < least:
        name = getattr(widget, "test_name", "") or type(widget).__name__
        raise NotOnScreen(
            f"{name} is {widget.width:.0f} by {widget.height:.0f} px, less than "
            f"{SMALLEST_TOUCH_DP} dp for a finger"
        )
