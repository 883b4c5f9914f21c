"""How a journey is walked: which way up, with what finger, in which light, how large the type.

Every journey keeps the same way from run to run, taken from its own name, so
that all of them together are walked in all ways and each one stays repeatable.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass

LANDSCAPE, PORTRAIT = (1280, 800), (800, 1280)


@dataclass(frozen=True)
class Way:
    """One way of using the tablet."""

    size: tuple[int, int] = LANDSCAPE
    gloved: bool = False
    theme: str = "sun"
    type_scale: float = 1.0

    def __str__(self) -> str:
        up = "landscape" if self.size == LANDSCAPE else "portrait"
        hand = "gloved" if self.gloved else "bare finger"
        return f"{up}, {hand}, {self.theme}, type at {self.type_scale:.0%}"


PLAIN = Way()
WAYS = tuple(
    Way(size, gloved, theme, type_scale)
    for size in (LANDSCAPE, PORTRAIT) for gloved in (False, True)
    for theme in ("sun", "dim") for type_scale in (1.0, 1.5)
)


def way_of(name: str) -> Way:
    """Return the way in which a journey of this name is walked."""
    return WAYS[zlib.crc32(name.encode()) % len(WAYS)]


def assert_in_sight(widget):
    """Fail unless the whole of a field, with its label, lies within the pane that scrolls it."""
    from kivy.uix.scrollview import ScrollView

    pane = widget.parent
    while not isinstance(pane, ScrollView):
        pane = pane.parent
    bottom, top = (widget.to_window(0, y)[1] for y in (widget.y, widget.top))
    lowest, highest = (pane.to_window(0, y)[1] for y in (pane.y, pane.top))
    assert lowest - 1 <= bottom and top <= highest + 1, (lowest, bottom, top, highest)
