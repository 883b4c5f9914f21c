"""Intervals for shares and for ratios of means, to print beside measured figures."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Sequence

#: 97.5 % point of the standard normal distribution.
_Z = 1.959963984540054


@dataclass(frozen=True)
class Estimate:
    """A figure with its 95 % interval."""

    value: float
    lowest: float
    highest: float


def share(hits: int, count: int) -> Estimate:
    """Return a share with its interval.

    Wilson EB, Probable inference, the law of succession, and statistical
    inference, J Am Stat Assoc 1927;22:209-212.
    """
    if count <= 0:
        return Estimate(float("nan"), 0.0, 1.0)
    part, z2 = hits / count, _Z * _Z
    middle = (part + z2 / (2 * count)) / (1 + z2 / count)
    half = _Z * sqrt(part * (1 - part) / count + z2 / (4 * count * count)) / (1 + z2 / count)
    return Estimate(part, max(0.0, middle - half), min(1.0, middle + half))


def mean(values: Sequence[float]) -> Estimate:
    """Return a mean with its normal interval."""
    count = len(values)
    middle = sum(values) / count
    spread = sqrt(sum((v - middle) ** 2 for v in values) / max(count - 1, 1) / count)
    return Estimate(middle, middle - _Z * spread, middle + _Z * spread)


def ratio_of_means(above: Sequence[float], below: Sequence[float]) -> Estimate:
    """Return the ratio of the means of paired values, with its interval.

    Delta method for a ratio estimator (Cochran WG, Sampling techniques, 3rd ed.,
    Wiley 1977, section 6.3).
    """
    count = len(above)
    ratio = sum(above) / sum(below)
    middle = sum(below) / count
    rest = sum((a - ratio * b) ** 2 for a, b in zip(above, below)) / max(count - 1, 1)
    half = _Z * sqrt(rest / count) / middle
    return Estimate(ratio, ratio - half, ratio + half)
