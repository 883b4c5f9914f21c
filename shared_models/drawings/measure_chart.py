"""One measure over the walks of a fitting: a chart with a sign at each walk it was taken in.

Signs are told by shape, so that no colour is needed: ring, disc, a triangle up
or down, a diamond, a dot.  A whisker is the 95 % interval.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

from shared_models.drawings.plain_shapes import Room, text_width
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape
from shared_models.language import number_words

RING, DISC, UP, DOWN, DIAMOND, DOT = "ring", "disc", "up", "down", "diamond", "dot"
HIGH = 100.0
#: With more signs than these no figure is written at them.
_WRITTEN = 8
#: Air above the highest and below the lowest sign, as a part of what lies between them.
_AIR = 0.12
#: Steps between the figures on the axis, times a power of ten.
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
_MOST_TICKS = 5
#: How many of the last place that is written a chart spans at least: a single value is no reason for finer figures.
_LEAST_PLACES = 20


@dataclass(frozen=True)
class Taken:
    """A value taken in the walk of this ``number``, with its 95 % interval where it has one."""

    number: int
    value: float
    sign: str = RING
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class MeasureShown:
    """A measure over walks 1 to ``count``.

    ``levels`` are (value, word) where the axis has words and no figures;
    ``line_at`` a value drawn as a dashed line through the chart, with
    ``line_words``.  ``key`` says what the signs mean, as (sign, words).
    """

    name: str
    unit: str
    count: int
    taken: tuple[Taken, ...]
    places: int = 1
    levels: tuple[tuple[float, str], ...] = ()
    line_at: float | None = None
    line_words: str = ""
    key: tuple[tuple[str, str], ...] = ()
    says: str = ""


@dataclass(frozen=True)
class _Paper:
    left: float
    right: float
    bottom: float
    top: float
    low: float
    high: float
    count: int

    def x(self, number: float) -> float:
        return self.left + (self.right - self.left) * (number - 0.5) / max(self.count, 1)

    def y(self, value: float) -> float:
        return self.bottom + (self.top - self.bottom) * (value - self.low) / (self.high - self.low)


def ticks_between(low: float, high: float, most: int = _MOST_TICKS) -> list[float]:
    """Return round figures from the last below ``low`` to the first above ``high``, at most so many."""
    spread = (high - low) or abs(high) or 1.0
    tens = 10.0 ** math.floor(math.log10(spread / most))
    for step in (tens * each for each in (*_STEPS, 20.0, 50.0)):
        first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
        last = max(last, first + 1)
        if last - first + 1 <= most:
            break
    return [round(n * step, 9) for n in range(first, last + 1)]


def measure_scene(shown: MeasureShown, room: Room) -> Scene:
    """Return the chart of a measure."""
    line = room.line * HIGH
    ticks = [value for value, _ in shown.levels] or ticks_between(*spread_of(_values(shown), _LEAST_PLACES * 10.0 ** -shown.places))
    words = [word for _, word in shown.levels] or [number_words(value, "g") for value in ticks]
    # A triangle at an outermost level stays inside of the chart.
    margin = (ticks[-1] - ticks[0]) * 0.08 if shown.levels else 0.0
    key_rows = len(shown.key)
    paper = _Paper(
        max(text_width(word, line) for word in words) * 1.2 + line * 0.6, HIGH * room.wide - line * 0.4,
        line * 1.35, HIGH - line * (0.6 + 1.15 * key_rows), ticks[0] - margin, ticks[-1] + margin, shown.count,
    )
    shapes: list[Shape] = []
    for value, word in zip(ticks, words):
        shapes.append(Line(((paper.left, paper.y(value)), (paper.right, paper.y(value))), "hairline", 1.0))
        shapes.append(Label((paper.left, paper.y(value)), word, "body", "ink_soft", across="right", shift_dp=(-6.0, 0.0)))
    shapes += [*_across(shown, paper, line), *_line_at(shown, paper), *_key(shown, paper, line)]
    for sign in (DISC, RING, DIAMOND):
        own = [t for t in shown.taken if t.sign == sign]
        if len(own) > 1:
            shapes.append(Line(tuple((paper.x(t.number), paper.y(t.value)) for t in own), "ink_soft", 1.2))
    written = len(shown.taken) <= _WRITTEN and not shown.levels
    for taken in shown.taken:
        shapes += _sign(taken, paper, line)
        if written:
            at = (paper.x(taken.number), paper.y(taken.value))
            words_at = number_words(taken.value, f".{shown.places}f")
            # Beyond the middle the figure stands before its sign, so that it has room.
            before = taken.number > shown.count / 2
            shapes.append(Label(
                at, words_at, "body", bold=True, across="right" if before else "left",
                shift_dp=(-11.0 if before else 11.0, 0.0), ground_tone="field",
            ))
    return Scene(0.0, 0.0, HIGH * room.wide, HIGH, tuple(shapes), to_scale=False, says=shown.says)


def _values(shown: MeasureShown) -> list[float]:
    values = [t.value for t in shown.taken]
    values += [end for t in shown.taken for end in (t.low, t.high) if end is not None]
    return values + ([shown.line_at] if shown.line_at is not None else [])


def spread_of(values: Sequence[float], least: float = 0.01) -> tuple[float, float]:
    """Return lowest and highest with air around, at least ``least`` apart; never below 0 where no value is.

    ``least`` keeps a chart from blowing up differences that mean nothing.
    """
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    air = max((high - low) * _AIR, (least - (high - low)) / 2, 0.0)
    return (max(low - air, 0.0) if low >= 0 else low - air), high + air


def _across(shown: MeasureShown, paper: _Paper, line: float) -> list[Shape]:
    shapes: list[Shape] = [
        Line(((paper.left, paper.top), (paper.left, paper.bottom), (paper.right, paper.bottom)), "ink", 1.5),
    ]
    for number in _numbered(shown, paper, line):
        shapes.append(Label((paper.x(number), paper.bottom), str(number), "body", "ink_soft", up="top", shift_dp=(0.0, -2.0)))
    return shapes


def _numbered(shown: MeasureShown, paper: _Paper, line: float) -> list[int]:
    """The walks that have a value, then the first and last, as far as their numbers have room."""
    kept: list[int] = []
    for number in dict.fromkeys([*(t.number for t in shown.taken), 1, shown.count]):
        room = line * (0.9 + 0.5 * len(str(number)))
        if all(abs(paper.x(number) - paper.x(other)) >= room for other in kept):
            kept.append(number)
    return kept


def _line_at(shown: MeasureShown, paper: _Paper) -> list[Shape]:
    if shown.line_at is None:
        return []
    y = paper.y(shown.line_at)
    shapes: list[Shape] = [Line(((paper.left, y), (paper.right, y)), "ink", 1.5, dashed=True)]
    if shown.line_words:
        shapes.append(Label(
            (paper.left, y), shown.line_words, "body", "ink_soft", across="left", up="top", shift_dp=(6.0, -2.0), ground_tone="field",
        ))
    return shapes


def _key(shown: MeasureShown, paper: _Paper, line: float) -> list[Shape]:
    shapes: list[Shape] = []
    for n, (sign, words) in enumerate(shown.key):
        y = HIGH - line * (0.6 + 1.15 * n)
        shapes += sign_shapes(sign, (paper.left + 0.5 * line, y), 0.33 * line)
        shapes.append(Label((paper.left + 1.1 * line, y), words, "body", across="left"))
    return shapes


def _sign(taken: Taken, paper: _Paper, line: float) -> list[Shape]:
    x, y = paper.x(taken.number), paper.y(taken.value)
    shapes: list[Shape] = []
    if taken.low is not None and taken.high is not None:
        low, high, end = paper.y(taken.low), paper.y(taken.high), 0.25 * line
        shapes += [
            Line(((x, low), (x, high)), "ink", 1.5), Line(((x - end, low), (x + end, low)), "ink", 1.5),
            Line(((x - end, high), (x + end, high)), "ink", 1.5),
        ]
    return [*shapes, *sign_shapes(taken.sign, (x, y), 0.4 * line)]


def sign_shapes(sign: str, at: Point, size: float) -> list[Shape]:
    """Return a sign at a point, ``size`` its half width; no two look alike without colour."""
    x, y = at
    if sign in (RING, DISC, DOT):
        filled = {RING: "field", DISC: "ink", DOT: "ink_soft"}[sign]
        return [Disc(at, size * (0.45 if sign == DOT else 1.0), filled, "ink" if sign != DOT else "", 2.5)]
    corners = {
        UP: ((x - size, y - 0.8 * size), (x + size, y - 0.8 * size), (x, y + size)),
        DOWN: ((x - size, y + 0.8 * size), (x + size, y + 0.8 * size), (x, y - size)),
        DIAMOND: ((x - size, y), (x, y + size), (x + size, y), (x, y - size)),
    }[sign]
    return [Area(corners, "field" if sign == DIAMOND else "ink"), Line(corners, "ink", 2.0, closed=True)]
