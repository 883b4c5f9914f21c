"""Where widgets lie in the window, and how much of them is in sight."""

from __future__ import annotations

from typing import Iterator, NamedTuple

from kivy.uix.modalview import ModalView
from kivy.uix.scrollview import ScrollView

from mobile.device.finding import parents_of, window_box


class Box(NamedTuple):
    """A rectangle in window pixels."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def wide(self) -> float:
        """Its width, 0 when it is none."""
        return max(0.0, self.right - self.left)

    @property
    def high(self) -> float:
        """Its height, 0 when it is none."""
        return max(0.0, self.top - self.bottom)

    def meets(self, other: "Box") -> "Box":
        """Return what both have in common; without width or height when that is nothing."""
        return Box(
            max(self.left, other.left), max(self.bottom, other.bottom),
            min(self.right, other.right), min(self.top, other.top),
        )

    def holds(self, other: "Box", slack: float = 1.5) -> bool:
        """Whether the other lies within it, but for some pixels of rounding."""
        return (
            self.left <= other.left + slack and self.bottom <= other.bottom + slack
            and self.right >= other.right - slack and self.top >= other.top - slack
        )


def box_of(widget) -> Box:
    """Return where a widget lies, in sight or not."""
    return Box(*window_box(widget))


def shown(root) -> Iterator:
    """Every widget below ``root``, itself included, that is not made invisible, in drawing order."""
    if root.opacity == 0:
        return
    yield root
    for child in reversed(root.children):
        yield from shown(child)


def topmost(window):
    """Return what is on top: an open sheet over the dimmed page, else the page."""
    sheets = [child for child in window.children if isinstance(child, ModalView)]
    return sheets[0] if sheets else window.children[-1]


def scroll_of(widget) -> ScrollView | None:
    """Return the nearest pane that scrolls around a widget; None when nothing does."""
    return next((p for p in parents_of(widget) if isinstance(p, ScrollView)), None)


def in_sight(widget) -> Box:
    """Return the part of a widget that the panes around it let through."""
    box = box_of(widget)
    for around in parents_of(widget):
        if isinstance(around, ScrollView):
            box = box.meets(box_of(around))
    return box


def name_of(widget) -> str:
    """Return what to call a widget in a finding: its kind, its name, what stands on it."""
    said = str(getattr(widget, "plain_text", "") or getattr(widget, "text", "") or getattr(widget, "title", ""))
    name = getattr(widget, "test_name", "")
    parts = [type(widget).__name__, name, f"'{said[:48]}'" if said else ""]
    if not name:
        named = next((p.test_name for p in parents_of(widget) if getattr(p, "test_name", "")), "")
        parts.append(f"in {named}" if named else "")
    return " ".join(part for part in parts if part)
