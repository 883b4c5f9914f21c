"""The trials on one adjuster as a small chart: positions in their order, outcomes by shape.

A filled disc with a tick: confirmed.  A ring: not right yet.  A square with the
word beside it: stopped.  The ground behind shows what each trial left open.

Where findings are drawn too they stand above their trial, each a letter with a
sign: a triangle up asks for a higher position, one down for a lower, a square
for the last confirmed settings, a diamond for something that this adjuster does
not cure; filled is marked, open is slight.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape, rectangle
from shared_models.language import figure_said, spoken
from shared_models.quantities.amounts import text_of
from shared_models.wording import trials as words

CONFIRMED, CHANGE, STOPPED = "confirmed", "change", "stopped"
#: No chart on a tablet shows more points than these apart.
MOST_POINTS = 500
HIGH = 100.0
#: With more trials than these a point is small and nothing is written at it.
_WRITTEN_UP_TO = 24
_LEAST_STEPS = 4
#: Findings above one trial; more of them are counted.
_MOST_MARKS = 4
#: Height of a row of findings, of the height of a line of type.
_MARK_ROW = 0.95
#: Two figures on the axis keep this much apart, of the height of a line of type.
_WRITTEN_APART = 1.15


@dataclass(frozen=True)
class FindingMark:
    """A finding at its trial: its letter, which ``way`` it asks for, whether it was marked or slight.

    ``way``: ``more``, ``less``, ``restore``, or '' where this adjuster does not cure it.
    """

    letter: str
    way: str = ""
    is_marked: bool = False


@dataclass(frozen=True)
class TrialPoint:
    """One trial: its number, where the adjuster stood, how it ended.

    ``low`` and ``high``: what was clearly too low and too high after it.
    """

    number: int
    position: Decimal
    outcome: str
    low: Decimal | None = None
    high: Decimal | None = None
    marks: tuple[FindingMark, ...] = ()


@dataclass(frozen=True)
class CourseShown:
    """The trials of one adjuster, oldest first; ``there``: where it is suggested to go next."""

    name: str
    lowest: Decimal
    highest: Decimal
    step: Decimal
    points: tuple[TrialPoint, ...] = ()
    there: Decimal | None = None


def thinned(points: tuple[TrialPoint, ...], most: int = MOST_POINTS) -> tuple[TrialPoint, ...]:
    """Return at most so many points: the last one, stops and confirmed before what is neither."""
    if len(points) <= most:
        return points
    by_weight = sorted(points, key=lambda p: (p is not points[-1], p.outcome == CHANGE))
    weighty = [p for p in by_weight if p is points[-1] or p.outcome != CHANGE]
    rest = [p for p in by_weight if p is not points[-1] and p.outcome == CHANGE]
    if len(weighty) >= most:
        return tuple(sorted(_every(weighty, most), key=lambda p: p.number))
    return tuple(sorted(weighty + _every(rest, most - len(weighty)), key=lambda p: p.number))


def _every(points: list[TrialPoint], most: int) -> list[TrialPoint]:
    """Return ``most`` of the points, evenly from the first on."""
    return [points[n * len(points) // most] for n in range(min(most, len(points)))]


def window_of(shown: CourseShown) -> tuple[Decimal, Decimal]:
    """Return the lowest and highest position that the chart shows: what was tried, with room around."""
    tried = [p.position for p in shown.points] + ([shown.there] if shown.there is not None else [])
    if not tried:
        return shown.lowest, shown.highest
    low, high = min(tried) - shown.step, max(tried) + shown.step
    while high - low < _LEAST_STEPS * shown.step:
        low, high = low - shown.step, high + shown.step
    return max(low, shown.lowest), min(high, shown.highest)


@dataclass(frozen=True)
class _Paper:
    """Where numbers and positions lie on the chart."""

    left: float
    right: float
    bottom: float
    top: float
    count: int
    low: float
    high: float

    def x(self, number: int) -> float:
        return self.left + (self.right - self.left) * (number - 0.5) / self.count

    def y(self, position: Decimal | float) -> float:
        share = (float(position) - self.low) / (self.high - self.low)
        return self.bottom + (self.top - self.bottom) * share


def paper_of(shown: CourseShown, room: Room) -> _Paper:
    """Return the chart's scales for a room."""
    low, high = window_of(shown)
    last = shown.points[-1].number if shown.points else 0
    count = max(4, last + (1 if shown.there is not None else 0))
    line = room.line * HIGH
    widest = max(len(text_of(low)), len(text_of(high)))
    return _Paper(
        line * (0.6 * widest + 0.5), HIGH * room.wide - line * 0.4, line * 1.25,
        HIGH - line * (0.5 + _MARK_ROW * _mark_rows(shown, count)), count, float(low), float(high),
    )


def _mark_rows(shown: CourseShown, count: int) -> int:
    """How many rows of findings stand above the chart."""
    if count > _WRITTEN_UP_TO:
        return 0
    return min(_MOST_MARKS, max((len(p.marks) for p in shown.points), default=0))


def course_scene(shown: CourseShown, room: Room) -> Scene:
    """Return the chart of a course of trials."""
    paper, line = paper_of(shown, room), room.line * HIGH
    points = thinned(shown.points)
    shapes = [*_ground(shown, points, paper), *_axes(shown, points, paper, line)]
    if len(points) > 1:
        shapes.append(Line(tuple((paper.x(p.number), paper.y(p.position)) for p in points), "ink_soft", 1.5))
    size = min(line * 0.42, (paper.right - paper.left) / paper.count * 0.42)
    written = paper.count <= _WRITTEN_UP_TO
    for point in points:
        shapes += _findings(point, paper, line) if written else []
        shapes += _mark(point, (paper.x(point.number), paper.y(point.position)), size, line, written)
    if shown.there is not None and points:
        at = (paper.x(points[-1].number + 1), paper.y(shown.there))
        shapes.append(Disc(at, size, "", "working", 2.5, dashed=True))
    return Scene(0.0, 0.0, HIGH * room.wide, HIGH, tuple(shapes), says=words.course_says(shown))


def _ground(shown: CourseShown, points: tuple[TrialPoint, ...], paper: _Paper) -> list[Shape]:
    """What each trial left open, up to the next one."""
    shapes: list[Shape] = []
    for n, point in enumerate(points):
        left = paper.x(point.number)
        right = paper.x(points[n + 1].number) if n + 1 < len(points) else paper.right
        low = paper.low if point.low is None else max(paper.low, float(point.low + shown.step / 2))
        high = paper.high if point.high is None else min(paper.high, float(point.high - shown.step / 2))
        if low < high:
            shapes.append(Area(rectangle(left, paper.y(low), right - left, paper.y(high) - paper.y(low)), "working_soft"))
        for edge, known in ((low, point.low), (high, point.high)):
            if known is not None and paper.low <= edge <= paper.high:
                shapes.append(Line(((left, paper.y(edge)), (right, paper.y(edge))), "ink", 1.5))
    return shapes


def _axes(shown: CourseShown, points: tuple[TrialPoint, ...], paper: _Paper, line: float) -> list[Shape]:
    shapes: list[Shape] = [
        Line(((paper.left, paper.top), (paper.left, paper.bottom), (paper.right, paper.bottom)), "ink", 1.5),
    ]
    for value in _written_positions(shown, points, paper, line):
        shapes.append(Label((paper.left, paper.y(value)), figure_said(text_of(value)), "body", "ink_soft", across="right", shift_dp=(-5.0, 0.0)))
        shapes.append(Line(((paper.left, paper.y(value)), (paper.right, paper.y(value))), "hairline", 1.0))
    numbers = [p.number for p in points]
    if len(numbers) > _WRITTEN_UP_TO / 2:
        numbers = [numbers[0], numbers[-1]]
    for number in numbers:
        shapes.append(Label((paper.x(number), paper.bottom), str(number), "body", "ink_soft", up="top"))
    return shapes


def _written_positions(
    shown: CourseShown, points: tuple[TrialPoint, ...], paper: _Paper, line: float,
) -> list[Decimal]:
    """The ends of the window, and every position tried that has room beside those written already."""
    written = list(window_of(shown))
    for position in dict.fromkeys(p.position for p in reversed(points)):
        if all(abs(paper.y(position) - paper.y(other)) >= _WRITTEN_APART * line for other in written):
            written.append(position)
    return written


def _mark(point: TrialPoint, at: Point, size: float, line: float, written: bool) -> list[Shape]:
    x, y = at
    if point.outcome == CONFIRMED:
        tick = ((x - 0.48 * size, y + 0.02 * size), (x - 0.12 * size, y - 0.38 * size), (x + 0.52 * size, y + 0.4 * size))
        return [Disc(at, size, "ink", ""), Line(tick, "field", 2.0)]
    if point.outcome == STOPPED:
        square = rectangle(x - size, y - size, 2 * size, 2 * size)
        shapes: list[Shape] = [Area(square, "stop_ground"), Line(square, "stop_edge", 2.5, closed=True)]
        if written:
            shapes.append(Label((x, y - size - 0.25 * line), spoken(words.STOP_MARK), "body", "ink", bold=True, up="top", ground_tone="field"))
        return shapes
    return [Disc(at, size, "field", "ink", 2.5)]


def _findings(point: TrialPoint, paper: _Paper, line: float) -> list[Shape]:
    """The findings of a trial above it, the first at the foot; a thin line leads down to the trial."""
    if not point.marks:
        return []
    x, row = paper.x(point.number), _MARK_ROW * line
    kept = point.marks if len(point.marks) <= _MOST_MARKS else point.marks[:_MOST_MARKS - 1]
    shapes: list[Shape] = [Line(((x, paper.y(point.position)), (x, paper.top)), "hairline", 1.0, dashed=True)]
    narrow = paper.count > _WRITTEN_UP_TO / 2
    for n, mark in enumerate(kept):
        y = paper.top + row * (n + 0.5)
        shapes += [] if narrow else finding_sign(mark, (x - 0.35 * line, y), 0.3 * line)
        shapes.append(Label((x if narrow else x + 0.35 * line, y), mark.letter, "body", bold=mark.is_marked))
    if len(kept) < len(point.marks):
        shapes.append(Label((x, paper.top + row * (len(kept) + 0.5)), f"+{len(point.marks) - len(kept)}", "body", "ink_soft"))
    return shapes


def finding_sign(mark: FindingMark, at: Point, size: float) -> list[Shape]:
    """Return the sign of which way a finding asks for, filled where it was marked."""
    x, y = at
    corners = {
        "more": ((x - size, y - 0.8 * size), (x + size, y - 0.8 * size), (x, y + size)),
        "less": ((x - size, y + 0.8 * size), (x + size, y + 0.8 * size), (x, y - size)),
        "restore": rectangle(x - 0.8 * size, y - 0.8 * size, 1.6 * size, 1.6 * size),
    }.get(mark.way, ((x - size, y), (x, y + size), (x + size, y), (x, y - size)))
    return [Area(corners, "ink" if mark.is_marked else "field"), Line(corners, "ink", 1.5, closed=True)]
