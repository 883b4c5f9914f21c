"""Small shapes that several drawings are made of: arrows, a plumb bob, lines cut at a frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.drawings.scene import Area, Disc, Line, Point, Shape


#: About how wide a letter is, as a part of the height of its line.
_LETTER = 0.44


@dataclass(frozen=True)
class Room:
    """The place a drawing is shown in, as far as a drawing must know it.

    ``wide``: its width as a part of its height.  ``line``: the height of a line
    of body type as a part of its height, so that words find room however large
    the type is set.
    """

    wide: float
    line: float = 0.05


def wrapped(text: str, width: float, line: float) -> str:
    """Return words broken into lines of about ``width``, both in the unit of the height of a line."""
    lines: list[str] = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, line) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return "\n".join(lines)


def text_width(text: str, line: float) -> float:
    """Return about how wide the longest line of a text is."""
    return max(len(part) for part in text.split("\n")) * _LETTER * line


def arrow(start: Point, end: Point, head: float, tone: str = "ink", pen_dp: float = 2.5) -> tuple[Shape, ...]:
    """Return a line with a filled head at its end, ``head`` long; nothing where it has no length."""
    length = math.dist(start, end)
    if length == 0:
        return ()
    head = min(head, length)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    foot = (end[0] - along[0] * head, end[1] - along[1] * head)
    aside = (-along[1] * head * 0.45, along[0] * head * 0.45)
    tip = (
        end, (foot[0] + aside[0], foot[1] + aside[1]), (foot[0] - aside[0], foot[1] - aside[1]),
    )
    return Line((start, foot), tone, pen_dp), Area(tip, tone)


def bob(tip: Point, height: float, tone: str = "ink") -> tuple[Shape, ...]:
    """Return a plumb bob whose point touches ``tip``: collar, round shoulder, long cone."""
    x, y = tip
    half = height * 0.22
    shoulder = y + height * 0.68
    return (
        Area(((x, y), (x + half, shoulder), (x - half, shoulder)), tone),
        Disc((x, shoulder), half, tone, ""),
        Area((
            (x - half * 0.4, shoulder), (x + half * 0.4, shoulder),
            (x + half * 0.4, y + height), (x - half * 0.4, y + height),
        ), tone),
    )


def cut(start: Point, end: Point, box: tuple[float, float, float, float]) -> tuple[Point, Point] | None:
    """Return the part of a line inside ``box`` (left, bottom, right, top), None where none is."""
    left, bottom, right, top = box
    dx, dy = end[0] - start[0], end[1] - start[1]
    enters, leaves = 0.0, 1.0
    for step, room in (
        (-dx, start[0] - left), (dx, right - start[0]), (-dy, start[1] - bottom), (dy, top - start[1]),
    ):
        if step == 0:
            if room < 0:
                return None
        elif step < 0:
            enters = max(enters, room / step)
        else:
            leaves = min(leaves, room / step)
    if enters > leaves:
        return None
    return (
        (start[0] + enters * dx, start[1] + enters * dy),
        (start[0] + leaves * dx, start[1] + leaves * dy),
    )


def turned(point: Point, about: Point, degrees: float) -> Point:
    """Return a point turned clockwise about another, so that what is above goes to the right."""
    angle = math.radians(degrees)
    x, y = point[0] - about[0], point[1] - about[1]
    return (
        about[0] + x * math.cos(angle) + y * math.sin(angle),
        about[1] - x * math.sin(angle) + y * math.cos(angle),
    )
