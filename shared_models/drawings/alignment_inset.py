"""The knee and the line beside it, magnified and to the same scale both ways."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shared_models.checks.alignment_reading import AlignmentReading
from shared_models.drawings.plain_shapes import Room, arrow, cut, wrapped
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape, rectangle
from shared_models.language import spoken
from shared_models.wording import alignment_drawing as words

if TYPE_CHECKING:
    from shared_models.drawings.alignment_side import SideLeg

#: How many times larger the inset is; the largest that still shows everything is taken.
TIMES = (6, 5, 4, 3, 2)
#: The ring at the knee centre in the leg's own size, and what must show beside it.
RING_MM, _BESIDE_MM = 7.0, 11.0
_LEAST_WIDE_MM = 120.0
#: Kept free for the round end of a thick line; between words and shapes.
_END_MM, _GAP_MM = 5.0, 8.0
#: Height of the line of a figure, and width of its letters, as parts of those of body type.
_FIGURE = 1.25
#: How much wider bold letters are.
_BOLD = 1.12
_WHISKER_MM = 44.0


class Inset:
    """A frame in the drawing that shows what lies around the knee, ``times`` larger.

    ``line`` is the height of a line of body type in mm of the drawing.
    """

    def __init__(
        self, left: float, right: float, floor: float, line: float,
        reading: AlignmentReading, ghost: "tuple[SideLeg, str] | None",
    ) -> None:
        self.left, self.right, self.line_mm = left, right, line
        needs = _needs(reading, ghost)
        fitting = [n for n in TIMES if n * (needs[1] - needs[0]) <= right - left]
        self.times = fitting[0] if fitting and right - left >= _LEAST_WIDE_MM else 0
        whole = right - left - 2 * _GAP_MM
        told = words.figure_words(reading) or spoken(words.NOT_READ)
        self.figure = wrapped(told, whole, line * (_FIGURE * _BOLD if reading.line else 1))
        self.judged = wrapped(words.judged_words(reading), whole, line * (_BOLD if reading.is_outside else 1)) if reading.line else ""
        ring = RING_MM * max(self.times, 1) + _GAP_MM
        self.above = ring
        self.below = max(ring, _WHISKER_MM if reading.line and reading.line.half_width_95_mm else 0.0)
        under = self.below + (_lines(self.judged) * line if self.judged else 0.0) + _GAP_MM
        beneath = line * (1 + (2 if ghost else 0))
        self.middle = ((left + right) / 2, max(0.0, floor + 120.0 + beneath + under))
        self.bottom = self.middle[1] - under
        self.top = self.middle[1] + self.above + _lines(self.figure) * line * _FIGURE + _GAP_MM
        self._real = (needs[0] + needs[1]) / 2

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top in the drawing."""
        return self.left, self.bottom, self.right, self.top

    def at(self, point: Point) -> Point:
        """Return where a point of the leg, in mm from the knee centre, lies in the drawing."""
        return (
            self.middle[0] + self.times * (point[0] - self._real),
            self.middle[1] + self.times * point[1],
        )

    def line(self, points: tuple[Point, ...], tone: str, pen_dp: float, dashed: bool = False) -> list[Shape]:
        """Return as much of a line through points of the leg as lies in the frame."""
        inside = (self.left, self.bottom + _END_MM, self.right, self.top - _END_MM)
        pieces = [cut(self.at(a), self.at(b), inside) for a, b in zip(points, points[1:])]
        return [Line(piece, tone, pen_dp, dashed) for piece in pieces if piece]


def inset(
    reading: AlignmentReading, now: "SideLeg", ghost: "tuple[SideLeg, str] | None",
    left: float, right: float, floor: float, line: float,
) -> list[Shape]:
    """Return the magnified knee between ``left`` and ``right``, or the bare words where it has no room.

    ``line`` is the height of a line of body type in mm of the drawing.
    """
    frame = Inset(left, right, floor, line, reading, ghost)
    if not frame.times:
        return _words_only(frame, reading, ghost)
    outline = rectangle(left, frame.bottom, right - left, frame.top - frame.bottom)
    shapes: list[Shape] = [
        *_leader(frame), Area(outline, "field"), *_band(frame, reading),
        *frame.line(now.points, "ink", 3.5), *_ghost(frame, ghost),
        *_line(frame, reading), Disc(frame.at((0, 0)), RING_MM * frame.times, "field", "ink", 3.0),
        *_reading(frame, reading), Line(outline, "ink", 1.5, closed=True),
        Label((right, frame.bottom), words.magnified_words(frame.times), "body", "ink_soft", across="right", up="top"),
    ]
    return shapes + _move(ghost, right, frame.bottom - line)


def knee_scene(
    reading: AlignmentReading, now: "SideLeg", ghost: "tuple[SideLeg, str] | None", room: Room,
) -> Scene:
    """Return the knee alone, for a place too low for the whole leg beside its words."""
    needs = _needs(reading, ghost)
    told = words.figure_words(reading) or spoken(words.NOT_READ)
    judged = words.judged_words(reading) if reading.line else words.asked_words(reading)
    wide = max(needs[1] - needs[0], 6 * RING_MM * room.wide)
    high = wide / room.wide
    line, middle = high * room.line, (needs[0] + needs[1]) / 2
    left = middle - wide / 2
    level = max(0.0, (high - (_FIGURE + 1) * line) / 2)
    bottom, top = -level - line, -level - line + high
    frame = _Bare(left, left + wide, bottom, top)
    tone = "doubt_text" if reading.is_outside else "ink"
    shapes: list[Shape] = [
        *_band(frame, reading), *frame.line(now.points, "ink", 4.0), *_ghost(frame, ghost),
        *_line(frame, reading), Disc((0.0, 0.0), RING_MM, "field", "ink", 3.0),
    ]
    if reading.line is not None:
        shapes += arrow((0.0, 0.0), (reading.line.offset_mm, 0.0), min(4.0, RING_MM), "doubt" if reading.is_outside else "ink", 3.5)
    shapes += [
        Label((middle, top), told, "unit" if reading.line else "body", tone, bold=reading.line is not None, up="top", ground_tone="field"),
        Label((middle, bottom), judged, "body", tone, bold=bool(reading.is_outside), up="bottom", ground_tone="field"),
    ]
    return Scene(left, bottom, wide, high, tuple(shapes))


class _Bare:
    """The same frame in the leg's own size: the whole drawing is the knee."""

    times = 1

    def __init__(self, left: float, right: float, bottom: float, top: float) -> None:
        self.left, self.right, self.bottom, self.top = left, right, bottom, top

    def at(self, point: Point) -> Point:
        return point

    def line(self, points: tuple[Point, ...], tone: str, pen_dp: float, dashed: bool = False) -> list[Shape]:
        box = (self.left, self.bottom, self.right, self.top)
        pieces = [cut(a, b, box) for a, b in zip(points, points[1:])]
        return [Line(piece, tone, pen_dp, dashed) for piece in pieces if piece]


def _lines(text: str) -> int:
    return text.count("\n") + 1


def _needs(reading: AlignmentReading, ghost: "tuple[SideLeg, str] | None") -> tuple[float, float]:
    """From where to where across the inset must show, in mm from the knee centre."""
    target = reading.target
    at = [0.0]
    if reading.line is not None:
        at += reading.line.interval_mm
    if target.target_mm is not None:
        at += [target.target_mm - target.tolerance_mm, target.target_mm + target.tolerance_mm]
    if ghost is not None:
        at.append(ghost[0].knee[0])
    return min(at) - _BESIDE_MM, max(at) + _BESIDE_MM


def _leader(frame: Inset) -> list[Shape]:
    """Two fine lines from the knee to the frame, so that one sees what is magnified."""
    return [
        Line(((0.0, 14.0), (frame.left, frame.top)), "hairline", 1.0),
        Line(((0.0, -14.0), (frame.left, frame.bottom)), "hairline", 1.0),
    ]


def _band(frame: "Inset | _Bare", reading: AlignmentReading) -> list[Shape]:
    target = reading.target
    if target.target_mm is None:
        return []
    low, high = (frame.at((target.target_mm + side * target.tolerance_mm, 0))[0] for side in (-1, 1))
    return [
        Area(rectangle(low, frame.bottom, high - low, frame.top - frame.bottom)),
        *(Line(((x, frame.bottom), (x, frame.top)), "working", 1.0) for x in (low, high)),
    ]


def _ghost(frame: "Inset | _Bare", ghost: "tuple[SideLeg, str] | None") -> list[Shape]:
    if ghost is None:
        return []
    after, _keeps = ghost
    return [
        *frame.line(after.points, "working", 2.0, dashed=True),
        Disc(frame.at(after.knee), RING_MM * frame.times, "", "working", 2.0, dashed=True),
    ]


def _line(frame: "Inset | _Bare", reading: AlignmentReading) -> list[Shape]:
    if reading.line is None:
        return []
    x = frame.at((reading.line.offset_mm, 0))[0]
    tone = "doubt" if reading.is_outside else "ink"
    return [Line(((x, frame.bottom), (x, frame.top)), tone, 2.5, dashed=not reading.is_bench)]


def _reading(frame: Inset, reading: AlignmentReading) -> list[Shape]:
    """The figure over its arrow from the knee centre to the line, its interval, and what to think of it."""
    across, level = frame.middle
    tone, text_tone = ("doubt", "doubt_text") if reading.is_outside else ("ink", "ink")
    read = reading.line is not None
    shapes: list[Shape] = []
    if reading.line is not None:
        shapes += arrow(frame.at((0, 0)), frame.at((reading.line.offset_mm, 0)), 22.0, tone, 3.5)
        if reading.line.half_width_95_mm is not None:
            low, high = (frame.at((x, 0))[0] for x in reading.line.interval_mm)
            at = level - _WHISKER_MM / 2
            shapes.append(Line(((low, at), (high, at)), tone, 2.0))
            shapes += [Line(((x, at - 10), (x, at + 10)), tone, 2.0) for x in (low, high)]
    shapes.append(Label(
        (across, level + frame.above), frame.figure, "unit" if read else "body", text_tone,
        bold=read, up="bottom", ground_tone="field",
    ))
    if frame.judged:
        shapes.append(Label(
            (across, level - frame.below), frame.judged, "body", text_tone,
            bold=bool(reading.is_outside), up="top", ground_tone="field",
        ))
    return shapes


def _move(ghost: "tuple[SideLeg, str] | None", right: float, top: float) -> list[Shape]:
    """The suggested move in words, beneath the frame."""
    if ghost is None:
        return []
    what, how_far = words.move_words(ghost[1], ghost[0].knee[0])
    return [Label((right, top), f"{what}\n{how_far}", "body", across="right", up="top")]


def _words_only(frame: Inset, reading: AlignmentReading, ghost: "tuple[SideLeg, str] | None") -> list[Shape]:
    """Without room for the inset: the arrow at the knee in the leg's own size, and the words beside it."""
    shapes: list[Shape] = []
    tone, text_tone = ("doubt", "doubt_text") if reading.is_outside else ("ink", "ink")
    if reading.line is not None:
        shapes += arrow((0, 0), (reading.line.offset_mm, 0), 12.0, tone, 3.0)
    shapes.append(Label((frame.right, 20.0), frame.figure, "unit" if reading.line else "body", text_tone,
                        bold=reading.line is not None, across="right", up="bottom", ground_tone="field"))
    if frame.judged:
        shapes.append(Label((frame.right, -20.0), frame.judged, "body", text_tone, bold=bool(reading.is_outside),
                            across="right", up="top", ground_tone="field"))
    return shapes + _move(ghost, frame.right, -20.0 - frame.line_mm * (_lines(frame.judged) + 0.5))
