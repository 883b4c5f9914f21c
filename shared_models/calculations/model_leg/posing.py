"""From joint angles to points: where hip, knee, ankle, heel and toe of a leg are.

Seen from the side the person faces, x forward and y up, in m; angles in degrees
as in docs/frames.md: thigh forward plus, knee bent plus, toe up (foot against
shank) plus.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.calculations.model_leg.segments import (
    ANKLE_HEIGHT_SHARE,
    FOOT_LENGTH_SHARE,
    LEG_LENGTH_SHARE,
    THIGH_LENGTH_SHARE,
    above_zero,
)

Point = tuple[float, float]
#: The part of a foot's length that lies behind the ankle (assumption: a quarter).
HEEL_PART = 0.25


@dataclass(frozen=True)
class Build:
    """Lengths of a leg in m: thigh, shank, ankle above the sole, heel and toe from beneath the ankle."""

    thigh_m: float
    shank_m: float
    ankle_m: float
    heel_m: float
    toe_m: float


@dataclass(frozen=True)
class LegAngles:
    """Thigh from the vertical, knee flexion, foot against shank, in degrees."""

    thigh_deg: float
    knee_deg: float
    ankle_deg: float

    @property
    def shank_deg(self) -> float:
        """Return the shank's angle from the vertical, forward plus."""
        return self.thigh_deg - self.knee_deg

    @property
    def pitch_deg(self) -> float:
        """Return the foot's angle against the floor, toe up plus."""
        return self.shank_deg + self.ankle_deg


@dataclass(frozen=True)
class LegPoints:
    """Where the joints of a leg and the ends of its sole are."""

    hip: Point
    knee: Point
    ankle: Point
    heel: Point
    toe: Point

    @property
    def lowest_m(self) -> float:
        """Return how high the lower end of the sole is."""
        return min(self.heel[1], self.toe[1])


def build_of(stature_m: float) -> Build:
    """Return the leg's lengths of an average body (segments: Drillis and Contini)."""
    foot_m = FOOT_LENGTH_SHARE * above_zero("stature_m", stature_m)
    return Build(
        THIGH_LENGTH_SHARE * stature_m, LEG_LENGTH_SHARE * stature_m, ANKLE_HEIGHT_SHARE * stature_m,
        HEEL_PART * foot_m, (1 - HEEL_PART) * foot_m,
    )


def leg_points(build: Build, hip: Point, angles: LegAngles) -> LegPoints:
    """Return the points of a leg that hangs from a hip."""
    knee = _hung(hip, build.thigh_m, angles.thigh_deg)
    ankle = _hung(knee, build.shank_m, angles.shank_deg)
    cosine, sine = _turn(angles.pitch_deg)

    def of_sole(forward_m: float) -> Point:
        return (
            ankle[0] + forward_m * cosine + build.ankle_m * sine,
            ankle[1] + forward_m * sine - build.ankle_m * cosine,
        )

    return LegPoints(hip, knee, ankle, of_sole(-build.heel_m), of_sole(build.toe_m))


def reaching(build: Build, hip: Point, ankle: Point, pitch_deg: float) -> LegAngles:
    """Return the angles by which a leg reaches from its hip to an ankle, knee to the front.

    An ankle out of reach is reached towards, with the leg straight.
    """
    across, down = ankle[0] - hip[0], hip[1] - ankle[1]
    away = min(math.hypot(across, down), build.thigh_m + build.shank_m)
    thigh, shank = build.thigh_m, build.shank_m
    knee = math.pi - math.acos(_unit((thigh**2 + shank**2 - away**2) / (2 * thigh * shank)))
    lean = math.atan2(across, down)
    ahead = math.acos(_unit((thigh**2 + away**2 - shank**2) / (2 * thigh * away)))
    thigh_deg, knee_deg = math.degrees(lean + ahead), math.degrees(knee)
    return LegAngles(thigh_deg, knee_deg, pitch_deg - (thigh_deg - knee_deg))


def _unit(value: float) -> float:
    return min(max(value, -1.0), 1.0)


def _turn(degrees: float) -> Point:
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))


def _hung(above: Point, length_m: float, degrees: float) -> Point:
    cosine, sine = _turn(degrees)
    return above[0] + length_m * sine, above[1] - length_m * cosine
