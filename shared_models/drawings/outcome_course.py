"""An outcome measure over the fittings and visits of a person, with the change that can be detected.

From each value a band runs to the next one: so far a value may lie apart from
it without having changed, by the published minimal detectable change.  A ring
is a value within the band before it, a filled disc one beyond, a diamond one
that can't be compared (the first, or taken in another way).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from shared_models.drawings.measure_chart import DIAMOND, DISC, RING, sign_shapes, spread_of, ticks_between
from shared_models.drawings.plain_shapes import Room, text_width
from shared_models.drawings.scene import Area, Label, Line, Scene, Shape, rectangle
from shared_models.language import number_words
from shared_models.wording import outcome_course as words
from shared_models.wording.dates import day_words

HIGH = 100.0
#: Two values keep this part of the width between them, however close their days are.
_LEAST_APART = 0.12
#: Days are written at every value up to so many, else at the first and last.
_DATED = 4
#: Differences below this part of the largest value never fill the height.
_LEAST_SPREAD = 0.2
#: What lies right of the last value, as a part of the width: the band for the next one.
_AHEAD = 0.14


@dataclass(frozen=True)
class OutcomePoint:
    """One value; ``changed`` against the one before: True, False, or None where it can't be compared."""

    day: date
    value: float
    changed: bool | None = None
    is_this: bool = False
    says: str = ""


@dataclass(frozen=True)
class OutcomeCourse:
    """A measure's values, oldest first; ``detectable`` its minimal detectable change, None where none is published.

    ``source``: in whom the change was found, and where that is published.
    """

    name: str
    unit: str
    places: int
    points: tuple[OutcomePoint, ...]
    detectable: float | None = None
    better: str = ""
    source: str = ""


def places_of(days: list[date]) -> list[float]:
    """Return where days lie between 0 and 1, in proportion to time but never nearer than can be read."""
    if len(days) == 1:
        return [0.0]
    whole = max((days[-1] - days[0]).days, 1)
    at = [0.0]
    for before, after in zip(days, days[1:]):
        at.append(at[-1] + max((after - before).days / whole, _LEAST_APART))
    return [place / at[-1] for place in at]


def outcome_scene(shown: OutcomeCourse, room: Room) -> Scene:
    """Return the chart of a measure over time; ``shown`` has at least one value."""
    line, reach = room.line * HIGH, shown.detectable or 0.0
    values = [end for p in shown.points for end in (p.value - reach, p.value + reach)]
    ticks = ticks_between(*spread_of(values, _LEAST_SPREAD * max(abs(v) for v in values)))
    left = max(text_width(number_words(t, "g"), line) for t in ticks) * 1.2 + 0.8 * line
    right, bottom, top = HIGH * room.wide - 0.5 * line, 1.7 * line, HIGH - 2.0 * line
    # The first day is written from its value on, so that value stands free of the axis.
    first, last = left + 1.2 * line, right - (right - left) * _AHEAD
    xs = [first + (last - first) * place for place in places_of([p.day for p in shown.points])]

    def y(value: float) -> float:
        return bottom + (top - bottom) * (value - ticks[0]) / (ticks[-1] - ticks[0])

    shapes: list[Shape] = [*_bands(shown, [*xs, right], y)]
    for tick in ticks:
        shapes.append(Line(((left, y(tick)), (right, y(tick))), "hairline", 1.0))
        shapes.append(Label((left, y(tick)), number_words(tick, "g"), "body", "ink_soft", across="right", shift_dp=(-6.0, 0.0)))
    shapes.append(Line(((left, top), (left, bottom), (right, bottom)), "ink", 1.5))
    if len(xs) > 1:
        shapes.append(Line(tuple((x, y(p.value)) for x, p in zip(xs, shown.points)), "ink", 1.5))
    for n, (x, point) in enumerate(zip(xs, shown.points)):
        shapes += _value(shown, point, (x, y(point.value)), line)
        if len(xs) <= _DATED or n in (0, len(xs) - 1):
            shapes.append(Label((x, bottom), day_words(point.day), "small", "ink_soft", up="top", shift_dp=(0.0, -9.0)))
    better = words.BETTER.get(shown.better, "")
    told = "; ".join(filter(None, (better, words.band_words(shown.detectable, shown.unit))))
    shapes.append(Label((left, HIGH), told, "small", "ink_soft", across="left", up="top", shift_dp=(0.0, -2.0)))
    return Scene(0.0, 0.0, HIGH * room.wide, HIGH, tuple(shapes), to_scale=False, says=words.outcome_says(shown))


def _bands(shown: OutcomeCourse, xs: list[float], y) -> list[Shape]:
    """From each value on to the next: how far one may lie apart without having changed."""
    if shown.detectable is None:
        return []
    shapes: list[Shape] = []
    for point, start, end in zip(shown.points, xs, xs[1:]):
        low, high = y(point.value - shown.detectable), y(point.value + shown.detectable)
        shapes.append(Area(rectangle(start, low, end - start, high - low), "working_soft"))
        shapes += [Line(((start, edge), (end, edge)), "ink_soft", 1.2, dashed=True) for edge in (low, high)]
    return shapes


def _value(shown: OutcomeCourse, point: OutcomePoint, at: tuple[float, float], line: float) -> list[Shape]:
    sign = {True: DISC, False: RING, None: DIAMOND}[point.changed]
    told = number_words(point.value, f".{shown.places}f")
    return [
        *sign_shapes(sign, at, 0.4 * line),
        Label(at, told, "body", bold=point.is_this, up="bottom", shift_dp=(0.0, 12.0), ground_tone="field"),
    ]
