"""Step-over-step descent: the knee yields under body weight until the sound foot lands.

Thigh and shank are two equal links of length l between hip and ankle; a knee
bent by a lowers the hip by h = 2·l·(1 - cos(a/2)) (geometry).  With the part s
of the weight on the leg, Lagrange's equation for the one angle is

    (M·l²·sin²(a/2) + J)·a'' + M·l²/2·sin(a/2)·cos(a/2)·a'² = s·M·g·l·sin(a/2) - damping(a')

J, the links' own turning, keeps it regular near the straight leg.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.calculations.model_leg.damper import Damper
from shared_models.calculations.model_leg.segments import GRAVITY_M_S2, above_zero
from shared_models.quantities.refusals import Refusal

#: The knee is this far bent when the weight comes over it on the way down (assumption).
START_FLEXION_RAD = math.radians(15)
#: Inertia of the links about the knee as a part of M·l² (assumption: 10 % of the
#: body's mass in each link, near enough to Winter's thigh, Table 4.1).
LINK_INERTIA_PART = 0.02
#: Steps of the knee angle that one descent is walked in.
ANGLE_STEPS = 60
#: A step that takes longer than this is given up, in s (assumption).
LONGEST_DESCENT_S = 4.0

#: Rise of one step in m: a test stair of a gait study had 0.17 m; low steps and
#: the fall of a ramp (5 degrees, the slope of the hill test of Hafner 2007, over
#: a step of 0.55 m, plus the roll-over) are common practice.
RISE_M = {"stairs": 0.17, "low_steps": 0.10, "ramp": 0.06}


@dataclass(frozen=True)
class Lowered:
    """A body above a knee: mass, link length and the part of its weight on it."""

    mass_kg: float
    link_m: float
    part: float

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            above_zero(name, value)

    def flexion_rad(self, drop_m: float) -> float:
        """Return the knee flexion that lowers the hip by so much."""
        return 2 * math.acos(1 - drop_m / (2 * self.link_m))


@dataclass(frozen=True)
class Descent:
    """One step down: time, the sound foot's landing speed, and the mean yield.

    ``is_given_up``: the knee yielded so slowly that the person stopped.
    """

    time_s: float
    landing_m_s: float
    yield_rad_s: float
    is_given_up: bool = False


def descend(body: Lowered, damper: Damper, rise_m: float) -> Descent:
    """Return one step down of a height; Refusal ``model_leg_step_too_high`` for too high.

    Walked in steps of the angle, finest at the start, with the damping taken at
    each step's end: stable however stiff the knee, never faster with more damping.
    """
    above_zero("rise_m", rise_m)
    start_drop_m = 2 * body.link_m * (1 - math.cos(START_FLEXION_RAD / 2))
    if start_drop_m + rise_m >= 2 * body.link_m:
        raise Refusal("model_leg_step_too_high", rise=f"{rise_m:g}")
    end = body.flexion_rad(start_drop_m + rise_m)
    finest = (end - START_FLEXION_RAD) / ANGLE_STEPS**2
    heavy = body.mass_kg * body.link_m**2
    pull = body.part * body.mass_kg * GRAVITY_M_S2 * body.link_m
    rate = time_s = 0.0
    for number in range(ANGLE_STEPS):
        bend = finest * (2 * number + 1)
        half = (START_FLEXION_RAD + finest * number**2 + bend / 2) / 2
        sine, cosine = math.sin(half), math.cos(half)
        moving = heavy * (sine * sine + LINK_INERTIA_PART) / (2 * bend)
        square = moving + heavy / 2 * sine * cosine + damper.flexion_square
        steady = pull * sine - damper.friction_nm + moving * rate * rate
        if steady <= 0:
            return Descent(LONGEST_DESCENT_S, 0.0, 0.0, True)
        linear = damper.flexion_linear
        faster = 2 * steady / (linear + math.sqrt(linear * linear + 4 * square * steady))
        time_s += 2 * bend / (rate + faster)
        rate = faster
        if time_s > LONGEST_DESCENT_S:
            return Descent(LONGEST_DESCENT_S, 0.0, finest * (number + 1)**2 / LONGEST_DESCENT_S, True)
    landing = body.link_m * math.sin(end / 2) * rate
    return Descent(time_s, landing, (end - START_FLEXION_RAD) / time_s)
