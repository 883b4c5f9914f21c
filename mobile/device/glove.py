"""A finger in a thick glove: broad, a little off, and never quite still.

A gloved fingertip covers about 12 mm, so what the screen takes for its middle
wanders while it presses and need not be where the person aimed.  The sizes are
assumptions, `common practice`: no figure of a certain screen or glove.
"""

from __future__ import annotations

import random
from math import cos, pi, sin

from kivy.metrics import dp

from mobile.device import finding
from mobile.device.finger import Finger

#: One dp is 1/160 inch, whatever the screen.
DP_PER_MM = 160 / 25.4
CONTACT_MM = 12.0
#: How far the middle that the screen reports lies from where one aimed, and how
#: far it wanders while pressing: a quarter and an eighth of what the tip covers.
OFF_MM = CONTACT_MM / 4
WANDER_MM = CONTACT_MM / 8
_WANDERINGS = 3


class Glove(Finger):
    """Presses as a gloved finger does; ``seed`` makes its jitter repeatable."""

    def __init__(self, window, *, rest_s: float = 0.0, seed: int = 0) -> None:
        super().__init__(window, rest_s=rest_s)
        self._random = random.Random(seed)

    def press_at(self, point, *, hold_s: float = 0.0) -> None:
        """Press near a point and wander a little before lifting."""
        x, y = self._near(point, OFF_MM)
        self.drag([(x, y), *(self._near((x, y), WANDER_MM) for _ in range(_WANDERINGS))], hold_s=hold_s)

    def _centre_is_inside(self, widget, pane) -> bool:
        """What lies at the very edge of a pane is scrolled further in, as one does with a glove."""
        room = dp((OFF_MM + WANDER_MM) * DP_PER_MM)
        x, y = self._centre(widget)
        left, bottom, right, top = finding.window_box(pane)
        room_x, room_y = min(room, (right - left) / 2), min(room, (top - bottom) / 2)
        # At its ends a pane can't scroll further: what is wholly in sight is near enough.
        own = finding.window_box(widget)
        whole = left <= own[0] and bottom <= own[1] and own[2] <= right and own[3] <= top
        return whole or (
            left + room_x <= x <= right - room_x and bottom + room_y <= y <= top - room_y
        )

    def _near(self, point, most_mm: float) -> tuple[float, float]:
        away = dp(most_mm * DP_PER_MM) * self._random.random()
        around = 2 * pi * self._random.random()
        return point[0] + away * cos(around), point[1] + away * sin(around)
