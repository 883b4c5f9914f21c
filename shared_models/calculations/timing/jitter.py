"""How uncertain a figure is: the tapper's jitter, and the steps' own variation.

Every contact is off by an error of its own with a stated standard deviation.
One contact ends one interval and begins the next, so its error enters both
with opposite signs; it is carried through exactly for means, and by the
slopes of the formula (GUM, JCGM 100:2008, 5.1.2) for indices.
"""

from __future__ import annotations

import math
from typing import Mapping, Sequence

from shared_models.calculations.timing.indices import Index
from shared_models.calculations.timing.intervals import Interval
from shared_models.calculations.timing.spread import sample_sd
from shared_models.quantities.refusals import Refusal

#: Standard deviation of a thumb tap at a foot contact that is watched.  An
#: assumption (no published figure known): state another where one is known.
THUMB_JITTER_S = 0.05
#: Largest jitter that is taken: beyond it a tap tells no step from the next.
LARGEST_JITTER_S = 1.0
#: Means below this have no slope that a float can hold.
_SMALLEST_MEAN_S = 1e-6
_FEWEST_DEGREES_FOR_SD = 4
#: 97.5 % point of the normal distribution.
NORMAL_975 = 1.959963984540054


def refuse_jitter(jitter_s: float) -> None:
    """Refuse a jitter below 0, above a second or not a number."""
    if isinstance(jitter_s, bool) or not 0 <= jitter_s <= LARGEST_JITTER_S:
        raise Refusal("jitter_cannot_be", field="jitter_s", value=jitter_s, largest=LARGEST_JITTER_S)


def weights_of_mean(intervals: Sequence[Interval]) -> dict[int, float]:
    """Return what one second of error at each point does to the mean, in seconds."""
    weights: dict[int, float] = {}
    for each in intervals:
        weights[each.start] = weights.get(each.start, 0.0) - 1 / len(intervals)
        weights[each.end] = weights.get(each.end, 0.0) + 1 / len(intervals)
    return weights


def from_taps(weights: Mapping[int, float], jitter_s: float) -> float:
    """Return the standard uncertainty that independent errors of ``jitter_s`` leave."""
    return jitter_s * math.sqrt(math.fsum(w * w for w in weights.values()))


def index_from_taps(
    index: Index, left: Sequence[Interval], right: Sequence[Interval], jitter_s: float
) -> float | None:
    """Return what the taps leave in a symmetry index of two means; None without a value.

    For alternating steps, n_L and n_R of them, nearly every contact weighs
    1/n_L + 1/n_R in the difference of the means: taps of 50 ms leave about 11
    points of a symmetry index over 9 intervals of 0.6 s, and 5 over 39.
    """
    slopes = _slopes(index, left, right)
    if slopes is None:
        return None
    weights = {point: slopes[0] * w for point, w in weights_of_mean(left).items()}
    for point, w in weights_of_mean(right).items():
        weights[point] = weights.get(point, 0.0) + slopes[1] * w
    return from_taps(weights, jitter_s)


def from_variation(intervals: Sequence[Interval], jitter_s: float) -> float | None:
    """Return the standard error of a mean from the steps' own variation; None below two.

    What two jittering taps add to the variance of an interval (2 jitter^2) is
    taken off first; it is counted with the taps.
    """
    sd = sample_sd([each.time_s for each in intervals])
    if sd is None:
        return None
    return math.sqrt(max(0.0, sd * sd - 2 * jitter_s * jitter_s) / len(intervals))


def index_from_variation(
    index: Index, left: Sequence[Interval], right: Sequence[Interval], jitter_s: float
) -> tuple[float, float] | None:
    """Return what the steps' own variation leaves in an index of two means.

    Second is its effective number of degrees of freedom.
    """
    slopes = _slopes(index, left, right)
    u_left, u_right = from_variation(left, jitter_s), from_variation(right, jitter_s)
    if slopes is None or u_left is None or u_right is None:
        return None
    a, b = (slopes[0] * u_left) ** 2, (slopes[1] * u_right) ** 2
    shared = a * a / (len(left) - 1) + b * b / (len(right) - 1)
    return math.sqrt(a + b), ((a + b) ** 2 / shared if shared > 0 else math.inf)


def sd_limits(sd: float, n: int, jitter_s: float) -> tuple[float, float] | None:
    """Return 95 % limits of a person's own standard deviation in seconds.

    Chi-square limits of the observed one (Wilson-Hilferty approximation:
    within 5 % of the exact limits from four degrees of freedom upwards); the
    lower one without the 2 jitter^2 that two taps may have put into the
    variance.  None below five values.
    """
    degrees = n - 1
    if degrees < _FEWEST_DEGREES_FOR_SD:
        return None
    middle, wide = 1 - 2 / (9 * degrees), NORMAL_975 * math.sqrt(2 / (9 * degrees))
    low, high = sd / math.sqrt((middle + wide) ** 3), sd / math.sqrt((middle - wide) ** 3)
    return math.sqrt(max(0.0, low * low - 2 * jitter_s * jitter_s)), high


def share_of_taps(sd: float, jitter_s: float) -> float:
    """Return which part of an interval's variance two taps of ``jitter_s`` explain, 0 to 1."""
    from_two_taps = 2 * jitter_s * jitter_s
    if from_two_taps == 0:
        return 0.0
    return min(1.0, from_two_taps / (sd * sd)) if sd * sd > 0 else 1.0


def coverage_factor(u_taps: float, u_variation: float, degrees: float) -> float:
    """Return the factor for 95 %: Student's t at the effective degrees of freedom.

    ``degrees`` belong to the variation, which was estimated; the jitter is
    stated and has none (Welch-Satterthwaite, JCGM 100:2008, G.4.1).
    """
    if u_variation <= 0:
        return NORMAL_975
    both = u_taps ** 2 + u_variation ** 2
    return student_975(degrees * (both / u_variation ** 2) ** 2)


def student_975(degrees: float) -> float:
    """Return the 97.5 % point of Student's t (Abramowitz & Stegun 1964, 26.7.5).

    Within 0.2 % from three degrees of freedom upwards; 12.706 and 4.303 are
    exact for one and two, and what lies below three is taken from the whole
    number below it, which is the wider.
    """
    if degrees < 3:
        return 12.706204736 if degrees < 2 else 4.302652730
    z = NORMAL_975
    return (
        z + (z ** 3 + z) / (4 * degrees)
        + (5 * z ** 5 + 16 * z ** 3 + 3 * z) / (96 * degrees ** 2)
        + (3 * z ** 7 + 19 * z ** 5 + 17 * z ** 3 - 15 * z) / (384 * degrees ** 3)
        + (79 * z ** 9 + 776 * z ** 7 + 1482 * z ** 5 - 1920 * z ** 3 - 945 * z) / (92160 * degrees ** 4)
    )


def _slopes(
    index: Index, left: Sequence[Interval], right: Sequence[Interval]
) -> tuple[float, float] | None:
    if not left or not right:
        return None
    mean_left = math.fsum(i.time_s for i in left) / len(left)
    mean_right = math.fsum(i.time_s for i in right) / len(right)
    if min(mean_left, mean_right) < _SMALLEST_MEAN_S:
        return None
    return index.slopes(mean_left, mean_right)
