"""What model people and their knees are drawn from.

Nothing here describes anybody.  Every figure is an assumption unless a source
stands beside it; `spread`, `window_width` and `observer_error` scale them, so
that guidance can be tried where its own assumptions are wrong.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

# Bodies and walking: mean, standard deviation, lowest, highest ------------------

BODY_MASS_KG = (78.0, 11.0, 50.0, 110.0)
STATURE_M = (1.74, 0.08, 1.50, 1.95)
#: Mean of 53 people with above-knee prostheses over two minutes, 1.13 m/s:
#: Gaunaurd I et al., Arch Phys Med Rehabil 2020; the spread is narrower than
#: theirs, for active people (assumption).
SPEED_M_S = (1.13, 0.12, 0.85, 1.45)
#: Prosthetic shank and foot as part of the anatomical mass: from a bare shank
#: to the 75 % that four of six people liked best (Hale 1990).
SHANK_PART = (0.391, 0.75)
#: Knee at toe-off: flexion in degrees, and its rate in degrees/s at the printed
#: trial's step.  In that trial (Winter, Table A.1) the knee passes 35 degrees at
#: about 390/s and leaves the floor at 48; a prosthetic knee is let go later and
#: bends less by then (assumption).
TOE_OFF_FLEXION_DEG = (35.0, 2.0, 29.0, 41.0)
TOE_OFF_RATE_DEG_S = (375.0, 18.0, 320.0, 430.0)

# Knees: damping at the position that suits, how far the range reaches -----------

#: Moment at 5 rad/s over the shank's inertia, in rad/s²: median, log spread.
FLEXION_DAMPING_RAD_S2 = (20.0, 0.20)
EXTENSION_DAMPING_RAD_S2 = (6.0, 0.20)
#: Stance moment at 1 rad/s over body weight times link length: median, log spread.
STANCE_DAMPING_PART = (0.20, 0.20)
#: Part of the moment at that speed which is linear; the rest goes with the square.
LINEAR_PART = (0.2, 0.6)
#: By what factor damping (or threshold) grows from the lowest to the highest position.
RANGE_RATIO = {
    "swing_flexion": (25.0, 70.0), "swing_extension": (25.0, 70.0),
    "stance_damping": (9.0, 18.0), "stance_threshold": (6.0, 12.0),
}
#: Where the position that suits lies in the range: mean and standard deviation.
SUITED_PLACE = {
    "swing_flexion": (0.50, 0.20), "swing_extension": (0.50, 0.20),
    "stance_damping": (0.50, 0.20), "stance_threshold": (0.30, 0.15),
}
#: It never lies nearer to the ends than this, unless no position suits.
FROM_THE_END = 0.06
#: Where it would lie when no position suits: outside the range by so much.
OUT_OF_RANGE = (0.30, 0.45)

# Loads ------------------------------------------------------------------------

#: Threshold that suits, as part of body weight.
SUITED_THRESHOLD_PART = (0.35, 0.50)
#: The damping lets go at this part of its threshold.
LET_GO_PART = (0.60, 0.80)
#: Load that comes on the leg going down, beside level walking.
DESCENT_LOAD_PART = (0.97, 1.35)
#: Part of the load that is left on the leg with hands on the bars.
ON_THE_BARS_PART = (0.55, 0.80)
#: Part of the weight on the yielding leg going down.
LOWERED_PART = (0.70, 0.90)

# What the person wants: how far from the best is still right ---------------------

#: Heel rise, as peak knee flexion in degrees, either way.
HEEL_RISE_TOLERANCE_DEG = (1.5, 3.6)
#: Terminal speed borne above the best, in degrees/s.
IMPACT_TOLERANCE_DEG_S = (10.0, 35.0)
#: Full extension later than the best, in s.
LATE_TOLERANCE_S = (0.006, 0.018)
#: Between full extension and the foot's contact when all is well: a pause that
#: prosthetic swings have (common practice).
PAUSE_S = (0.03, 0.06)
#: How much longer than meant the swing is stretched for a knee still bent, in s.
PATIENCE_S = 0.06
#: A knee still bent at contact counts as later by this much a radian, in s.
BENT_AS_LATE_S_RAD = 0.25
#: Threshold below and above the best, as part of it.
THRESHOLD_TOLERANCE = (0.07, 0.22)
#: Landing speed and time of a step down beyond the best, as parts of them.
DESCENT_TOLERANCE = (0.07, 0.20)

# Whoever observes: standard deviation of one trial's impression ------------------

HEEL_RISE_ERROR_DEG = 0.9
IMPACT_ERROR_DEG_S = 8.0
LATE_ERROR_S = 0.004
THRESHOLD_ERROR_PART = 0.06
DESCENT_ERROR_PART = 0.06
#: Part of that variance which all observers share: the person's own steps.
SHARED_VARIANCE = 0.6
#: From here outside what is wanted a finding is marked; below it is slight.
MARKED_HEEL_RISE_DEG = 4.0
MARKED_IMPACT_DEG_S = 35.0
MARKED_LATE_S = 0.020
MARKED_THRESHOLD_PART = 0.25
MARKED_DESCENT_PART = 0.25
#: A taps' jitter of 0.05 s is common practice for a thumb on a screen; a step's
#: own variation of 3 % is usual (Hausdorff JM, J Neuroeng Rehabil 2005;2:19: from memory).
TAP_JITTER_S = 0.05
STEP_VARIATION = 0.03
#: Chance that a knee without damping is noticed as giving way.
GIVES_WAY_CHANCE = 0.3


@dataclass(frozen=True)
class Lot:
    """One stream of chance for one subject of one person."""

    chance: random.Random
    spread: float = 1.0

    def bell(self, mean: float, deviation: float, lowest: float, highest: float) -> float:
        """Return a normal figure kept between two ends; the spread scales it."""
        return min(max(self.chance.gauss(mean, deviation * self.spread), lowest), highest)

    def even(self, ends: tuple[float, float], scale: float = 1.0) -> float:
        """Return an even figure between two ends, times a scale."""
        return scale * self.chance.uniform(*ends)

    def skewed(self, median: float, log_spread: float) -> float:
        """Return a log-normal figure; the spread scales it."""
        return median * math.exp(self.chance.gauss(0.0, log_spread * self.spread))

    def place(self, function: str) -> float:
        """Return where in its range the position lies that suits."""
        mean, deviation = SUITED_PLACE[function]
        for _ in range(50):
            drawn = self.chance.gauss(mean, deviation * self.spread)
            if FROM_THE_END <= drawn <= 1 - FROM_THE_END:
                return drawn
        return self.chance.uniform(FROM_THE_END, 1 - FROM_THE_END)


def lot(seed: int, subject: str, spread: float = 1.0) -> Lot:
    """Return the stream of chance of one subject: the same seed, the same figures."""
    return Lot(random.Random(f"{seed}/{subject}"), spread)
