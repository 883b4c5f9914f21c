"""The leg from the front, to scale in mm: the floor at 0, the midline at 0, the person's right at the left.

Towards the midline is plus in every reading of this plane (docs/frames.md), so
a left and a right prosthesis are drawn as mirror images of one another.
"""

from __future__ import annotations

from shared_models.checks.alignment_reading import AlignmentReading
from shared_models.drawings.balance import balance_bar
from shared_models.drawings.leg_figures import LEG_UP_TO_LINE, LegFigures
from shared_models.drawings.plain_shapes import Room, turned
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape, rectangle
from shared_models.language import spoken
from shared_models.wording import alignment_drawing as words

KNEE_RING_MM = 13.0
#: Each leg stands this far from the midline, as a part of the width across the hips; common practice.
STANCE_SHARE = 0.28
_SOCKET_LOW_MM, _SOCKET_HIGH_MM = 44.0, 74.0
_BAR_HIGH_MM, _MARGIN_MM = 56.0, 14.0
#: Alignments that read the weight on each side.
WEIGHED = ("static_alignment",)


def outward(side: str) -> int:
    """Return which way is away from the midline in the drawing: 1 to the right, -1 to the left.

    Seen from the front, the person's left is at the right.
    """
    return 1 if side == "left" else -1


def front_scene(leg: LegFigures, reading: AlignmentReading, room: Room) -> Scene:
    """Return the leg from the front, with the pelvis and the weights where the alignment reads them."""
    away = outward(leg.side)
    if room.line > LEG_UP_TO_LINE and reading.kind in WEIGHED:
        return _weights_scene(leg, reading, away, room)
    at = STANCE_SHARE * leg.hips_apart_mm
    standing, weighed = not reading.is_bench, reading.kind in WEIGHED
    top = leg.hip_mm if standing else leg.knee_mm + leg.socket_to_mm
    # Lines of type above what is drawn, and below the floor.
    over, under = 1.6, (4.2 if weighed else 0.0)
    fixed = top + 30.0 + (_BAR_HIGH_MM if weighed else 0.0) + 2 * _MARGIN_MM
    high = fixed / (1 - (over + under) * room.line)
    line = high * room.line
    half = max(high * room.wide / 2, leg.hips_apart_mm / 2 + 30.0)
    shapes: list[Shape] = [Line(((-half, 0), (half, 0)), "ink_soft", 1.5)]
    if standing:
        shapes += _sound_leg(leg, -away * at)
        shapes += _pelvis(leg, reading, away)
    if weighed:
        shapes += _weights(reading, away, half, line)
    shapes += _prosthesis(leg, reading, away, away * at)
    shapes += [
        Label((side * (half - _MARGIN_MM), 6.0), spoken(name), "body", "ink_soft", across=across, up="bottom")
        for side, name, across in ((-1, "right", "left"), (1, "left", "right"))
    ]
    bottom = -(high - top - 30.0 - over * line)
    return Scene(-half, bottom, 2 * half, high, tuple(shapes), says=_says(leg, reading))


def _weights_scene(leg: LegFigures, reading: AlignmentReading, away: int, room: Room) -> Scene:
    """Return height and weights alone, for a place too low for the legs above their words."""
    high = 400.0
    line, half = high * room.line, high * room.wide / 2
    difference = reading.height_difference_mm
    told = spoken(words.NOT_READ) if difference is None else words.height_words(difference)
    doubt = difference is not None and words.height_is_doubted(difference)
    shapes = [
        Label((0, 1.3 * line), told, "unit", "doubt_text" if doubt else "ink", bold=difference is not None, up="top"),
        *_weights(reading, away, half, line, brief=True),
    ]
    return Scene(-half, 1.5 * line - high, 2 * half, high, tuple(shapes), says=_says(leg, reading))


def reference_point(leg: LegFigures, reading: AlignmentReading) -> Point:
    """Return where the socket's reference height stands: beside the knee centre (outside plus), and above it."""
    tilt = leg.adduction_deg or 0.0
    return turned((0.0, leg.socket_to_mm), (0.0, leg.pivot_mm), tilt)


def _prosthesis(leg: LegFigures, reading: AlignmentReading, away: int, at: float) -> list[Shape]:
    knee = (at, leg.knee_mm)
    pivot = (at, leg.knee_mm + leg.pivot_mm)
    known = leg.adduction_deg is not None
    tilt = away * (leg.adduction_deg or 0.0)
    low, high = leg.knee_mm + leg.socket_from_mm, leg.knee_mm + leg.socket_to_mm
    corners = tuple(turned(corner, pivot, tilt) for corner in (
        (at - _SOCKET_LOW_MM, low), (at - _SOCKET_HIGH_MM, high), (at + _SOCKET_HIGH_MM, high), (at + _SOCKET_LOW_MM, low),
    ))
    foot = turned((at, low), pivot, tilt)
    shapes: list[Shape] = [
        Area(((at - 34, 0), (at - 26, 66), (at + 26, 66), (at + 34, 0)), "panel"),
        Line(((at - 34, 0), (at - 26, 66), (at + 26, 66), (at + 34, 0)), "ink", 2.0, closed=True),
        Area(corners, "panel"), Line(corners, "ink", 2.0, dashed=not known, closed=True),
        Line(((at, 50), knee, pivot, foot), "ink", 7.0),
        Line(((at - 62, leg.knee_mm), (at + 62, leg.knee_mm)), "ink", 2.0),
        Disc(knee, KNEE_RING_MM, "field", "ink", 3.0),
    ]
    if known:
        name, figure = words.tilt_words("adduction", leg.adduction_deg or 0).rsplit(" ", 1)
        # In standing the sound leg stands at the inner side, on the bench that side is free.
        beside = away * (-1 if reading.is_bench else 1)
        shapes.append(Label((at + beside * 70, leg.knee_mm - 30), f"{name}\n{figure}", up="top",
                            across="left" if beside > 0 else "right"))
    if reading.is_bench and reading.outward_mm is not None and known:
        shapes += _beside(leg, reading, away, at)
    return shapes


def _beside(leg: LegFigures, reading: AlignmentReading, away: int, at: float) -> list[Shape]:
    """How far the socket's reference point stands beside the plumb line through the knee centre."""
    beside, above = reference_point(leg, reading)
    y = leg.knee_mm + above
    return [
        Line(((at, leg.knee_mm + 20), (at, y + 20)), "ink_soft", 1.5, dashed=True),
        Line(((at, y), (at + away * beside, y)), "working", 4.0),
        Disc((at + away * beside, y), 6.0, "working", ""),
        Label((at, y + 20), words.outward_words(reading.outward_mm or 0), up="bottom", ground_tone="field"),
    ]


def _sound_leg(leg: LegFigures, at: float) -> list[Shape]:
    """The sound leg in usual proportions, in thin strokes because nothing of it is measured."""
    outline = ((at - 34, 0), (at - 40, leg.knee_mm), (at - 70, leg.hip_mm - 30), (at + 70, leg.hip_mm - 30), (at + 40, leg.knee_mm), (at + 34, 0))
    return [Line(outline, "ink_soft", 1.5, closed=True)]


def _pelvis(leg: LegFigures, reading: AlignmentReading, away: int) -> list[Shape]:
    """The pelvis line: level where nothing is read, else from the sound side to where the prosthesis carries it."""
    half, hip = leg.hips_apart_mm / 2, leg.hip_mm
    sound, own = (-away * half, hip), (away * half, hip)
    difference = reading.height_difference_mm
    if difference is None:
        return [
            Line((sound, own), "ink_soft", 2.0, dashed=True),
            Label((0, hip), spoken(words.NOT_READ), up="bottom", shift_dp=(0, 4), ground_tone="field"),
        ]
    doubt = words.height_is_doubted(difference)
    lifted = (own[0], hip + difference)
    tone = "doubt" if doubt else "ink"
    return [
        Line((sound, own), "ink_soft", 1.5, dashed=True), Line((sound, lifted), tone, 5.0),
        *(Disc(end, 9.0, tone, "") for end in (sound, lifted)),
        Label((0, max(hip, lifted[1])), words.height_words(difference), "unit", "doubt_text" if doubt else "ink",
              bold=True, up="bottom", shift_dp=(0, 6), ground_tone="field"),
    ]


def _weights(reading: AlignmentReading, away: int, half: float, line: float, brief: bool = False) -> list[Shape]:
    """The kilograms on each side beneath the floor, and how the weight is shared."""
    weights = reading.weights
    shapes: list[Shape] = []
    whole = half - _MARGIN_MM
    for kg, side in ((weights.own_kg, away), (weights.other_kg, -away)):
        shapes.append(Label(
            (side * whole, -4.0), words.kilograms(kg), "unit", bold=kg is not None,
            across="right" if side > 0 else "left", up="top",
        ))
    bar = -4.0 - 1.35 * line - _BAR_HIGH_MM
    return shapes + balance_bar(weights, away, (-whole, bar, 2 * whole, _BAR_HIGH_MM), line, brief)


def _says(leg: LegFigures, reading: AlignmentReading) -> str:
    parts = []
    if leg.adduction_deg is not None:
        parts.append(spoken("socket {tilt_words}", tilt_words=words.tilt_words('adduction', leg.adduction_deg)))
    if reading.height_difference_mm is not None:
        parts.append(spoken("prosthesis {height_words}", height_words=words.height_words(reading.height_difference_mm)))
    if reading.weights.share_percent is not None:
        parts.append(words.share_words(reading.weights.share_percent, reading.weights.share_is_most))
    return spoken("From the front: ") + (", ".join(parts) or spoken(words.NOT_READ)) + "."
