"""The swing of shank and foot about the knee, driven by the thigh.

With the shank's angle p from the vertical (forward plus), the thigh's angle q
and the knee bent by q - p, the moments about the moving knee give

    I·p'' = -m·d·((g + up)·sin p + forward·cos p) + damping(q' - p')

(Newton and Euler, any textbook of mechanics; up and forward: the knee's
acceleration).  Fixed steps of the classical Runge-Kutta method of fourth order.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Iterator

from shared_models.calculations.model_leg.damper import Damper
from shared_models.calculations.model_leg.drive import Drive
from shared_models.calculations.model_leg.segments import GRAVITY_M_S2, Pendulum

#: One step of a swing: number, knee flexion in rad and its rate in rad/s.
Step = tuple[int, float, float]


@dataclass(frozen=True)
class Bent:
    """The knee as it bends furthest: the heel's rise.

    ``last``: the last step still bending, from which the extension goes on.
    """

    peak_rad: float
    peak_at_s: float
    last: Step


@dataclass(frozen=True)
class Swing:
    """One swing; ``extended_at_s`` is None when the knee never became straight.

    ``terminal_rate_rad_s``: how fast it met the extension stop (0: it did not);
    ``contact_s``: when the foot met the floor, counted from toe-off;
    ``flexion_at_contact_rad``: how far the knee was bent then.
    """

    peak_flexion_rad: float
    peak_at_s: float
    extended_at_s: float | None
    terminal_rate_rad_s: float
    contact_s: float
    flexion_at_contact_rad: float

    @property
    def is_extended(self) -> bool:
        """Return whether the knee was straight at foot contact."""
        return self.extended_at_s is not None


class SwingLeg:
    """A shank on a driven thigh: one person at one speed."""

    def __init__(self, pendulum: Pendulum, drive: Drive) -> None:
        self.pendulum, self.step_s = pendulum, drive.step_s
        gain = pendulum.mass_kg * pendulum.centre_m / pendulum.inertia_kg_m2
        self._moments = [
            (q, rate, gain * (GRAVITY_M_S2 + up), gain * forward)
            for q, rate, forward, up in drive.moments
        ]

    @property
    def moments_deg(self) -> list[float]:
        """Return the thigh's angle in degrees at every half step."""
        return [math.degrees(moment[0]) for moment in self._moments]

    def steps(self, damper: Damper, start: Step) -> Iterator[Step]:
        """Follow the knee from a step on, with no stop, as long as the drive lasts."""
        h, moments, inertia = self.step_s, self._moments, self.pendulum.inertia_kg_m2
        bend1, bend2 = damper.flexion_linear / inertia, damper.flexion_square / inertia
        back1, back2 = damper.extension_linear / inertia, damper.extension_square / inertia
        friction, sine, cosine = damper.friction_nm / inertia, math.sin, math.cos

        def turning(moment: tuple[float, float, float, float], p: float, w: float) -> float:
            _, thigh_rate, down, forward = moment
            rate = thigh_rate - w
            if rate > 0:
                damped = friction + rate * (bend1 + bend2 * rate)
            elif rate < 0:
                damped = rate * (back1 - back2 * rate) - friction
            else:
                damped = 0.0
            return damped - down * sine(p) - forward * cosine(p)

        number, knee, rate = start
        p, w = moments[2 * number][0] - knee, moments[2 * number][1] - rate
        half = h / 2
        for k in range(2 * number, len(moments) - 2, 2):
            middle, end = moments[k + 1], moments[k + 2]
            a1 = turning(moments[k], p, w)
            a2 = turning(middle, p + half * w, w + half * a1)
            a3 = turning(middle, p + half * w + half * half * a1, w + half * a2)
            a4 = turning(end, p + h * w + h * half * a2, w + h * a3)
            p += h * w + h * h / 6 * (a1 + a2 + a3)
            w += h / 6 * (a1 + 2 * a2 + 2 * a3 + a4)
            yield k // 2 + 1, end[0] - p, end[1] - w

    def bent(self, damper: Damper, knee_rad: float, rate_rad_s: float) -> Bent:
        """Return how far the knee bends from its state at toe-off.

        A knee that never turns back within the drive counts as bent as far as
        it came.  The extension damping has no part in it.
        """
        before: Step = (0, knee_rad, rate_rad_s)
        only_bending = replace(damper, extension_linear=0.0, extension_square=0.0)
        for step in self.steps(only_bending, before):
            if step[2] <= 0:
                return self._peak(before, step)
            before = step
        return Bent(before[1], before[0] * self.step_s, before)

    def _peak(self, before: Step, after: Step) -> Bent:
        number, knee, rate = before
        share = rate / (rate - after[2]) if rate > 0 else 0.0
        at_s = share * self.step_s
        return Bent(knee + 0.5 * rate * at_s, number * self.step_s + at_s, before)

    def swing(self, damper: Damper, bent: Bent, contact_s: float, latest_s: float) -> Swing:
        """Return the whole swing after its heel rise.

        ``contact_s``: when the person means to put the foot down; a knee still
        bent then is waited for until ``latest_s``.
        """
        before = bent.last
        for step in self.steps(damper, before):
            if step[1] <= 0:
                share = before[1] / (before[1] - step[1])
                at_s = (before[0] + share) * self.step_s
                if at_s > latest_s:
                    break
                rate = -(before[2] + share * (step[2] - before[2]))
                return Swing(bent.peak_rad, bent.peak_at_s, at_s, rate, max(at_s, contact_s), 0.0)
            if step[0] * self.step_s >= latest_s:
                break
            before = step
        return Swing(bent.peak_rad, bent.peak_at_s, None, 0.0, latest_s, max(before[1], 0.0))
