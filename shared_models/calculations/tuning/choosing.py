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
from typing import Sequence

from shared_models.calculations.tuning.assumptions import Assumptions, Perceived
from shared_models.calculations.tuning.window import OUTCOMES, Belief, tail

#: Positions weighed for the next trial at most; among more, an even choice.
MOST_CANDIDATES = 13


@dataclass(frozen=True)
class Weighed:
    """A position for the next trial: expected further trials, and its chances."""

    place: int
    trials: float
    good: float
    confirmed: float
    too_high: float


def weigh(
    belief: Belief, place: int, reach: float, assumed: Assumptions, ways: Sequence[str],
) -> Weighed:
    """Return what a trial at a place is expected to lead to.

    ``reach``: largest step in smallest steps; ``ways``: how such trials are
    perceived.  Trials already walked are not counted.
    """
    way = _together(assumed, ways)
    error, slight = way.error_share * belief.steps, way.slight_share * belief.steps
    early = way.early_share * belief.steps
    stray = way.stray_part / len(OUTCOMES)
    heard = 1 - way.stray_part
    known: dict[float, tuple[float, float]] = {}
    mass, good, further = [0.0] * 5, [0.0] * 5, [0.0] * 5
    high = 0.0
    for (a, b), chance in zip(belief.edges, belief.chances):
        chances = []
        for off in (a - place + early, place - b + early):
            if off not in known:
                marked = tail((off - slight) / error)
                known[off] = (marked, max(tail(off / error) - marked, 0.0))
            chances.append(known[off])
        (low_marked, low_slight), (high_marked, high_slight) = chances
        none = max(1 - low_marked - low_slight - high_marked - high_slight, 0.0)
        inside = a < place < b
        away = 0.0 if inside else max(a - place, place - b) + 0.5
        needed = max(1, ceil(away / reach - 1e-9))
        high += chance if place > b else 0.0
        for k, clean in enumerate((low_marked, low_slight, none, high_slight, high_marked)):
            part = chance * (heard * clean + stray)
            mass[k] += part
            further[k] += part * needed
            if inside:
                good[k] += part
    confirmed = mass[2] if good[2] >= assumed.needed_chance * mass[2] else 0.0
    trials = 1 + sum(further) - (further[2] if confirmed else 0.0) + belief.nowhere
    return Weighed(place, trials, sum(good), confirmed, high)


def _together(assumed: Assumptions, ways: Sequence[str]) -> Perceived:
    """Several ways of noticing, taken as one of the error their mean would have."""
    used = [assumed.perceived[way] for way in ways if way in assumed.perceived]
    used = used or [assumed.perceived["seen"]]
    precision = sum(1 / (one.error_share * one.error_share) for one in used)
    precision /= 1 + (len(used) - 1) * assumed.shared_part
    return Perceived(
        1 / sqrt(precision), used[0].slight_share, used[0].early_share, min(one.stray_part for one in used),
    )


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
