"""Lines drawn by hand as paths in a frame of any size, for tablet, page and papers.

Whoever draws gives the frame's width and height in its own unit and gets the
lines through its points, x to the right and y up from the lower left corner.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Iterable

from shared_models.checks.strokes import ARROW, LINE, PAPER_WIDE, RING, Stroke
from shared_models.drawings.scene import Line, Scene

Point = tuple[float, float]
#: An arrow's head: its length as a part of the shaft, at most of the frame's width, and its half angle.
_HEAD_OF_SHAFT, _HEAD_OF_FRAME, _HEAD_ANGLE = 0.4, 0.06, math.radians(26)
_RING_CORNERS = 48


@dataclass(frozen=True)
class Path:
    """A line through points, ``width`` wide, all in the unit of the frame."""

    points: tuple[Point, ...]
    width: float


def paths_of(strokes: Iterable[Stroke], wide: float, high: float) -> list[Path]:
    """Return what strokes look like in a frame ``wide`` by ``high``."""
    return [
        Path(line, stroke.width * wide)
        for stroke in strokes for line in _lines(stroke, wide, high)
    ]


def _lines(stroke: Stroke, wide: float, high: float) -> list[tuple[Point, ...]]:
    points = tuple((x * wide, y * high) for x, y in stroke.points)
    if stroke.way == RING and len(points) > 1:
        return [_ring(points[0], points[-1])]
    if stroke.way == ARROW and len(points) > 1:
        return [(points[0], points[-1]), _head(points[0], points[-1], wide)]
    # A dot is a line too short to have a direction.
    return [points if len(points) > 1 else (points[0], points[0])]


def _ring(one: Point, other: Point) -> tuple[Point, ...]:
    middle = ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
    half = (abs(one[0] - other[0]) / 2, abs(one[1] - other[1]) / 2)
    turns = (2 * math.pi * n / _RING_CORNERS for n in range(_RING_CORNERS + 1))
    return tuple((middle[0] + half[0] * math.cos(t), middle[1] + half[1] * math.sin(t)) for t in turns)


def _head(tail: Point, tip: Point, wide: float) -> tuple[Point, ...]:
    shaft = math.dist(tail, tip)
    length = min(shaft * _HEAD_OF_SHAFT, wide * _HEAD_OF_FRAME)
    back = math.atan2(tail[1] - tip[1], tail[0] - tip[0])
    barbs = [
        (tip[0] + length * math.cos(back + turn), tip[1] + length * math.sin(back + turn))
        for turn in (-_HEAD_ANGLE, _HEAD_ANGLE)
    ]
    return (barbs[0], tip, barbs[1])


def signature_scene(strokes: Iterable[Stroke], says: str, pen_dp: float = 2.5) -> Scene:
    """Return a drawn signature on its paper, with the line it stands on."""
    wide, high = PAPER_WIDE * 100, 100.0
    line = Line(((8.0, 22.0), (wide - 8.0, 22.0)), "hairline", 1.0)
    drawn = [Line(path.points, "ink", pen_dp) for path in paths_of(strokes, wide, high)]
    return Scene(0.0, 0.0, wide, high, (line, *drawn), says=says)


__all__ = ["ARROW", "LINE", "RING", "Path", "paths_of", "signature_scene"]
