"""Which position to walk next: the one expected to need the fewest further trials.

One trial is looked ahead in full: for each position within reach, every outcome
with its chance, and whether it would be good enough to confirm.  What comes
after that is counted as if the window were then known: the steps to get there.
That is the usual one-step lookahead with a hindsight bound (Littman ML,
Cassandra AR, Kaelbling LP, Learning policies for partially observable
environments, ICML 1995, the 'QMDP' value).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt

from shared_models.calculations.tuning.assumptions import Assumptions
from shared_models.calculations.tuning.window import Belief, shown

#: Positions weighed for the next trial at most; among more, an even choice.
MOST_CANDIDATES = 13
#: Windows of a smaller chance than this don't change which position is best.
_LEAST = 1e-6


@dataclass(frozen=True)
class Weighed:
    """A position for the next trial: expected further trials, and its chances.

    ``confirmed``: of being confirmed after it; ``wrong``: of being confirmed
    though it is not good.
    """

    place: int
    trials: float
    good: float
    confirmed: float
    wrong: float
    too_high: float


def weigh(
    belief: Belief, place: int, reach: float, assumed: Assumptions,
) -> Weighed:
    """Return what a trial at a place is expected to lead to.

    ``reach``: largest step in smallest steps.  Trials already walked are not
    counted.
    """
    factor = _together(assumed)
    # A side's chances depend on how far off its edge lies only; few offs differ.
    known: dict[tuple[float, float], tuple[float, ...]] = {}
    mass, good, further = [0.0] * 5, [0.0] * 5, [0.0] * 5
    high = 0.0
    for (a, b), chance in zip(belief.edges, belief.chances):
        if chance < _LEAST:
            continue
        offs = (a - place, place - b)
        if offs not in known:
            known[offs] = shown(*offs, assumed, belief.steps, factor)
        inside = a < place < b
        away = 0.0 if inside else max(offs) + 0.5
        needed = max(1, ceil(away / reach - 1e-9))
        high += chance if place > b else 0.0
        for k, likely in enumerate(known[offs]):
            part = chance * likely
            mass[k] += part
            further[k] += part * needed
            if inside:
                good[k] += part
    confirmed = mass[2] if good[2] >= assumed.needed_chance * mass[2] else 0.0
    trials = 1 + sum(further) - (further[2] if confirmed else 0.0) + belief.nowhere
    wrong = mass[2] - good[2] if confirmed else 0.0
    return Weighed(place, trials, sum(good), confirmed, wrong, high)


def _together(assumed: Assumptions) -> float:
    """The error of all ways of noticing taken as one: that which their mean has."""
    precision = sum(1 / assumed.factor(way) ** 2 for way in assumed.ways)
    return sqrt((1 + (len(assumed.ways) - 1) * assumed.shared_part) / precision)


def within_reach(steps: int, place: float, reach: float) -> list[int]:
    """Return the places of the grid that one largest step can reach, the own one among them."""
    lowest = max(0, ceil(place - reach - 1e-9))
    highest = min(steps, int(place + reach + 1e-9))
    found = list(range(lowest, highest + 1))
    if len(found) <= MOST_CANDIDATES:
        return found
    share = (len(found) - 1) / (MOST_CANDIDATES - 1)
    kept = {found[round(k * share)] for k in range(MOST_CANDIDATES)}
    kept |= {int(place)} & set(found)
    return sorted(kept)
