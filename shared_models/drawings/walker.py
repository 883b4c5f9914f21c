"""The figure that walks in practice: from where its joints are to a drawing.

Seen from the side of the prosthesis, which is nearer: a socket, a knee with its
axle, a tube and a foot, against the plain strokes of the body.  The sound leg
lies behind.  Lengths in mm; the view walks along.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.calculations.model_leg.posing import LegPoints
from shared_models.calculations.model_leg.strides import Pose
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape
from shared_models.language import spoken

#: The view: how far before and behind the hip, under the floor and over it, in mm; from
#: the ribs down, so that the legs are as large as they can be.
AHEAD_MM, UNDER_MM, OVER_MM = 900.0, 110.0, 1290.0
TICK_MM = 250.0
#: So far before and behind the hip the floor is drawn, in m: a wide pane shows more of it.
FLOOR_M = 1.7
#: Shoulder above the hip and arm, as parts of the leg's length (assumption, for the eye);
#: of the trunk so much is in the view.
SHOULDER_PART, ARM_PART, TRUNK_PART = 0.62, 0.66, 0.40


@dataclass(frozen=True)
class Floor:
    """What is walked on: ``level``, ``ramp``, ``low_steps`` or ``stairs``; lengths in m."""

    ground: str = "level"
    going_m: float = 0.0
    rise_m: float = 0.0


@dataclass(frozen=True)
class Shown:
    """What is drawn beside the figure: a clack at the knee (0 to 1), words, a line for the heel.

    ``heel_mm``: how high the heel should come, drawn only where it is asked for.
    """

    clack: float = 0.0
    landing: float = 0.0
    words: str = ""
    heel_mm: float | None = None


def walker_scene(pose: Pose, floor: Floor, to_the_right: bool, shown: Shown = Shown()) -> Scene:
    """Return the figure at one moment.

    ``to_the_right``: the prosthesis is a right one, seen from its right.
    """
    hip = pose.prosthesis.hip
    fall = floor.rise_m / floor.going_m if floor.going_m else 0.0
    origin = (hip[0], -fall * hip[0])
    turn = 1.0 if to_the_right else -1.0

    def place(point: Point) -> Point:
        return turn * 1000 * (point[0] - origin[0]), 1000 * (point[1] - origin[1])

    shapes: list[Shape] = [*_floor(pose, floor, place)]
    if shown.heel_mm is not None:
        shapes.append(Line(((-AHEAD_MM, shown.heel_mm), (AHEAD_MM, shown.heel_mm)), "doubt", 2.0, dashed=True))
    shapes += [*_sound_leg(pose.sound, place), *_upper_body(pose, place), *_prosthesis(pose.prosthesis, place)]
    if shown.clack > 0:
        shapes += _strokes(place(pose.prosthesis.knee), 70 + 110 * shown.clack, shown.clack)
    if shown.landing > 0:
        shapes += _strokes(place(pose.sound.toe), 60 + 110 * shown.landing, shown.landing)
    if shown.words:
        shapes.append(Label((0.0, OVER_MM), shown.words, up="top", ground_tone="field"))
    return Scene(-AHEAD_MM, -UNDER_MM, 2 * AHEAD_MM, OVER_MM + UNDER_MM, tuple(shapes), True, _says(floor))


def _says(floor: Floor) -> str:
    way = {"level": spoken("on the level"), "ramp": spoken("down a ramp"), "low_steps": spoken("down low steps"), "stairs": spoken("down stairs")}
    return spoken("An invented person walks {way} on the prosthesis, seen from its side.", way=way[floor.ground])


def _floor(pose: Pose, floor: Floor, place) -> list[Shape]:
    if floor.ground in ("stairs", "low_steps"):
        return [Line(tuple(place(p) for p in _stair(pose, floor)), "ink_soft", 3.0)]
    fall = floor.rise_m / floor.going_m if floor.going_m else 0.0
    hip = pose.prosthesis.hip[0]
    ends = [(hip + x, -fall * (hip + x)) for x in (-FLOOR_M, FLOOR_M)]
    shapes: list[Shape] = [Line((place(ends[0]), place(ends[1])), "ink_soft", 3.0)]
    tick_m = TICK_MM / 1000
    # Ticks stand on the floor, so that they pass by as the person goes along.
    first = math.ceil((pose.along_m + hip - FLOOR_M) / tick_m)
    for k in range(first, first + int(2 * FLOOR_M / tick_m)):
        x = k * tick_m - pose.along_m
        if abs(x - hip) <= FLOOR_M:
            shapes.append(Line((place((x, -fall * x)), place((x, -fall * x - 0.05))), "ink_soft", 2.0))
    return shapes


def _stair(pose: Pose, floor: Floor) -> list[Point]:
    """Return the edges of the steps around the figure; half the foot stands over each edge."""
    over_m = 0.06
    first = math.floor((pose.prosthesis.hip[0] - FLOOR_M) / floor.going_m)
    points: list[Point] = []
    for k in range(first, first + math.ceil(2 * FLOOR_M / floor.going_m)):
        edge, height = k * floor.going_m + over_m, -k * floor.rise_m
        points += [(edge, height), (edge, height - floor.rise_m)]
    return points


def _sound_leg(leg: LegPoints, place) -> list[Shape]:
    hip, knee, ankle, heel, toe = (place(p) for p in (leg.hip, leg.knee, leg.ankle, leg.heel, leg.toe))
    return [
        Line((hip, knee, ankle), "ink_soft", 9.0),
        Line((ankle, heel, toe), "ink_soft", 5.0, closed=True),
    ]


def _prosthesis(leg: LegPoints, place) -> list[Shape]:
    hip, knee, ankle, heel, toe = (place(p) for p in (leg.hip, leg.knee, leg.ankle, leg.heel, leg.toe))
    socket_end = _between(hip, knee, 0.72)
    return [
        Line((hip, _between(hip, knee, 0.2)), "ink", 13.0),
        Area(_tapered(_between(hip, knee, 0.12), socket_end, 78.0, 52.0), "working"),
        Line((socket_end, knee), "ink", 6.0),
        Line((knee, ankle), "ink", 6.0),
        Area((heel, toe, ankle), "working"),
        Line((heel, toe), "ink", 4.0),
        Disc(knee, 46.0, "field", "ink", 3.0),
        Disc(knee, 12.0, "ink", "ink", 1.0),
    ]


def _upper_body(pose: Pose, place) -> list[Shape]:
    hip = pose.prosthesis.hip
    leg_m = math.dist(pose.sound.hip, pose.sound.knee) + math.dist(pose.sound.knee, pose.sound.ankle)

    turned = math.radians(pose.lean_deg)

    def up(part: float) -> Point:
        return hip[0] + part * leg_m * math.sin(turned), hip[1] + part * leg_m * math.cos(turned)

    shoulder = up(SHOULDER_PART)

    def arm(degrees: float, tone: str) -> Line:
        a = math.radians(degrees)
        hand = (shoulder[0] + ARM_PART * leg_m * math.sin(a), shoulder[1] - ARM_PART * leg_m * math.cos(a))
        return Line((place(_between(shoulder, hand, 0.5)), place(hand)), tone, 7.0)

    return [
        arm(-pose.arms_deg, "hairline"),
        Line((place(hip), place(up(TRUNK_PART))), "ink_soft", 18.0),
        arm(pose.arms_deg, "ink"),
    ]


def _strokes(at: Point, reach_mm: float, strength: float) -> list[Shape]:
    """Short strokes around a point: what would be heard there, the longer the harder."""
    shapes: list[Shape] = []
    for degrees in (20, 65, 110, 155, 200, 340):
        cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        shapes.append(Line((
            (at[0] + 62 * cosine, at[1] + 62 * sine), (at[0] + reach_mm * cosine, at[1] + reach_mm * sine),
        ), "doubt", 2.0 + 2.0 * strength))
    return shapes


def _between(a: Point, b: Point, share: float) -> Point:
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def _tapered(a: Point, b: Point, wide_a: float, wide_b: float) -> tuple[Point, ...]:
    """Return a shape around a line, so wide in mm to each side at its ends."""
    along = math.dist(a, b) or 1.0
    x, y = (b[1] - a[1]) / along, -(b[0] - a[0]) / along
    return (
        (a[0] + x * wide_a, a[1] + y * wide_a), (b[0] + x * wide_b, b[1] + y * wide_b),
        (b[0] - x * wide_b, b[1] - y * wide_b), (a[0] - x * wide_a, a[1] - y * wide_a),
    )
