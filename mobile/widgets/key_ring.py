"""The ring of the keyboard: Tab goes through fields and buttons alike, Enter presses.

One walker for the whole window instead of a focus in each button: a button that took the focus
would take it from the figure in hand whenever a key of our own keypad is pressed.
"""

from __future__ import annotations

from kivy.core.window import Window
from kivy.graphics import Color, InstructionGroup, Line
from kivy.metrics import dp
from kivy.uix.behaviors import ButtonBehavior, FocusBehavior
from kivy.uix.modalview import ModalView

from mobile.device.typing_pace import Pace
from mobile.widgets import focus_order
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.theme import theme

TAB, ENTER, NUMPAD_ENTER, SPACE = 9, 13, 271, 32
_ARROWS = {273: -1, 276: -1, 274: 1, 275: 1}
#: Two lines, one on the other: wherever the ring lies one of them shows, on the dark header and the main button too.
RING_TONES = ("ground", "working")
#: Keys of the pads are left out: whoever has a keyboard types on it.
_PAD_KEYS = ("key:", "pin:")


class KeyRing:
    """Walks the window's topmost sheet or page; ``close`` lets go of the window."""

    def __init__(self) -> None:
        self.at = None
        self._pace = Pace()
        self._drawn = InstructionGroup()
        Window.canvas.after.add(self._drawn)
        Window.fbind("on_key_down", self._key)
        Window.fbind("on_touch_down", self._leave)
        Window.fbind("on_flip", self._follow)
        focus_order.walk = self

    def close(self) -> None:
        """Let go of the window."""
        self._leave()
        Window.canvas.after.remove(self._drawn)
        Window.funbind("on_key_down", self._key)
        Window.funbind("on_touch_down", self._leave)
        Window.funbind("on_flip", self._follow)
        if focus_order.walk is self:
            focus_order.walk = None

    # Walking ------------------------------------------------------------------

    def stops(self) -> list:
        """Everything the ring can stand on, in the order in which it is read."""
        top = next((c for c in Window.children if isinstance(c, ModalView)), None)
        roots = [top] if top is not None else list(reversed(Window.children))
        return [w for root in roots for w in _in_order(root) if _is_stop(w)]

    def go(self, by: int) -> None:
        """Go on by so many stops, round to the first from the last."""
        stops = self.stops()
        if not stops:
            return
        held = self.at if self.at in stops else next((w for w in stops if getattr(w, "focus", False)), None)
        number = stops.index(held) + by if held is not None else (0 if by > 0 else -1)
        self._stand_on(stops[number % len(stops)])

    def _stand_on(self, widget) -> None:
        for other in self.stops():
            if isinstance(other, FocusBehavior) and other.focus and other is not widget:
                other.focus = False
        self.at = None
        if isinstance(widget, FocusBehavior):
            widget.focus = True  # its own frame shows that it is in hand
        else:
            self.at = widget
            focus_order.bring_into_sight(widget)

    def _key(self, _window, key, _scancode=0, _text=None, modifiers=()) -> bool:
        if key == TAB:
            self.go(-1 if "shift" in modifiers else 1)
            return True
        if self.at is None or self.at.get_parent_window() is None:
            return False
        if SPACE < key < 127:
            self._pace.note(None)
        if key in (ENTER, NUMPAD_ENTER) and self._pace.ends_scan():
            return True  # nobody pressed it: a scanner types Enter behind each code
        if key in (ENTER, NUMPAD_ENTER, SPACE):
            self.at.dispatch("on_press")
            self.at.dispatch("on_release")
            return True
        if key in _ARROWS and _choice_of(self.at) is not None:
            cells = [w for w in self.stops() if _choice_of(w) is _choice_of(self.at)]
            if self.at in cells:
                self._stand_on(cells[(cells.index(self.at) + _ARROWS[key]) % len(cells)])
            return True
        return False

    # Showing ------------------------------------------------------------------

    def _leave(self, *_args) -> bool:
        self.at = None
        return False

    def _follow(self, *_args) -> None:
        """Draw the ring where its widget is now."""
        at = self.at
        place = None
        if at is not None and at.get_parent_window() is not None:
            place = (*at.to_window(at.x, at.y), at.width, at.height, theme.name)
        if place == getattr(self, "_place", None):
            return
        self._place = place
        self._drawn.clear()
        if place is None:
            return
        x, y, width, height, _ = place
        for tone, thick in zip(RING_TONES, (dp(4), dp(2.2)), strict=True):
            self._drawn.add(Color(rgba=theme.colour(tone)))
            self._drawn.add(Line(rectangle=(x + dp(2), y + dp(2), width - dp(4), height - dp(4)), width=thick))


def _in_order(widget):
    yield widget
    for child in reversed(widget.children):
        yield from _in_order(child)


def _is_stop(widget) -> bool:
    if getattr(widget, "disabled", False) or not widget.width or not widget.height:
        return False
    if isinstance(widget, FocusBehavior):
        return widget.is_focusable
    name = getattr(widget, "test_name", "")
    pressable = isinstance(widget, ButtonBehavior) and getattr(widget, "pressable", True)
    return pressable and not name.startswith(_PAD_KEYS)


def _choice_of(widget):
    row = getattr(widget, "row", None)
    return row if isinstance(row, ChoiceRow) else None
