"""Belief about where the good window of an adjuster lies, after some trials.

A window is a run of positions.  Its edges lie half a smallest step outside the
first and last good position.  A trial perceives how far the position lies from
the edges, with a normal error: on each side an ordered probit model (McCullagh P,
Regression models for ordinal data, J R Stat Soc B 1980;42:109-142) with the edge
and the slight/marked border as cut points.  Bayes' rule does the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erfc, exp, sqrt
from typing import Sequence

from shared_models.calculations.tuning.assumptions import Assumptions
from shared_models.calculations.tuning.course import Evidence

#: At most so many places and widths are told apart; a finer grid is thinned.
MOST_PLACES, MOST_WIDTHS = 40, 8
#: What a trial may show: side and grade, most too low first.
OUTCOMES = ((-1, 2), (-1, 1), (0, 0), (1, 1), (1, 2))


@dataclass(frozen=True)
class Belief:
    """Windows with their chances.

    ``edges``: (lower, upper) edge in smallest steps from the lowest position;
    ``chances``: of each, with ``nowhere`` adding up to 1.  ``steps``: number of
    smallest steps of the range.
    """

    steps: int
    edges: tuple[tuple[float, float], ...]
    chances: tuple[float, ...]
    nowhere: float

    def good(self, place: float) -> float:
        """Return the chance that a place (in smallest steps) is good."""
        return sum(c for (a, b), c in zip(self.edges, self.chances) if a < place < b)

    def too_low(self, place: float) -> float:
        """Return the chance that every good position lies above a place."""
        return sum(c for (a, _), c in zip(self.edges, self.chances) if place < a)

    def too_high(self, place: float) -> float:
        """Return the chance that every good position lies below a place."""
        return sum(c for (_, b), c in zip(self.edges, self.chances) if place > b)


@lru_cache(maxsize=64)
def prior(steps: int, assumed: Assumptions) -> Belief:
    """Return the belief before any trial, on a range of so many smallest steps."""
    thin = max(1, -(-steps // MOST_PLACES))
    middle, spread = assumed.middle_share * steps, assumed.spread_share * steps
    edges, weights = [], []
    for width, likely in _widths(steps, assumed):
        for first in range(1 - width, steps + 1, thin):
            centre = first + (width - 1) / 2
            even = assumed.even_part / (steps + 1) if 0 <= centre <= steps else 0.0
            peak = (1 - assumed.even_part) * _bell(centre, middle, spread)
            edges.append((first - 0.5, first + width - 0.5))
            weights.append(likely * (even + peak))
    whole = sum(weights) / (1 - assumed.nowhere_part)
    return Belief(steps, tuple(edges), tuple(w / whole for w in weights), assumed.nowhere_part)


def _widths(steps: int, assumed: Assumptions) -> list[tuple[int, float]]:
    """Return the widths told apart, in positions, with how likely each is."""
    mean, spread = assumed.width_share * steps, assumed.width_spread_share * steps
    narrow, wide = max(1, round(mean - 2 * spread)), max(1, round(mean + 2 * spread))
    stride = max(1, -(-(wide - narrow + 1) // MOST_WIDTHS))
    return [(width, _bell(width, mean, spread)) for width in range(narrow, wide + 1, stride)]


def _bell(value: float, mean: float, spread: float) -> float:
    off = (value - mean) / spread
    return exp(-off * off / 2) / (spread * 2.5066282746310002)


def tail(value: float) -> float:
    """Return the standard normal distribution function at a value."""
    return 0.5 * erfc(-value / sqrt(2))


@lru_cache(maxsize=8192)
def shown(off_low: float, off_high: float, assumed: Assumptions, steps: int, factor: float = 1.0) -> tuple[float, ...]:
    """Return the chance of each of OUTCOMES.

    ``off_low``, ``off_high``: how far the place lies below the lower and above
    the upper edge, in smallest steps (negative inside); ``factor``: error beside
    that of seeing.
    """
    chances = []
    for off, side in ((off_low, assumed.too_low), (off_high, assumed.too_high)):
        error = side.error_share * steps * factor
        beyond = (off + side.early_share * steps) / error
        marked = tail(beyond - side.slight_share * steps / error)
        chances += [marked, max(tail(beyond) - marked, 0.0)]
    low_marked, low_slight, high_marked, high_slight = chances
    # In a window narrower than findings show early both sides may add up to more than 1.
    whole = max(low_marked + low_slight + high_marked + high_slight, 1.0)
    found = (low_marked, low_slight, 0.0, high_slight, high_marked)
    none = 1.0 - sum(found) / whole
    stray = assumed.stray_part
    return tuple(
        (1 - stray) * (none if k == 2 else chance / whole) + stray / len(OUTCOMES)
        for k, chance in enumerate(found)
    )


def learnt(
    belief: Belief, place: float, evidence: Sequence[Evidence], assumed: Assumptions,
    weight: float = 1.0,
) -> Belief:
    """Return the belief after a trial at a place; ``weight`` below 1 trusts it less."""
    chances, nowhere = list(belief.chances), belief.nowhere
    # Ways that share part of their error are worth less than as many apart: the
    # mean of k of them has 1 + (k - 1) * shared of the information's k.
    weight /= 1 + (len(evidence) - 1) * assumed.shared_part
    for one in evidence:
        outcome, factor = OUTCOMES.index((one.side, one.grade)), assumed.factor(one.perceived)
        chances = [
            c * shown(a - place, place - b, assumed, belief.steps, factor)[outcome] ** weight
            for c, (a, b) in zip(chances, belief.edges)
        ]
        nowhere *= (1 / len(OUTCOMES)) ** weight
    whole = sum(chances) + nowhere
    return Belief(belief.steps, belief.edges, tuple(c / whole for c in chances), nowhere / whole)
