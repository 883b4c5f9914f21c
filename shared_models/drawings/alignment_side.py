"""The leg from the side, to scale in mm: x forward and y up, the knee centre at the origin."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Iterable

from shared_models.calculations.alignment.chain import FOOT, SOCKET, Chain
from shared_models.checks.alignment_reading import AlignmentReading
from shared_models.drawings.alignment_inset import inset, knee_scene
from shared_models.drawings.leg_figures import LEG_UP_TO_LINE, LegFigures
from shared_models.drawings.plain_shapes import Room, arrow, bob, text_width, turned
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape, rectangle
from shared_models.language import number_words, spoken
from shared_models.wording import alignment_drawing as words

#: The ring at the knee centre, and the generic socket across its ends; our own shapes.
KNEE_RING_MM = 13.0
SOCKET_HALF_LOW_MM, SOCKET_HALF_HIGH_MM = 42.0, 66.0
_MARGIN_MM, _EDGE_MM = 14.0, 12.0


@dataclass(frozen=True)
class SideLeg:
    """Where the parts of one leg stand: its line from the floor up, its knee, its socket's foot."""

    points: tuple[Point, ...]
    knee: Point
    floor_mm: float
    socket_foot: Point
    socket_tilt_deg: float


def side_leg(leg: LegFigures, chain: Chain | None = None, base: Point = (0.0, 0.0)) -> SideLeg:
    """Return where a leg stands whose knee centre ``chain`` had at ``base`` in the drawing.

    Without a chain it stands straight.  Tilt of the socket: plus = its upper
    end forward, so flexion takes it back.
    """
    if chain is None:
        floor = base[1] - leg.knee_mm
        top = (base[0], base[1] + leg.pivot_mm)
        return SideLeg(((base[0], floor), base, top), base, floor, top, -(leg.flexion_deg or 0.0))
    knee = chain.knee

    def placed(x_mm: float, y_mm: float) -> Point:
        return base[0] + x_mm - knee.x_mm, base[1] + y_mm - knee.y_mm

    points = [placed(0.0, 0.0)]
    top_at = max(leg.pivot_mm + chain.knee_at_mm, *(joint.at_mm for joint in chain.joints), chain.knee_at_mm)
    for at, name in _stations(chain, top_at):
        found = chain.point(at, name)
        points.append(placed(found.x_mm, found.y_mm))
    last = chain.joints[-1].name if chain.joints else ""
    tilt = chain.point(top_at, last).tilt_deg - (leg.flexion_deg or 0.0)
    return SideLeg(tuple(points), base, points[0][1], points[-1], tilt)


def _stations(chain: Chain, top_at: float) -> Iterable[tuple[float, str]]:
    """Heights to draw the leg through: before and after each joint, and the knee."""
    heights = [(joint.at_mm, name) for joint in chain.joints for name in ("", joint.name)]
    heights += [(chain.knee_at_mm, ""), (top_at, chain.joints[-1].name if chain.joints else "")]
    return sorted(heights, key=lambda station: station[0])


def ghost_leg(leg: LegFigures, reading: AlignmentReading) -> tuple[SideLeg, str] | None:
    """Return the leg after the suggested move, and the end of it that stays; None without a move.

    A move below the knee leaves the foot where it is, one above it the
    socket; the line stays with the end that stays (calculations/alignment).
    """
    move, chain = reading.move, leg.chain
    if move is None or chain is None:
        return None
    after = chain.turned(move.turns)
    keeps = FOOT if chain.is_below_knee(chain.joint(move.turns[0].joint)) else SOCKET
    across, up = after.knee.x_mm - chain.knee.x_mm, after.knee.y_mm - chain.knee.y_mm
    if keeps == SOCKET:
        across += chain.top.x_mm - after.top.x_mm
        up += chain.top.y_mm - after.top.y_mm
    return side_leg(leg, after, (across, up)), keeps


def socket_corners(foot: Point, tilt_deg: float, length: float) -> tuple[Point, ...]:
    """Return the four corners of the generic socket standing on ``foot``, tilted (plus = top forward)."""
    x, y = foot
    upright = (
        (x - SOCKET_HALF_LOW_MM, y), (x - SOCKET_HALF_HIGH_MM, y + length),
        (x + SOCKET_HALF_HIGH_MM, y + length), (x + SOCKET_HALF_LOW_MM, y),
    )
    return tuple(turned(corner, foot, tilt_deg) for corner in upright)


def shoe(leg: LegFigures, axis: float, floor: float) -> tuple[Point, ...]:
    """Return the outline of the shoe, beginning where heel and waist meet, with its heel height."""
    heel = leg.heel_height_mm or 0.0
    back = axis - leg.back_edge_mm
    if leg.knee_from_heel_mm is not None:
        back = -leg.knee_from_heel_mm
    shift = back - (axis - leg.back_edge_mm)
    ball, toe = axis + leg.ball_mm + shift, axis + leg.toe_mm + shift
    ankle = floor + heel + leg.foot_height_mm * 0.8
    return (
        (back + 58.0, floor + heel), (back, floor + heel), (back + 6.0, ankle),
        (axis + 36.0, ankle), (toe - 22.0, floor + 34.0), (toe, floor + 14.0),
        (toe - 8.0, floor + 4.0), (ball, floor),
    )


def side_scene(leg: LegFigures, reading: AlignmentReading, room: Room) -> Scene:
    """Return the leg from the side, as it is shown in a room."""
    now = side_leg(leg, leg.chain)
    ghost = ghost_leg(leg, reading)
    if room.line > LEG_UP_TO_LINE:
        return replace(knee_scene(reading, now, ghost, room), says=_says(reading))
    outline = shoe(leg, now.points[0][0], now.floor_mm)
    socket = socket_corners(now.socket_foot, now.socket_tilt_deg, leg.socket_to_mm - leg.pivot_mm)
    top = max(y for _, y in socket)
    high = (top - now.floor_mm + 2 * _EDGE_MM) / (1 - 2 * room.line)
    line = high * room.line
    lines = _lines_at(reading)
    solid = [*outline, *socket, *((x, 0.0) for x in lines)]
    left = min(x for x, _ in solid) - _MARGIN_MM
    right = max(max(x for x, _ in solid) + _MARGIN_MM, left + high * room.wide)
    shapes = [
        *_band(reading, now.floor_mm, top, left, line),
        Line(((left, now.floor_mm), (right, now.floor_mm)), "ink_soft", 1.5),
        *_leg(leg, now, outline, socket), *_ghost(leg, ghost),
        *_line(reading, now.floor_mm, top), Disc((0.0, 0.0), KNEE_RING_MM, "field", "ink", 3.0),
    ]
    free = max([KNEE_RING_MM, *lines, *(x for x, y in socket if y < 160)]) + 40.0
    shapes += inset(reading, now, ghost, free, right - _MARGIN_MM, now.floor_mm, line)
    shapes += _front(right - _MARGIN_MM, now.floor_mm - _EDGE_MM - line / 2)
    bottom = now.floor_mm - _EDGE_MM - line
    return Scene(left, bottom, right - left, high, tuple(shapes), says=_says(reading))


def _lines_at(reading: AlignmentReading) -> list[float]:
    """Every x that the drawing must reach: the reading and the edges of what is asked."""
    target = reading.target
    found = [] if reading.line is None else [reading.line.offset_mm]
    if target.target_mm is not None:
        found += [target.target_mm - target.tolerance_mm, target.target_mm + target.tolerance_mm]
    return found


def _band(reading: AlignmentReading, floor: float, top: float, left: float, line: float) -> list[Shape]:
    """What the sheet asks of the line, from the floor up, with its words at the top."""
    target = reading.target
    if target.target_mm is None:
        return []
    low, half = target.target_mm - target.tolerance_mm, target.tolerance_mm
    asked = words.asked_words(reading)
    return [
        Area(rectangle(low, floor, 2 * half, top - floor + 8)),
        *(Line(((x, floor), (x, top + 8)), "working", 1.0) for x in (low, low + 2 * half)),
        Label((max(target.target_mm, left + text_width(asked, line) / 2 + _MARGIN_MM), top + 8), asked, up="bottom"),
    ]


def _leg(leg: LegFigures, now: SideLeg, outline: tuple[Point, ...], socket: tuple[Point, ...]) -> list[Shape]:
    known = leg.flexion_deg is not None
    middle = turned((now.socket_foot[0], now.socket_foot[1] + 150), now.socket_foot, now.socket_tilt_deg)
    shapes: list[Shape] = [
        Area(outline, "panel"), Line(outline, "ink", 2.0, closed=True),
        Area(socket, "panel"), Line(socket, "ink", 2.0, dashed=not known, closed=True),
        Line(now.points, "ink", 6.0),
    ]
    if leg.heel_height_mm:
        back = outline[1][0]
        shapes.append(Area(rectangle(back, now.floor_mm, 54.0, leg.heel_height_mm), "ink_soft"))
    if known:
        shapes.append(Label(middle, f"{number_words(leg.flexion_deg, 'g')}°".replace("-", "\N{MINUS SIGN}")))
    return shapes


def _ghost(leg: LegFigures, ghost: tuple[SideLeg, str] | None) -> list[Shape]:
    """The leg after the move, dashed: only what moves."""
    if ghost is None:
        return []
    after, keeps = ghost
    shapes: list[Shape] = [Line(after.points, "working", 2.0, dashed=True)]
    if keeps == SOCKET:
        moved = shoe(leg, after.points[0][0], after.floor_mm)
        shapes.append(Line(moved, "working", 2.0, dashed=True, closed=True))
    else:
        moved = socket_corners(after.socket_foot, after.socket_tilt_deg, leg.socket_to_mm - leg.pivot_mm)
        shapes.append(Line(moved, "working", 2.0, dashed=True, closed=True))
    return [*shapes, Disc(after.knee, KNEE_RING_MM, "", "working", 2.0, dashed=True)]


def _line(reading: AlignmentReading, floor: float, top: float) -> list[Shape]:
    """The line itself: drawn through on the bench, in standing dashed and with a bob at its foot."""
    line = reading.line
    if line is None:
        return []
    x = line.offset_mm
    tone = "doubt" if reading.is_outside else "ink"
    if reading.is_bench:
        return [Line(((x, floor), (x, top + 8)), tone, 2.0)]
    return [Line(((x, floor + 40), (x, top + 8)), tone, 2.0, dashed=True), *bob((x, floor), 46.0, tone)]


def _front(right: float, at: float) -> list[Shape]:
    """Which way is forward, beneath the floor."""
    return [
        *arrow((right - 60, at), (right, at), 14.0, "ink_soft", 2.0),
        Label((right - 66, at), spoken("front"), "body", "ink_soft", across="right"),
    ]


def _says(reading: AlignmentReading) -> str:
    name = spoken("Reference line") if reading.is_bench else spoken("Load line")
    parts = (words.figure_words(reading), words.judged_words(reading), words.asked_words(reading))
    return f"{name}: " + ", ".join(part for part in parts if part) + "."
