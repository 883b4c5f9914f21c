"""A stride of a model person as motion: every joint's angle in time, for the eye.

The prosthetic knee in swing is the simulation itself (`swing`), at the settings
as they stand.  What leads up to it and follows it in stance is drawn so that it
can be seen: how a knee without damping gives way, how a hard stop jars, how a
leg that is too long stubs or is vaulted over.  No figure is read from it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Mapping

from shared_models.calculations.model_leg.drive import thigh_deg
from shared_models.calculations.model_leg.people import DOUBLE_SUPPORT_PART, ModelPerson
from shared_models.calculations.model_leg.posing import (
    Build,
    LegAngles,
    LegPoints,
    build_of,
    leg_points,
)
from shared_models.calculations.model_leg.sound_side import (
    ANKLE_DEG,
    KNEE_DEG,
    STANCE_PART,
    around,
)

#: Poses worked out for one stride.
SAMPLES = 96
#: The knee begins to bend so long before toe-off, as a part of the stride (assumption).
PRE_SWING_PART = 0.16
#: How far a knee without damping bends when loaded, in degrees: least, for each part
#: of the threshold that is missing, most (assumptions, chosen to be seen).
GIVES_WAY_DEG = (10.0, 40.0, 26.0)
#: When it gives way and has caught itself, in parts of the stance (assumption).
GIVES_WAY_PART = (0.02, 0.45)
#: A knee that meets its stop springs back by so much, in s of the speed it came with,
#: and comes to rest in so long (assumptions, chosen to be seen).
JAR_S, JAR_RESTS_S = 0.012, 0.05
#: A prosthetic foot hardly moves against its shank (assumption), in degrees.
FOOT_DEG = 3.0
#: Foot flat on the floor between these parts of the stance; pitch eases in and out.
FLAT_FROM, FLAT_TO_SOUND, FLAT_TO_PROSTHESIS = 0.12, 0.66, 0.80
#: The trunk leans by so much, and by how much more for each degree of a knee giving way.
LEAN_DEG, LEAN_WITH_KNEE = 3.0, 0.35


@dataclass(frozen=True)
class Pose:
    """One moment: both legs, how the trunk leans, how far it has come along and down, in m.

    The legs' points count from where the stride began: along and down.
    """

    prosthesis: LegPoints
    sound: LegPoints
    lean_deg: float
    along_m: float
    down_m: float = 0.0
    #: Both arms swing by so much, the one at the prosthesis forward plus.
    arms_deg: float = 0.0


@dataclass(frozen=True)
class Event:
    """Something to be heard or tapped: ``contact`` of a side, or the ``stop`` struck.

    ``strength``: 0 to 1; a contact has 1.
    """

    at_s: float
    what: str
    side: str
    strength: float = 1.0


class LevelStride:
    """One stride on the level, from the prosthesis leaving the floor to it leaving again."""

    ground = "level"
    #: How far the floor falls for each m along.
    fall = 0.0

    def __init__(self, person: ModelPerson, positions: Mapping[str, Decimal]) -> None:
        self.person = person
        swinging = person.swinging
        self.gait = swinging.gait
        self.swing = swinging.swing(positions)
        self.build: Build = build_of(person.stature_m)
        usual_s = swinging.suited[1].contact_s
        self.contact_s = self.swing.contact_s
        self._usual_contact_s = min(usual_s, self.contact_s)
        self.period_s = self.gait.stride_s + self.contact_s - self._usual_contact_s
        self._swing_knee = swinging.course(positions)
        stance = person.standing.stance(positions)
        missing = max(-stance.spare_n, 0.0) / person.standing.suited_n
        least, growing, most = GIVES_WAY_DEG
        self.gives_way_deg = 0.0 if stance.comes_in else min(least + growing * missing, most)

    # Angles ------------------------------------------------------------------------

    def prosthesis_angles(self, time_s: float) -> LegAngles:
        """Return the angles of the prosthetic leg some time after it left the floor."""
        t = time_s % self.period_s
        thigh, knee = self._prosthesis_thigh(t), self.prosthesis_knee_deg(t)
        stance = (t - self.contact_s) / (self.period_s - self.contact_s)
        return _footed(thigh, knee, FOOT_DEG, stance, FLAT_TO_PROSTHESIS)

    def _prosthesis_thigh(self, t: float) -> float:
        if t <= self.contact_s:
            return self._held_thigh(t)
        stood_s = t - self.contact_s
        usual = thigh_deg(self.gait, self._usual_contact_s + stood_s)
        off = self._held_thigh(self.contact_s) - thigh_deg(self.gait, self._usual_contact_s)
        return usual + off * (1 - _eased(stood_s / (0.2 * self.gait.stride_s)))

    def _held_thigh(self, t: float) -> float:
        moments = self.person.swinging.leg.moments_deg
        at = min(t / (self.person.swinging.leg.step_s / 2), len(moments) - 1.001)
        k = int(at)
        return moments[k] + (at - k) * (moments[k + 1] - moments[k])

    def prosthesis_knee_deg(self, time_s: float) -> float:
        """Return the prosthetic knee's flexion some time after toe-off."""
        t = time_s % self.period_s
        if t <= self.contact_s:
            return self._swinging_knee(t)
        stood_s, left_s = t - self.contact_s, self.period_s - t
        at_contact = math.degrees(self.swing.flexion_at_contact_rad)
        knee = at_contact * (1 - _eased(stood_s / 0.12)) + self._jarred(t)
        part = stood_s / (self.period_s - self.contact_s)
        first, last = GIVES_WAY_PART
        if self.gives_way_deg and first < part < last:
            knee += self.gives_way_deg * math.sin(math.pi * ((part - first) / (last - first)) ** 0.7) ** 2
        pre_s = PRE_SWING_PART * self.period_s
        if left_s < pre_s:
            knee += self._swing_knee[0][1] * (1 - left_s / pre_s) ** 2
        return knee

    def _swinging_knee(self, t: float) -> float:
        course = self._swing_knee
        step_s = course[1][0] - course[0][0]
        k = min(int(t / step_s), len(course) - 1)
        here = course[k][1]
        if k + 1 < len(course):
            here += (t / step_s - k) * (course[k + 1][1] - here)
        return max(here, 0.0) + self._jarred(t)

    def _jarred(self, t: float) -> float:
        """The little spring back after the stop was struck."""
        struck = self.swing.extended_at_s
        if struck is None or t < struck:
            return 0.0
        speed, since = math.degrees(self.swing.terminal_rate_rad_s), t - struck
        wave = math.sin(math.pi * since / JAR_RESTS_S)
        return speed * JAR_S * abs(wave) * math.exp(-2.5 * since / JAR_RESTS_S)

    def sound_angles(self, time_s: float) -> LegAngles:
        """Return the angles of the sound leg some time after the prosthesis left the floor."""
        part = self.sound_part(time_s)
        usual_s = self.gait.stride_s
        # The series is counted from this leg's own toe-off.
        thigh = thigh_deg(self.gait, ((part - STANCE_PART) % 1.0) * usual_s)
        knee, ankle = around(KNEE_DEG, part), around(ANKLE_DEG, part)
        return _footed(thigh, knee, ankle, part / STANCE_PART, FLAT_TO_SOUND)

    def sound_part(self, time_s: float) -> float:
        """Return where in its own stride the sound leg is, 0 at its foot contact."""
        period, both_s = self.period_s, DOUBLE_SUPPORT_PART * self.period_s
        since = (time_s + both_s) % period
        stance_s = self.contact_s + 2 * both_s
        if since < stance_s:
            return STANCE_PART * since / stance_s
        return STANCE_PART + (1 - STANCE_PART) * (since - stance_s) / (period - stance_s)

    # Poses -------------------------------------------------------------------------

    @cached_property
    def poses(self) -> tuple[Pose, ...]:
        """Every pose of one stride, evenly in time; how far along counts from the first."""
        frames = [self._standing(k * self.period_s / SAMPLES) for k in range(SAMPLES)]
        along, found = 0.0, []
        for k, (legs, lean, arms) in enumerate(frames):
            found.append(Pose(legs[0], legs[1], lean, along, arms_deg=arms))
            bearing = 0 if self._bears((k + 0.5) * self.period_s / SAMPLES) == "prosthetic" else 1
            along += _rolled(legs[bearing], frames[(k + 1) % SAMPLES][0][bearing])
        object.__setattr__(self, "stride_m", along)
        return tuple(found)

    def at(self, time_s: float) -> Pose:
        """Return the pose at any moment; walking goes on from stride to stride."""
        poses = self.poses
        strides, within = divmod(time_s, self.period_s)
        k = min(int(within / self.period_s * SAMPLES), SAMPLES - 1)
        legs, lean, arms = self._standing(within)
        following = poses[k + 1].along_m if k + 1 < SAMPLES else self.stride_m  # type: ignore[attr-defined]
        share = within / self.period_s * SAMPLES - k
        along = poses[k].along_m + share * (following - poses[k].along_m)
        return Pose(legs[0], legs[1], lean, strides * self.stride_m + along, arms_deg=arms)  # type: ignore[attr-defined]

    @cached_property
    def events(self) -> tuple[Event, ...]:
        """What is heard and tapped in one stride, in its order."""
        found = [
            Event(self.contact_s, "contact", "prosthetic"),
            Event((1 - DOUBLE_SUPPORT_PART) * self.period_s, "contact", "sound"),
        ]
        struck = self.swing.extended_at_s
        if struck is not None:
            best = self.person.swinging.suited[1].terminal_rate_rad_s
            harder = math.degrees(self.swing.terminal_rate_rad_s - best)
            found.append(Event(struck, "stop", "prosthetic", min(max(0.25 + harder / 120, 0.0), 1.0)))
        return tuple(sorted(found, key=lambda event: event.at_s))

    def _standing(self, t: float):
        """Return both legs, how the trunk leans and how the arms swing; nothing is in the floor.

        The leg that bears the weight holds the hip; the one behind it stays on
        its toes until it leaves the floor.  Where the swinging prosthesis would
        strike the floor the sound foot rises on its toes: the person vaults.
        """
        build, t = self.build, t % self.period_s
        ours, theirs = self.prosthesis_angles(t), self.sound_angles(t)
        if self._bears(t) == "sound":
            height = -_hanging(build, theirs).lowest_m
            ours = self._behind(t, t - self.period_s * (1 - DOUBLE_SUPPORT_PART), ours, height)
            into_floor = -leg_points(build, (0.0, height), ours).lowest_m
            if into_floor > 0 and t < self.contact_s:
                theirs = _on_toes(build, theirs, into_floor)
        else:
            height = -_hanging(build, ours).lowest_m
            theirs = self._behind(t, t - self.contact_s, theirs, height)
        hip = (0.0, max(-_hanging(build, a).lowest_m for a in (ours, theirs)))
        lean = LEAN_DEG + LEAN_WITH_KNEE * self._given_way(t)
        arms = 0.6 * (theirs.thigh_deg - ours.thigh_deg)
        return (leg_points(build, hip, ours), leg_points(build, hip, theirs)), lean, arms

    def _bears(self, t: float) -> str:
        """Return which leg the weight is on: the one that came down last."""
        own = self.contact_s <= t < (1 - DOUBLE_SUPPORT_PART) * self.period_s
        return "prosthetic" if own else "sound"

    def _behind(self, t: float, since_s: float, angles: LegAngles, height: float) -> LegAngles:
        """Return the leg behind: on its toes while both feet are down, then easing out of it."""
        both_s = DOUBLE_SUPPORT_PART * self.period_s
        since_s %= self.period_s
        planted = _planted(self.build, angles, height)
        if since_s < both_s:
            share = _eased(since_s / (0.5 * both_s))
        else:
            share = 1 - _eased((since_s - both_s) / both_s)
        if share == 0:
            return angles
        pitch = angles.pitch_deg + share * (planted.pitch_deg - angles.pitch_deg)
        return LegAngles(angles.thigh_deg, angles.knee_deg, pitch - angles.shank_deg)

    def _given_way(self, t: float) -> float:
        within = t % self.period_s
        if not self.gives_way_deg or within < self.contact_s or within > 0.8 * self.period_s:
            return 0.0
        return self.prosthesis_knee_deg(within)


def _footed(thigh: float, knee: float, ankle: float, stance: float, flat_to: float) -> LegAngles:
    """Return the angles with the foot flat on the floor in the middle of stance."""
    if not 0 <= stance <= 1:
        return LegAngles(thigh, knee, ankle)
    free = thigh - knee + ankle
    held = _eased(stance / FLAT_FROM) * (1 - _eased((stance - flat_to) / (1 - flat_to)))
    return LegAngles(thigh, knee, free * (1 - held) - (thigh - knee))


def _on_toes(build: Build, angles: LegAngles, by_m: float) -> LegAngles:
    """Return the angles with the heel raised so that the ankle stands higher by so much."""
    raised = math.degrees(math.asin(min(by_m / build.toe_m, 0.7)))
    pitch = min(angles.pitch_deg, 0.0) - raised
    return LegAngles(angles.thigh_deg, angles.knee_deg, pitch - angles.shank_deg)


def _planted(build: Build, angles: LegAngles, height: float) -> LegAngles:
    """Return the angles with the foot turned so that its toe rests on the floor, heel up."""
    ankle_m = height + _hanging(build, angles).ankle[1]
    reach = math.hypot(build.toe_m, build.ankle_m)
    pitch = math.degrees(
        math.atan2(build.ankle_m, build.toe_m) - math.asin(min(max(ankle_m / reach, -1.0), 1.0))
    )
    return LegAngles(angles.thigh_deg, angles.knee_deg, min(pitch, 0.0) - angles.shank_deg)


def _hanging(build: Build, angles: LegAngles) -> LegPoints:
    return leg_points(build, (0.0, 0.0), angles)


def _rolled(now: LegPoints, then: LegPoints) -> float:
    """Return how far the hip goes forward while the foot that bears stays where it is."""
    end = "heel" if now.heel[1] + then.heel[1] < now.toe[1] + then.toe[1] else "toe"
    return float(getattr(now, end)[0] - getattr(then, end)[0])


def _eased(part: float) -> float:
    """Return 0 to 1, beginning and ending gently."""
    x = min(max(part, 0.0), 1.0)
    return x * x * (3 - 2 * x)
