"""An adjuster as a dial: where it stands, what is known of its range, where to turn it next.

The dial shows the whole range over three quarters of a circle, whatever a full
turn of the screw may be; it runs the way the head turns, so that an arrow on it
points the way the hand goes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from shared_models.drawings.plain_shapes import arrow
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape
from shared_models.language import figure_said
from shared_models.quantities.amounts import text_of
from shared_models.wording import trials as words
from shared_models.wording.units import unit_behind

#: Half of the dial's sweep, in degrees from straight up.
HALF_SWEEP_DEG = 135.0
#: Radii in the scene's own unit: ring from inside to outside, ticks, reach, hands, numbers.
RING, TICK, REACH, HAND, TURN, NUMBER = (66.0, 86.0), 92.0, 59.0, (50.0, 92.0), 99.0, 108.0
LEFT, BOTTOM, WIDTH, HEIGHT = -130.0, -100.0, 260.0, 232.0
#: A number that stands lower than this would meet the words beneath on a small dial; they go so much deeper then.
LOW_NUMBER, ROOM_BENEATH = -20.0, 50.0
#: More positions than these are not ticked one by one, nor hatched.
_MOST_TICKS, _HATCH_DEG, _PIECE_DEG = 50, 6.0, 5.0


@dataclass(frozen=True)
class AdjusterShown:
    """One adjuster; positions in ``unit``, all of them as on its component sheet.

    ``low``: clearly too low up to there; ``high``: clearly too high from there;
    ``here``: where it stands, ``there``: where it is suggested to go; None where
    that is not known.  ``clockwise``: ``more`` or ``less``.
    """

    name: str
    unit: str
    lowest: Decimal
    highest: Decimal
    step: Decimal
    largest_step: Decimal
    clockwise: str
    here: Decimal | None = None
    there: Decimal | None = None
    low: Decimal | None = None
    high: Decimal | None = None

    @property
    def turn(self) -> str:
        """Which way to turn from here to there: clockwise, anticlockwise, or '' for not at all."""
        if self.here is None or self.there is None or self.here == self.there:
            return ""
        more = self.there > self.here
        return "clockwise" if more == (self.clockwise == "more") else "anticlockwise"


def angle_of(shown: AdjusterShown, position: Decimal) -> float:
    """Return where a position lies on the dial, in degrees clockwise from straight up."""
    share = float((position - shown.lowest) / (shown.highest - shown.lowest))
    angle = HALF_SWEEP_DEG * (2 * share - 1)
    return angle if shown.clockwise == "more" else -angle


def bracket_of(shown: AdjusterShown) -> tuple[Decimal, Decimal]:
    """Return from where to where a position may be right, half a step around the outermost ones."""
    half = shown.step / 2
    first = shown.low + half if shown.low is not None else shown.lowest
    last = shown.high - half if shown.high is not None else shown.highest
    return max(first, shown.lowest), min(last, shown.highest)


def reach_of(shown: AdjusterShown) -> tuple[Decimal, Decimal] | None:
    """Return from where to where one largest step leads; None where it is not known where it stands."""
    if shown.here is None:
        return None
    return max(shown.lowest, shown.here - shown.largest_step), min(shown.highest, shown.here + shown.largest_step)


def adjuster_scene(shown: AdjusterShown) -> Scene:
    """Return the dial of an adjuster."""
    shapes = [*_ring(shown), *_ticks(shown), *_reach(shown), *_hands(shown), *_middle(shown)]
    bottom = _bottom(shown)
    return Scene(LEFT, bottom, WIDTH, HEIGHT + BOTTOM - bottom, tuple(shapes), says=words.dial_says(shown))


def _bottom(shown: AdjusterShown) -> float:
    """Where the dial ends: lower where the number to go to stands low, so that the way to turn keeps clear of it."""
    is_low = shown.turn and _at(angle_of(shown, shown.there), NUMBER)[1] < LOW_NUMBER
    return BOTTOM - ROOM_BENEATH if is_low else BOTTOM


def _at(angle_deg: float, radius: float) -> Point:
    angle = math.radians(angle_deg)
    return radius * math.sin(angle), radius * math.cos(angle)


def _arc(start: float, end: float, radius: float) -> tuple[Point, ...]:
    count = max(1, math.ceil(abs(end - start) / _PIECE_DEG))
    return tuple(_at(start + (end - start) * n / count, radius) for n in range(count + 1))


def _ring(shown: AdjusterShown) -> list[Shape]:
    """The range as a ring: hatched where it is out, plain where it may be right, edges between."""
    shapes: list[Shape] = [*_band(-HALF_SWEEP_DEG, HALF_SWEEP_DEG, "panel")]
    first, last = bracket_of(shown)
    if first <= last:
        a, b = angle_of(shown, first), angle_of(shown, last)
        shapes += _band(a, b, "working_soft")
        shapes += [Line((_at(edge, RING[0]), _at(edge, RING[1])), "ink", 3.0) for edge, known in ((a, shown.low), (b, shown.high)) if known is not None]
        shapes += _hatch(angle_of(shown, shown.lowest), a) + _hatch(b, angle_of(shown, shown.highest))
    else:
        shapes += _hatch(-HALF_SWEEP_DEG, HALF_SWEEP_DEG)
    for radius in RING:
        shapes.append(Line(_arc(-HALF_SWEEP_DEG, HALF_SWEEP_DEG, radius), "ink", 1.5))
    for end in (-HALF_SWEEP_DEG, HALF_SWEEP_DEG):
        shapes.append(Line((_at(end, RING[0]), _at(end, RING[1])), "ink", 1.5))
    return shapes


def _band(start: float, end: float, tone: str) -> list[Shape]:
    inner, outer = _arc(start, end, RING[0]), _arc(start, end, RING[1])
    return [Area((inner[n], outer[n], outer[n + 1], inner[n + 1]), tone) for n in range(len(inner) - 1)]


def _hatch(start: float, end: float) -> list[Shape]:
    """Slanting strokes over what is out, so that it is told without colour too."""
    low, high = min(start, end), max(start, end)
    count = int((high - low) / _HATCH_DEG)
    return [
        Line((_at(low + n * _HATCH_DEG, RING[0]), _at(low + (n + 1) * _HATCH_DEG, RING[1])), "ink_soft", 1.2)
        for n in range(count)
    ]


def _ticks(shown: AdjusterShown) -> list[Shape]:
    count = int((shown.highest - shown.lowest) / shown.step)
    each = shown.step * max(1, math.ceil(count / _MOST_TICKS))
    places = [shown.lowest + n * each for n in range(int((shown.highest - shown.lowest) / each) + 1)]
    shapes: list[Shape] = [
        Line((_at(angle_of(shown, p), RING[1]), _at(angle_of(shown, p), TICK)), "ink", 1.2) for p in places
    ]
    for end in (shown.lowest, shown.highest):
        # On a small dial the way to turn would lie over them; the range stands in words beneath.
        if end not in (shown.here, shown.there) and not shown.turn:
            shapes.append(Label(_at(angle_of(shown, end), NUMBER), figure_said(text_of(end)), "body", "ink_soft"))
    return shapes


def _reach(shown: AdjusterShown) -> list[Shape]:
    """How far one largest step leads, as a thin arc inside the ring."""
    reach = reach_of(shown)
    if reach is None or reach[0] == reach[1]:
        return []
    a, b = (angle_of(shown, end) for end in reach)
    ends = [Line((_at(x, REACH - 4), _at(x, REACH + 4)), "ink_soft", 2.0) for x in (a, b)]
    return [Line(_arc(a, b, REACH), "ink_soft", 2.0), *ends]


def _hands(shown: AdjusterShown) -> list[Shape]:
    """The hand where it stands; the suggested one as a ghost, with an arrow the way it turns."""
    shapes: list[Shape] = []
    if shown.there is not None and shown.there != shown.here:
        there = angle_of(shown, shown.there)
        shapes.append(Line((_at(there, HAND[0]), _at(there, HAND[1])), "working", 5.0, dashed=True))
        shapes.append(Label(_at(there, NUMBER + 13), figure_said(text_of(shown.there)), "unit", "ink", bold=True, ground_tone="field"))
        if shown.here is not None:
            here = angle_of(shown, shown.here)
            way = 1 if there > here else -1
            curve = _arc(here, there - 3 * way, TURN)
            shapes.append(Line(curve, "working", 3.0))
            shapes += arrow(_at(there - 9 * way, TURN), _at(there, TURN), 11.0, "working", 3.0)
    if shown.here is not None:
        here = angle_of(shown, shown.here)
        tip = (_at(here, RING[1]), _at(here - 9, HAND[0] + 12), _at(here + 9, HAND[0] + 12))
        shapes += [Area(tip, "ink"), Line((_at(here, HAND[0]), _at(here, RING[1])), "ink", 4.0)]
        shapes.append(Disc(_at(here, RING[1]), 4.5, "ink", ""))
    return shapes


def _middle(shown: AdjusterShown) -> list[Shape]:
    """The figure in the middle of the dial, and beneath it the way to turn."""
    figure = figure_said(text_of(shown.here)) if shown.here is not None else "?"
    shapes: list[Shape] = [
        Label((0.0, 6.0), figure, "figure", bold=True, most_wide=2 * REACH, most_high=2 * (6.0 + 16.0)),
        Label((0.0, -16.0), unit_behind(shown.here, shown.unit), "body", "ink_soft", up="top", most_wide=1.5 * REACH),
    ]
    if shown.turn:
        shapes.append(Label((0.0, _bottom(shown) + 2), words.TURN[shown.turn], "body", bold=True, up="bottom"))
    return shapes
