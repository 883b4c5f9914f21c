"""A large area that takes the moment a finger comes down, not when it is lifted."""

import time

from kivy.properties import BooleanProperty, StringProperty

from mobile.widgets import kv_beside
from mobile.widgets.surface import Surface


class TapArea(Surface):
    """Dispatches ``on_tap(moment_s)`` for each finger that comes down on it.

    ``moment_s`` is on the steady clock of :func:`time.monotonic`: the touch's own time stamp, so
    that a screen busy drawing does not make a step late. ``words`` say what to tap, ``small`` what
    stands there, ``count`` how often it was tapped. Nothing is asked of the finger after it came
    down: two thumbs may overlap, and a glove that stays on the glass is one tap.
    """

    __events__ = ("on_tap",)
    words = StringProperty("")
    small = StringProperty("")
    count = StringProperty("")
    held = BooleanProperty(False)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._fingers = set()

    def on_touch_down(self, touch):
        if not self.collide_point(*touch.pos) or getattr(touch, "is_mouse_scrolling", False):
            return super().on_touch_down(touch)
        # The wall clock is used over the few milliseconds since the touch only: it may be set at any time.
        waited_s = max(0.0, time.time() - touch.time_start)
        self._fingers.add(touch.uid)
        self.held = True
        self.dispatch("on_tap", time.monotonic() - waited_s)
        return True

    def on_touch_up(self, touch):
        self._fingers.discard(touch.uid)
        self.held = bool(self._fingers)
        return super().on_touch_up(touch)

    def on_tap(self, moment_s: float) -> None:
        """A finger came down at ``moment_s``."""


kv_beside.load(__file__)
