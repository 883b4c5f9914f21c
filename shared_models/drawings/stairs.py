"""How the first trials are walked: between bars, down a ramp, down steps, with who stands where.

Plain strokes of our own, in cm; seen from the side, the person going to the
right and down.  Half the prosthetic foot stands over the edge of the step, the
sound foot goes to the next step below, the hand of the sound side is on the
rail, the helper stands below.  Common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.drawings.plain_shapes import Room, wrapped
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape, rectangle
from shared_models.language import spoken
from shared_models.wording import trials as words

#: Steps as they are drawn, in cm: a common stair, and low ones for the first try.
GOING_CM, RISE_CM, LOW_RISE_CM = 31.0, 17.0, 9.0
#: Fall of the ramp as it is drawn, steeper than one that is built, so that it is seen.
RAMP_FALL = 0.16
THIGH_CM, SHANK_CM, FOOT_CM, TRUNK_CM, ARM_CM, HEAD_CM = 43.0, 45.0, 26.0, 52.0, 34.0, 10.0
#: How much of the foot lies over the edge.
OVER_PART = 0.5
#: A place in the drawing, where its number stands, and what is there.
Note = tuple[Point, Point, str]
GROUNDS = ("level", "ramp", "low_steps", "stairs")


@dataclass(frozen=True)
class Leg:
    """The joints of a leg, and the ends of its foot."""

    hip: Point
    knee: Point
    heel: Point
    toe: Point

    @property
    def over_edge_cm(self) -> float:
        """How long the foot is."""
        return self.toe[0] - self.heel[0]


def how_scene(ground: str, room: Room) -> Scene:
    """Return how a first trial is walked: level, ramp, low_steps or stairs."""
    rise = {"stairs": RISE_CM, "low_steps": LOW_RISE_CM}.get(ground, 0.0)
    if rise:
        shapes, notes = _steps(rise)
    elif ground == "ramp":
        shapes, notes = _ramp()
    else:
        shapes, notes = _bars()
    return _framed(shapes, notes, room, words.HOW_SAYS[ground])


def standing_leg(edge: Point) -> Leg:
    """Return the prosthetic leg on a step: half of its foot stands over the edge, the knee yields."""
    heel = (edge[0] - FOOT_CM * (1 - OVER_PART), edge[1])
    toe = (heel[0] + FOOT_CM, edge[1])
    ankle = (heel[0] + 6, edge[1] + 7)
    knee = (ankle[0] + SHANK_CM * math.sin(math.radians(24)), ankle[1] + SHANK_CM * math.cos(math.radians(24)))
    hip = (knee[0] - THIGH_CM * math.sin(math.radians(20)), knee[1] + THIGH_CM * math.cos(math.radians(20)))
    return Leg(hip, knee, heel, toe)


def _steps(rise: float) -> tuple[list[Shape], list[Note]]:
    edges = [(n * GOING_CM, -n * rise) for n in range(3)]
    outline: list[Point] = [(-1.6 * GOING_CM, 0.0)]
    for x, y in edges:
        outline += [(x, y), (x, y - rise)]
    outline.append((edges[-1][0] + 1.5 * GOING_CM, edges[-1][1] - rise))
    leg = standing_leg(edges[0])
    # Step over step: the sound foot reaches past the prosthetic one, to the next step.
    sound_toe = (edges[1][0] - 2, edges[1][1] + 2)
    sound = Leg(leg.hip, _knee(leg.hip, (sound_toe[0] - 20, sound_toe[1] + 7)), (sound_toe[0] - FOOT_CM, sound_toe[1] + 6), sound_toe)
    shapes: list[Shape] = [Line(tuple(outline), "ink", 3.0), *_over(edges[0], leg)]
    hand = (leg.hip[0] + 30, leg.hip[1] + 22)
    rail = _rail(hand, -rise / GOING_CM, (-14.0, 112.0))
    shapes += [*rail, *_person(leg, sound, hand)]
    floor = outline[-1]
    shapes += _helper(floor[0] - 16, floor[1])
    notes = [
        ((leg.heel[0] - 4, 0.0), (-46.0, 26.0), spoken(words.HALF_FOOT)), (hand, (hand[0] + 8, hand[1] + 24), spoken(words.RAIL_HAND)),
        (sound_toe, (sound_toe[0] - 26, edges[2][1] - 14), spoken(words.STEP_OVER)),
        ((floor[0] - 16, floor[1] + 110), (floor[0] - 16, floor[1] + 172), spoken(words.HELPER_BELOW)),
    ]
    return shapes, notes


def _ramp() -> tuple[list[Shape], list[Note]]:
    floor = lambda x: -RAMP_FALL * x  # noqa: E731
    leg = standing_leg((6.0, floor(0.0)))
    toe = (52.0, floor(52.0) + 3)
    sound = Leg(leg.hip, _knee(leg.hip, (toe[0] - 20, toe[1] + 8)), (toe[0] - FOOT_CM, toe[1] + 7), toe)
    hand = (leg.hip[0] + 30, leg.hip[1] + 22)
    shapes: list[Shape] = [Line(((-70.0, floor(-70.0)), (190.0, floor(190.0))), "ink", 3.0)]
    shapes += [*_rail(hand, -RAMP_FALL, (-50.0, 160.0)), *_person(leg, sound, hand), *_helper(150.0, floor(150.0))]
    return shapes, [
        (hand, (hand[0] + 8, hand[1] + 26), spoken(words.RAIL_HAND)), ((150.0, floor(150.0) + 110), (150.0, floor(150.0) + 174), spoken(words.HELPER_BELOW)),
        (leg.knee, (leg.knee[0] - 44, leg.knee[1]), spoken(words.LET_LOWER)),
    ]


def _bars() -> tuple[list[Shape], list[Note]]:
    leg = standing_leg((6.0, 0.0))
    toe = (50.0, 3.0)
    sound = Leg(leg.hip, _knee(leg.hip, (toe[0] - 20, toe[1] + 8)), (toe[0] - FOOT_CM, toe[1] + 7), toe)
    hand = (leg.hip[0] + 32, leg.hip[1] + 6)
    bar = [Line(((-70.0, hand[1] - 2), (160.0, hand[1] - 2)), "ink_soft", 5.0)]
    posts = [Line(((x, 0.0), (x, hand[1] - 2)), "ink_soft", 4.0) for x in (-50.0, 140.0)]
    shapes: list[Shape] = [Line(((-80.0, 0.0), (190.0, 0.0)), "ink", 3.0), *bar, *posts]
    shapes += [*_person(leg, sound, hand), *_helper(-48.0, 0.0, facing=1)]
    return shapes, [
        (hand, (hand[0] + 12, hand[1] + 26), spoken(words.BETWEEN_BARS)), ((-48.0, 110.0), (-48.0, 178.0), spoken(words.SECOND_PERSON)),
        (leg.knee, (leg.knee[0] + 62, leg.knee[1] - 8), spoken(words.FROM_BELOW)),
    ]


def _knee(hip: Point, ankle: Point) -> Point:
    """Return the knee of a sound leg between hip and ankle, bent forward where they are near."""
    reach = math.dist(hip, ankle)
    long = THIGH_CM + SHANK_CM
    bend = math.sqrt(max(0.0, (long / 2) ** 2 - (reach / 2) ** 2))
    middle = ((hip[0] + ankle[0]) / 2, (hip[1] + ankle[1]) / 2)
    along = ((ankle[0] - hip[0]) / reach, (ankle[1] - hip[1]) / reach)
    return middle[0] - along[1] * bend, middle[1] + along[0] * bend


def _over(edge: Point, leg: Leg) -> list[Shape]:
    """The half of the foot that stands over the edge, marked."""
    low, high = edge[1] - 4.0, edge[1] + 5.0
    return [
        Area(rectangle(edge[0], low, leg.toe[0] - edge[0], high - low), "working_soft"),
        Line(((edge[0], low - 4), (edge[0], high + 4)), "working", 2.5, dashed=True),
    ]


def _rail(hand: Point, slope: float, ends: tuple[float, float]) -> list[Shape]:
    height = lambda x: hand[1] - 2 + slope * (x - hand[0])  # noqa: E731
    return [Line(((ends[0], height(ends[0])), (ends[1], height(ends[1]))), "ink_soft", 5.0)]


def _person(prosthesis: Leg, sound: Leg, hand: Point) -> list[Shape]:
    """Somebody with an upright trunk, the prosthesis in the strong tone before the sound leg."""
    hip = prosthesis.hip
    neck = (hip[0] + 2, hip[1] + TRUNK_CM)
    elbow = ((neck[0] + hand[0]) / 2 - 2, (neck[1] + hand[1]) / 2 - 8)
    return [
        Line((sound.hip, sound.knee, (sound.heel[0] + 6, sound.heel[1] + 5), sound.toe), "ink_soft", 7.0),
        Line((neck, elbow, hand), "ink_soft", 6.0),
        Line((hip, neck), "ink_soft", 10.0),
        Disc((neck[0] + 1, neck[1] + HEAD_CM + 4), HEAD_CM, "ink_soft", ""),
        Line((hip, prosthesis.knee), "ink", 9.0),
        Line((prosthesis.knee, (prosthesis.heel[0] + 6, prosthesis.heel[1] + 7)), "ink", 5.0),
        Line((prosthesis.heel, prosthesis.toe), "ink", 6.0),
        Disc(prosthesis.knee, 5.5, "field", "ink", 3.0),
    ]


def _helper(x: float, floor: float, facing: int = -1) -> list[Shape]:
    """Somebody who stands by with the arms ready, outlined and not filled."""
    hip, neck = (x, floor + 88), (x, floor + 88 + TRUNK_CM)
    hand = (x + facing * 30, neck[1] - 20)
    return [
        Line(((x - 8, floor), hip, (x + 8, floor)), "ink_soft", 3.0), Line((hip, neck), "ink_soft", 3.0),
        Line(((x + facing * 4, neck[1] - 4), hand), "ink_soft", 3.0), Disc((x, neck[1] + HEAD_CM + 4), HEAD_CM, "", "ink_soft", 3.0),
    ]


def _framed(shapes: list[Shape], notes: list[Note], room: Room, says: str) -> Scene:
    """The drawing with numbered places, and beneath it what each of them is."""
    points = [p for s in shapes if isinstance(s, (Line, Area)) for p in s.points]
    left, right = min(p[0] for p in points), max(p[0] for p in points)
    low = min(*(p[1] for p in points), *(at[1] - HEAD_CM for _, at, _ in notes))
    high = max(*(p[1] + 2 * HEAD_CM + 10 for p in points), *(at[1] + HEAD_CM for _, at, _ in notes))
    wide, tall = right - left + 20, high - low
    width, whole, told = wide, tall, []
    # A line's height grows with the whole, which grows with the lines: tried until it holds.
    for _ in range(6):
        line = room.line * whole
        told = [wrapped(f"{number}  {text}", width - 8, line) for number, (_, _, text) in enumerate(notes, 1)]
        below = sum(1.05 * line * (text.count("\n") + 1) for text in told) + 1.2 * line
        whole = max(tall + below, wide / room.wide)
        width = max(wide, whole * room.wide)
    line, middle = room.line * whole, (left + right) / 2
    numbered: list[Shape] = []
    for number, (place, at, _) in enumerate(notes, 1):
        numbered += [
            Line((place, at), "ink", 1.2), Disc(at, line * 0.55, "field", "ink", 2.0), Label(at, str(number), "body", bold=True),
        ]
    y = low - line * 0.6
    for text in told:
        numbered.append(Label((middle - width / 2 + 6, y), text, "body", across="left", up="top"))
        y -= line * 1.05 * (text.count("\n") + 1)
    spare = (whole - tall - below) / 2
    return Scene(middle - width / 2, high + spare - whole, width, whole, (*shapes, *numbered), says=says)
