"""How the thigh drives the swing: its angle and the knee's acceleration in time.

The course is a short Fourier series over one stride, counted from toe-off,
fitted by least squares to the hip and knee markers of the trial that Winter DA
printed (Biomechanics and Motor Control of Human Movement, Table A.1: stride
0.987 s, 1.43 m/s; every third frame, residual 0.7 degrees of thigh angle).
Slower and faster walking stretches it in time and scales it by step length.
A foot that is late does not get the next stance's course: the thigh is held.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.calculations.model_leg.segments import (
    HIP_HEIGHT_SHARE, THIGH_LENGTH_SHARE, above_zero,
)

#: Thigh angle in degrees, forward plus: mean, then cosine and sine of each harmonic.
THIGH_MEAN_DEG = 6.518
THIGH_HARMONICS_DEG = ((-10.194, 17.303), (-1.803, 4.677), (-1.833, 0.673))
#: Hip marker in cm about its steady way: cosine and sine of harmonics 1 and 2.
HIP_FORWARD_CM = ((-2.539, 1.057), (1.963, 0.828))
HIP_UP_CM = ((0.0, 0.0), (-1.153, 1.465))
#: The trial the series was fitted to (same table).
TRIAL_STRIDE_S, TRIAL_SPEED_M_S, TRIAL_HIP_HEIGHT_M = 0.987, 1.433, 0.81
TRIAL_STEP_M = TRIAL_STRIDE_S * TRIAL_SPEED_M_S / 2

#: Step length over cadence, in m per step/min, is nearly the same at all comfortable
#: speeds: Sekiya N, Nagasaki H, Gait Posture 1998;7:225-227 (from memory).
WALK_RATIO_M_MIN = 0.0064
#: The walk ratio is taken to grow with stature from this one (assumption).
WALK_RATIO_STATURE_M = 1.70

#: From this part of a stride after toe-off a person whose foot is still in the air
#: holds the thigh (swing takes 38 to 42 % of a stride: Winter, Perry), easing into
#: it over so much of a stride (assumption).
HELD_FROM_PART, EASED_OVER_PART = 0.42, 0.02

#: Step of the integrator in s; halves of it are where the drive is tabulated.
STEP_S = 0.005
#: Longest swing that is followed, in s.
LONGEST_SWING_S = 0.70


@dataclass(frozen=True)
class Gait:
    """A walking person's measures: what the drive is stretched and scaled by."""

    speed_m_s: float
    stature_m: float

    @property
    def cadence_steps_min(self) -> float:
        """Return steps a minute at this speed, from the walk ratio."""
        ratio = WALK_RATIO_M_MIN * self.stature_m / WALK_RATIO_STATURE_M
        return math.sqrt(60 * above_zero("speed_m_s", self.speed_m_s) / above_zero("walk_ratio", ratio))

    @property
    def step_m(self) -> float:
        """Return the step length in m."""
        return 60 * self.speed_m_s / self.cadence_steps_min

    @property
    def stride_s(self) -> float:
        """Return the stride time in s."""
        return 120 / self.cadence_steps_min

    @property
    def amplitude(self) -> float:
        """Return the thigh's swing beside the trial's: steps over leg length."""
        return self.step_m / TRIAL_STEP_M * TRIAL_HIP_HEIGHT_M / (HIP_HEIGHT_SHARE * self.stature_m)


@dataclass(frozen=True)
class Moment:
    """The drive at one moment: thigh angle and rate, knee acceleration in m/s²."""

    thigh_rad: float
    thigh_rate_rad_s: float
    knee_forward_m_s2: float
    knee_up_m_s2: float


def drive_at(gait: Gait, time_s: float) -> Moment:
    """Return the drive some time after toe-off."""
    return Moment(*_Series(gait).at(time_s))


def thigh_deg(gait: Gait, time_s: float) -> float:
    """Return the thigh's angle at any moment of the stride, counted from toe-off; nothing is held."""
    turn = 2 * math.pi * time_s / gait.stride_s
    return gait.amplitude * sum(
        c * math.cos(n * turn) + s * math.sin(n * turn)
        for n, (c, s) in enumerate(THIGH_HARMONICS_DEG, 1)
    ) + THIGH_MEAN_DEG


class _Series:
    """The series of one gait, with everything that does not change in time done once."""

    def __init__(self, gait: Gait) -> None:
        self.turn = turn = 2 * math.pi / gait.stride_s
        thigh, hip = math.radians(gait.amplitude), gait.amplitude / 100
        self.mean = math.radians(THIGH_MEAN_DEG)
        self.angle = [(thigh * c, thigh * s) for c, s in THIGH_HARMONICS_DEG]
        self.forward = [(-hip * (n * turn) ** 2 * c, -hip * (n * turn) ** 2 * s)
                        for n, (c, s) in enumerate(HIP_FORWARD_CM, 1)]
        self.up = [(-hip * (n * turn) ** 2 * c, -hip * (n * turn) ** 2 * s)
                   for n, (c, s) in enumerate(HIP_UP_CM, 1)]
        self.held_from_s = HELD_FROM_PART * gait.stride_s
        self.eased_over_s = EASED_OVER_PART * gait.stride_s
        self.thigh_m = THIGH_LENGTH_SHARE * gait.stature_m

    def at(self, time_s: float) -> tuple[float, float, float, float]:
        """Return thigh angle and rate, the knee's acceleration forward and up."""
        turn = self.turn
        # The course goes on at full pace until the thigh is held, then comes to rest.
        late = math.exp((time_s - self.held_from_s) / self.eased_over_s)
        pace = 1 / (1 + late)
        slowing = -pace * (1 - pace) / self.eased_over_s
        along_s = time_s - self.eased_over_s * math.log1p(late)
        c1, s1 = math.cos(turn * along_s), math.sin(turn * along_s)
        c2, s2 = c1 * c1 - s1 * s1, 2 * s1 * c1
        c3, s3 = c2 * c1 - s2 * s1, s2 * c1 + c2 * s1
        (a1, b1), (a2, b2), (a3, b3) = self.angle
        v1, v2, v3 = a1 * c1 + b1 * s1, a2 * c2 + b2 * s2, a3 * c3 + b3 * s3
        angle = self.mean + v1 + v2 + v3
        rate = turn * (b1 * c1 - a1 * s1 + 2 * (b2 * c2 - a2 * s2) + 3 * (b3 * c3 - a3 * s3))
        bend = -turn * turn * (v1 + 4 * v2 + 9 * v3) * pace * pace + rate * slowing
        rate *= pace
        (f1, g1), (f2, g2) = self.forward
        (u1, w1), (u2, w2) = self.up
        sine, cosine, long = math.sin(angle), math.cos(angle), self.thigh_m
        return (
            angle, rate,
            pace * (f1 * c1 + g1 * s1 + f2 * c2 + g2 * s2) + long * (bend * cosine - rate * rate * sine),
            pace * (u1 * c1 + w1 * s1 + u2 * c2 + w2 * s2) + long * (bend * sine + rate * rate * cosine),
        )


@dataclass(frozen=True)
class Drive:
    """The drive of one person at one speed, tabulated at half steps."""

    moments: tuple[tuple[float, float, float, float], ...]
    step_s: float = STEP_S


def tabulated(gait: Gait, step_s: float = STEP_S) -> Drive:
    """Return the drive at every half step up to the longest swing."""
    count = 2 * math.ceil(LONGEST_SWING_S / above_zero("step_s", step_s))
    at = _Series(gait).at
    return Drive(tuple([at(k * step_s / 2) for k in range(count + 1)]), step_s)


def held_thigh(duration_s: float, step_s: float = STEP_S) -> Drive:
    """Return the drive of a thigh held upright and still: a free swing of the shank."""
    return Drive(((0.0, 0.0, 0.0, 0.0),) * (2 * math.ceil(duration_s / step_s) + 1), step_s)
