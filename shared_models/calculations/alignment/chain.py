"""The leg as a chain of points and angles in one plane, from the floor up.

Sagittal plane: x forward, y up.  Frontal plane: x towards the midline, y up.
A joint is where an adapter can be tilted or slid; the stretches between are
rigid.  Everything above a joint follows it.  A tilt is plus when what is above
tips towards +x, a slide is plus when what is above moves towards +x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from shared_models.calculations.alignment.sound_figures import sound

#: Beyond this no adapter tilts; a larger figure is a typing error.
STEEPEST_TILT_DEG = 45.0
FARTHEST_SLIDE_MM = 100.0


@dataclass(frozen=True)
class Joint:
    """An adapter: where it sits, how it is set, and how far it goes either way.

    ``at_mm``: its height in the straight leg, along the leg from the sole.
    ``tilt_limit_deg``/``slide_limit_mm``: 0 where it does not tilt or slide.
    """

    name: str
    at_mm: float
    tilt_deg: float = 0.0
    slide_mm: float = 0.0
    tilt_limit_deg: float = 0.0
    slide_limit_mm: float = 0.0


@dataclass(frozen=True)
class Turn:
    """A change at one joint: tilt in degrees, slide in mm, signed as the joint's own."""

    joint: str
    tilt_deg: float = 0.0
    slide_mm: float = 0.0


@dataclass(frozen=True)
class Point:
    """A point of the leg in its plane, in mm, and the tilt of the stretch it lies on in degrees."""

    x_mm: float
    y_mm: float
    tilt_deg: float


@dataclass(frozen=True)
class Chain:
    """One plane of the leg.

    ``joints`` from the floor up; ``knee_at_mm`` and ``reference_at_mm`` (the
    socket's point that the reference line is drawn through; None when not
    known) are heights in the straight leg.  ``sole_tilt_deg`` tips the whole
    leg about the ball of the foot, which lies ``ball_ahead_mm`` in front of
    the first stretch: another heel height does that.
    """

    joints: tuple[Joint, ...]
    knee_at_mm: float
    reference_at_mm: float | None = None
    sole_tilt_deg: float = 0.0
    ball_ahead_mm: float = 0.0

    def __post_init__(self) -> None:
        sound("Knee centre to floor", self.knee_at_mm, "mm", 1.0, 2000.0)
        below = 0.0
        for joint in self.joints:
            sound(f"{joint.name}, height", joint.at_mm, "mm", below, 3000.0)
            sound(f"{joint.name}, tilt", joint.tilt_deg, "°", -STEEPEST_TILT_DEG, STEEPEST_TILT_DEG)
            sound(f"{joint.name}, slide", joint.slide_mm, "mm", -FARTHEST_SLIDE_MM, FARTHEST_SLIDE_MM)
            below = joint.at_mm
        if self.reference_at_mm is not None:
            sound("Socket's reference point", self.reference_at_mm, "mm", max(below, self.knee_at_mm), 3000.0)

    def joint(self, name: str) -> Joint:
        """Return the joint of that name; raise KeyError when there is none."""
        for joint in self.joints:
            if joint.name == name:
                return joint
        raise KeyError(name)

    def is_below_knee(self, joint: Joint) -> bool:
        """Tell whether a joint sits below the knee centre."""
        return joint.at_mm < self.knee_at_mm

    def point(self, at_mm: float, above: str = "") -> Point:
        """Return where the point at a height of the straight leg stands now.

        At a joint's own height the point is that of the joint before its slide
        and tilt, unless ``above`` names the joint.
        """
        angle = math.radians(self.sole_tilt_deg)
        x = self.ball_ahead_mm * (1 - math.cos(angle))
        y = self.ball_ahead_mm * math.sin(angle)
        below = 0.0
        for joint in self.joints:
            if joint.at_mm > at_mm or joint.at_mm == at_mm and joint.name != above:
                break
            x, y = x + (joint.at_mm - below) * math.sin(angle), y + (joint.at_mm - below) * math.cos(angle)
            x, y = x + joint.slide_mm * math.cos(angle), y - joint.slide_mm * math.sin(angle)
            angle += math.radians(joint.tilt_deg)
            below = joint.at_mm
        return Point(
            x + (at_mm - below) * math.sin(angle), y + (at_mm - below) * math.cos(angle),
            math.degrees(angle),
        )

    @property
    def knee(self) -> Point:
        """The knee centre."""
        return self.point(self.knee_at_mm)

    @property
    def top(self) -> Point:
        """The socket's reference point; the uppermost joint or the knee where it is not known."""
        if self.reference_at_mm is not None:
            return self.point(self.reference_at_mm)
        last = max([self.knee_at_mm, *(joint.at_mm for joint in self.joints)])
        return self.point(last, self.joints[-1].name if self.joints else "")

    @property
    def foot_angle_deg(self) -> float:
        """Angle of the foot against the socket: plus when the toes point up (dorsiflexed)."""
        return sum(joint.tilt_deg for joint in self.joints)

    def turned(self, turns: tuple[Turn, ...]) -> "Chain":
        """Return the leg after tilts and slides; raise KeyError for an unknown joint."""
        after = {joint.name: joint for joint in self.joints}
        for turn in turns:
            joint = after[turn.joint]
            after[turn.joint] = replace(
                joint, tilt_deg=joint.tilt_deg + turn.tilt_deg, slide_mm=joint.slide_mm + turn.slide_mm
            )
        return replace(self, joints=tuple(after.values()))


FOOT, SOCKET = "foot", "socket"


@dataclass(frozen=True)
class Line:
    """An upright line beside the leg, and which end of the leg it keeps to.

    A change below the knee is judged with the line kept under the same point
    of the foot, a change above it with the line kept at the same point of the
    socket: in both the line stays with the end of the leg that stays.
    """

    keeps_to: str
    from_end_mm: float

    def x_mm(self, chain: Chain) -> float:
        """Return where the line stands."""
        return self.from_end_mm + (chain.top.x_mm if self.keeps_to == SOCKET else 0.0)


def line_from_offset(chain: Chain, offset_mm: float, keeps_to: str) -> Line:
    """Return the line that passes ``offset_mm`` in front of the knee centre."""
    x = chain.knee.x_mm + offset_mm
    return Line(keeps_to, x - (chain.top.x_mm if keeps_to == SOCKET else 0.0))


def offset_mm(chain: Chain, line: Line) -> float:
    """Return how far in front of the knee centre a line passes, in mm; behind is minus."""
    return line.x_mm(chain) - chain.knee.x_mm


@dataclass(frozen=True)
class Leg:
    """Both planes of one leg: sagittal (forward plus) and frontal (towards the midline plus)."""

    sagittal: Chain
    frontal: Chain

    @property
    def knee_mm(self) -> tuple[float, float, float]:
        """The knee centre: forward, towards the midline, up (taken from the sagittal plane)."""
        side, front = self.sagittal.knee, self.frontal.knee
        return side.x_mm, front.x_mm, side.y_mm
