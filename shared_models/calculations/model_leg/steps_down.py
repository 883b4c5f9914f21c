"""Step over step downwards as motion: stairs, low steps or a ramp, for the eye.

How the prosthetic knee yields is the model's own step down (`descent`); where
hip and sound foot are meanwhile is drawn around it.  No figure is read from it.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Mapping

from shared_models.calculations.model_leg.descent import RISE_M
from shared_models.calculations.model_leg.people import ModelPerson
from shared_models.calculations.model_leg.posing import (
    LegAngles,
    LegPoints,
    Point,
    build_of,
    leg_points,
    reaching,
)
from shared_models.calculations.model_leg.strides import LEAN_DEG, Event, Pose, _eased

#: How far forward one step goes, in m: a test stair's tread, low steps, a step down a
#: ramp (assumptions; the rises are those of `descent`).
GOING_M = {"stairs": 0.28, "low_steps": 0.34, "ramp": 0.55}
#: The sound leg's turn takes so long, in s (assumption: half of an unhurried stride).
SOUND_TURN_S = 0.75
#: A foot is lifted so far over a step's edge, in m (assumption).
LIFT_M = 0.07
#: The hip stands so far behind the foot it comes down on at the start, as part of a step.
BEHIND_PART, AHEAD_PART = 0.30, 0.62
#: The hip sinks at landing by so much for each m/s of landing speed, in s (assumption,
#: chosen to be seen).
SINKS_S = 0.09
#: A foot coming down points its toes down by so much, in degrees (assumption).
TOES_DOWN_DEG = -18.0


class StepsDown:
    """One step of each foot downwards; it begins with the weight on the prosthesis."""

    def __init__(self, person: ModelPerson, positions: Mapping[str, Decimal], ground: str) -> None:
        going_down = person.going_down
        self.person, self.ground = person, ground
        self.build = build_of(person.stature_m)
        self.rise_m, self.going_m = RISE_M[ground], GOING_M[ground]
        self.fall = self.rise_m / self.going_m
        self.done = going_down.descent(positions, 1.0, ground)
        self._wanted = going_down.wanted(ground)
        self._course = going_down.course(positions, ground)
        self.yield_s = self._course[-1][0]
        self.period_s = self.yield_s + SOUND_TURN_S
        self._slope_deg = -math.degrees(math.atan(self.fall)) if ground == "ramp" else 0.0
        self._landed = self._hip_over_prosthesis(self.yield_s)

    def knee_deg(self, time_s: float) -> float:
        """Return how far the yielding knee is bent some time after the weight came on."""
        course = self._course
        for (a, u), (b, v) in zip(course, course[1:]):
            if a <= time_s <= b and b > a:
                return u + (v - u) * (time_s - a) / (b - a)
        return course[-1][1]

    @property
    def events(self) -> tuple[Event, ...]:
        """The landings; the sound foot's is the harder the faster the knee let it down."""
        harder = self.done.landing_m_s / max(self._wanted.landing_m_s, 1e-6) - 1
        return (
            Event(self.yield_s, "contact", "sound", min(max(0.3 + harder / 2, 0.0), 1.0)),
            Event(self.period_s - 1e-6, "contact", "prosthetic", 0.3),
        )

    def at(self, time_s: float) -> Pose:
        """Return the pose at any moment; going down goes on from step to step."""
        steps, t = divmod(time_s, self.period_s)
        ours, theirs, lean = self._yielding(t) if t <= self.yield_s else self._turning(t - self.yield_s)
        arms = 0.5 * math.degrees(math.atan2(theirs.ankle[0] - ours.ankle[0], 1.0))
        return Pose(
            ours, theirs, lean, 2 * steps * self.going_m, 2 * steps * self.rise_m, arms_deg=arms,
        )

    # The two halves ------------------------------------------------------------------

    def _yielding(self, t: float) -> tuple[LegPoints, LegPoints, float]:
        """The weight is on the prosthesis; the sound foot goes from the step above to the one below."""
        hip = self._hip_over_prosthesis(t)
        share = _eased(t / self.yield_s)
        sound = self._carried((-1, 1), share)
        pitch = self._slope_deg + TOES_DOWN_DEG * math.sin(math.pi * min(share, 1.0) * 0.9)
        return self._leg(hip, self._stood(0), self._slope_deg), self._leg(hip, sound, pitch), 2 * LEAN_DEG

    def _turning(self, t: float) -> tuple[LegPoints, LegPoints, float]:
        """The weight is on the sound foot; the prosthesis goes on to the next step but one."""
        share = _eased(t / SOUND_TURN_S)
        begin = self._hip_over_prosthesis(0.0)
        end = (begin[0] + 2 * self.going_m, begin[1] - 2 * self.rise_m)
        sinks = SINKS_S * self.done.landing_m_s * _bump(t / SOUND_TURN_S)
        hip = (
            self._landed[0] + share * (end[0] - self._landed[0]),
            self._landed[1] + share * (end[1] - self._landed[1]) - sinks,
        )
        ours = self._leg(hip, self._carried((0, 2), share), self._slope_deg * share)
        eased = TOES_DOWN_DEG * math.sin(math.pi * 0.9) * (1 - _eased(4 * t / SOUND_TURN_S))
        return ours, self._leg(hip, self._stood(1), self._slope_deg + eased), 2 * LEAN_DEG + 60 * sinks

    def _hip_over_prosthesis(self, t: float) -> Point:
        half = math.radians(self.knee_deg(t)) / 2
        link = (self.build.thigh_m + self.build.shank_m) / 2
        away = 2 * link * math.cos(half)
        share = (self.knee_deg(t) - self._course[0][1]) / max(self._course[-1][1] - self._course[0][1], 1e-6)
        across = self.going_m * (-BEHIND_PART + share * (BEHIND_PART + AHEAD_PART))
        return across, self.build.ankle_m + math.sqrt(max(away**2 - across**2, 0.0))

    def _stood(self, step: int) -> Point:
        """Return where the ankle is of a foot that stands on a step, counted downwards."""
        return step * self.going_m, self.build.ankle_m - step * self.rise_m

    def _carried(self, steps: tuple[int, int], share: float) -> Point:
        (x, y), (to_x, to_y) = self._stood(steps[0]), self._stood(steps[1])
        # Forward first and down at the end, over the edge between.
        lift = LIFT_M * math.sin(math.pi * share)
        return x + (to_x - x) * _eased(share * 1.15), y + (to_y - y) * share**1.6 + lift

    def _leg(self, hip: Point, ankle: Point, pitch_deg: float) -> LegPoints:
        angles: LegAngles = reaching(self.build, hip, ankle, pitch_deg)
        return leg_points(self.build, hip, angles)


def _bump(part: float) -> float:
    """Return 0, quickly 1, and slowly 0 again over a half turn."""
    x = min(max(part, 0.0), 1.0)
    return math.sin(math.pi * x**0.5) ** 2
