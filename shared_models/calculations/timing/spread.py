"""Mean, median, sample standard deviation and coefficient of variation."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import median
from typing import Sequence


#: A mean below this (doubled contacts only) has no meaningful CV.
_SMALLEST_MEAN_S = 1e-6


@dataclass(frozen=True)
class Spread:
    """How some times are spread; seconds, ``cv_percent`` in per cent.

    ``sd`` divides by n - 1 (sample).  What too few values do not give is None.
    """

    n: int
    mean: float | None
    median: float | None
    sd: float | None
    cv_percent: float | None
    shortest: float | None
    longest: float | None


def spread_of(times_s: Sequence[float]) -> Spread:
    """Return the spread of times in seconds; CV = 100 * sample SD / mean."""
    if not times_s:
        return Spread(0, None, None, None, None, None, None)
    mean = math.fsum(times_s) / len(times_s)
    sd = sample_sd(times_s)
    cv = 100 * sd / mean if sd is not None and mean > _SMALLEST_MEAN_S else None
    return Spread(len(times_s), mean, median(times_s), sd, cv, min(times_s), max(times_s))


def sample_sd(values: Sequence[float]) -> float | None:
    """Return the standard deviation with n - 1 as divisor; None below two values."""
    if len(values) < 2:
        return None
    mean = math.fsum(values) / len(values)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))
