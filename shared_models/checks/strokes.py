"""Lines drawn by hand as a record holds them: whole numbers in a unit square.

A stroke is ``{"as": "line", "width": 60, "points": [x, y, x, y, ...]}``: points
in ten-thousandths of the frame, x to the right and y up, from its lower left
corner; the width of the line in ten-thousandths of the frame's width.  As
``line`` it goes through all its points, as ``arrow`` from the first to the tip
at the last, as ``ring`` it fits the box between its first and last point.  So
a drawing is the same at any size, on the tablet, the page and on paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Iterable, Mapping

from shared_models.quantities.refusals import Refusal

#: A frame is so many units wide and high: finer than any finger or screen.
UNITS = 10_000
#: A signature's paper is so many times as wide as it is high.
PAPER_WIDE = 2.5
LINE, ARROW, RING = "line", "arrow", "ring"
WAYS = (LINE, ARROW, RING)
#: What is kept of one drawing: minutes of writing without lifting the hand.
MOST_STROKES, MOST_POINTS = 200, 2500
_NAMES = {"as", "width", "points"}


@dataclass(frozen=True)
class Stroke:
    """One line drawn without lifting the hand; shares of the frame, 0 to 1."""

    points: tuple[tuple[float, float], ...]
    width: float = 0.006
    way: str = LINE


def strokes_body(strokes: Iterable[Stroke]) -> list[dict[str, Any]]:
    """Return strokes as a record holds them; raise Refusal ``too_much_drawn``."""
    kept = [
        {
            "as": stroke.way, "width": max(1, _units(stroke.width)),
            "points": [_units(n) for point in stroke.points for n in point],
        }
        for stroke in strokes if stroke.points
    ]
    if len(kept) > MOST_STROKES or sum(len(s["points"]) for s in kept) > 2 * MOST_POINTS:
        raise Refusal("too_much_drawn")
    return kept


def strokes_from(body: object) -> tuple[Stroke, ...]:
    """Return the strokes that a record holds; () for what is none."""
    if not are_strokes(body):
        return ()
    return tuple(_stroke(item) for item in body)  # type: ignore[attr-defined]


def are_strokes(value: object) -> bool:
    """Tell whether a value has the form of strokes, within what is kept."""
    return (
        isinstance(value, (list, tuple)) and len(value) <= MOST_STROKES
        and all(_is_stroke(item) for item in value)
        and sum(len(item["points"]) for item in value) <= 2 * MOST_POINTS
    )


def _is_stroke(item: object) -> bool:
    if not isinstance(item, Mapping) or set(item) != _NAMES or item["as"] not in WAYS:
        return False
    points = item["points"]
    return (
        isinstance(points, (list, tuple)) and len(points) >= 2 and len(points) % 2 == 0
        and all(_is_unit(n) for n in points) and _is_unit(item["width"]) and item["width"] > 0
    )


def _is_unit(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= UNITS


def _stroke(item: Mapping[str, Any]) -> Stroke:
    numbers = [n / UNITS for n in item["points"]]
    return Stroke(tuple(zip(numbers[::2], numbers[1::2])), item["width"] / UNITS, item["as"])


def _units(share: float) -> int:
    return min(max(round(share * UNITS), 0), UNITS)
