"""Belief about where the good window of an adjuster lies, after some trials.

A window is a run of positions.  Its edges lie half a smallest step outside the
first and last good position.  A trial perceives how far the position lies from
the edges, with a normal error: an ordered probit model (McCullagh P, Regression
models for ordinal data, J R Stat Soc B 1980;42:109-142) with the window's edges
and the slight/marked border as cut points.  Bayes' rule does the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erfc, exp, sqrt
from typing import Sequence

from shared_models.calculations.tuning.assumptions import Assumptions, Perceived
from shared_models.calculations.tuning.course import RIGHT, TOO_LOW, Evidence

#: At most so many places and widths are told apart; a finer grid is thinned.
MOST_PLACES, MOST_WIDTHS = 40, 8
#: What a trial may show: side and grade, most too low first.
OUTCOMES = ((-1, 2), (-1, 1), (0, 0), (1, 1), (1, 2))
#: Believed windows of a smaller share than this are no longer followed.
_LEAST = 1e-9


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
    narrow = max(1, round(assumed.narrowest_share * steps))
    wide = max(narrow, round(assumed.widest_share * steps))
    stride = max(thin, -(-(wide - narrow + 1) // MOST_WIDTHS))
    edges, weights = [], []
    middle, spread = assumed.middle_share * steps, assumed.spread_share * steps
    for width in range(narrow, wide + 1, stride):
        for first in range(1 - width, steps + 1, thin):
            off = (first + (width - 1) / 2 - middle) / spread
            inside = 0 <= first + (width - 1) / 2 <= steps
            even = assumed.even_part / (steps + 1) if inside else 0.0
            peak = (1 - assumed.even_part) * exp(-off * off / 2) / (spread * 2.5066282746310002)
            edges.append((first - 0.5, first + width - 0.5))
            weights.append(even + peak)
    whole = sum(weights) / (1 - assumed.nowhere_part)
    return Belief(steps, tuple(edges), tuple(w / whole for w in weights), assumed.nowhere_part)


def tail(value: float) -> float:
    """Return the standard normal distribution function at a value."""
    return 0.5 * erfc(-value / sqrt(2))


def likelihood(
    side: int, grade: int, place: float, edges: tuple[float, float],
    way: Perceived, steps: int,
) -> float:
    """Return the chance of one thing perceived at a place, given the window's edges."""
    error, slight = way.error_share * steps, way.slight_share * steps
    early = way.early_share * steps
    below, above = edges[0] + early - place, place - edges[1] + early
    if side == RIGHT:
        clean = 1 - tail(below / error) - tail(above / error)
    else:
        off = below if side == TOO_LOW else above
        marked = tail((off - slight) / error)
        clean = marked if grade == 2 else tail(off / error) - marked
    return (1 - way.stray_part) * max(clean, 0.0) + way.stray_part / len(OUTCOMES)


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
        way = assumed.perceived.get(one.perceived, assumed.perceived["felt"])
        chances = [
            c * likelihood(one.side, one.grade, place, e, way, belief.steps) ** weight
            for c, e in zip(chances, belief.edges)
        ]
        nowhere *= (1 / len(OUTCOMES)) ** weight
    whole = sum(chances) + nowhere
    kept = [(e, c / whole) for e, c in zip(belief.edges, chances) if c > _LEAST * whole]
    return Belief(
        belief.steps, tuple(e for e, _ in kept), tuple(c for _, c in kept), nowhere / whole,
    )
