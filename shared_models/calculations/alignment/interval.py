"""How sure a figure is: standard uncertainty and the 95 % interval.

A reading rounded to its resolution is wrong by anything within half a step,
all alike likely: a rectangular distribution (JCGM 100:2008, 4.3.7).  What is
worked out from several readings is wrong by a weighted sum of rectangles.  Its
standard deviation is a root of squares; its 95 % interval is taken from the
distribution of the sum itself (JCGM 101:2008, propagation of distributions),
because two standard deviations would be too wide where one rectangle is much
wider than the others.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Sequence

PROBABILITY = 0.95
#: Cells of the half-line on which the distribution is worked out.  A narrower
#: grid moves the interval by less than 0.1 %.
_CELLS = 64
#: Decimals to which a rectangle is compared with the widest one; narrower ones don't show.
_DECIMALS = 4


def standard_of_rectangle(half_width: float) -> float:
    """Return the standard uncertainty of a rectangular error within ± ``half_width``."""
    return half_width / math.sqrt(3)


def standard_of_sum(half_widths: Sequence[float]) -> float:
    """Return the standard uncertainty of a sum of rectangular errors, unit as given."""
    return math.sqrt(sum(half * half for half in half_widths) / 3)


def half_width_of_sum(half_widths: Sequence[float], probability: float = PROBABILITY) -> float:
    """Return U so that a sum of rectangular errors lies within ± U with ``probability``.

    ``half_widths`` are the half widths of the independent rectangles, each
    already multiplied by its sensitivity; the unit is theirs.
    """
    widest = max((abs(half) for half in half_widths), default=0.0)
    if widest == 0.0:
        return 0.0
    ratios = sorted((round(abs(half) / widest, _DECIMALS) for half in half_widths), reverse=True)
    return widest * _half_width(tuple(ratio for ratio in ratios if ratio), probability)


@lru_cache(maxsize=512)
def _half_width(halves: tuple[float, ...], probability: float) -> float:
    """The same for half widths that are sorted, widest first, with the widest 1."""
    if len(halves) == 1:
        return probability
    step = sum(halves) / _CELLS
    # The share of the distribution above each grid point, from the middle out.
    above = [max(0.0, 0.5 - number * step / 2) for number in range(_CELLS + 1)]
    for half in halves[1:]:
        above = _widened(above, half / step)
    return _crossing(above, (1 - probability) / 2) * step


def _widened(above: list[float], half_cells: float) -> list[float]:
    """Average a tail over ± ``half_cells`` cells: one more rectangle is added."""
    last = len(above) - 1
    integral = [0.0]
    for left, right in zip(above, above[1:]):
        integral.append(integral[-1] + (left + right) / 2)
    # Cells before and behind the average's reach: below the middle the tail is 1
    # minus its mirror, beyond the grid there is none.
    whole, part = int(half_cells), half_cells % 1
    reach = whole + 1
    pad = range(1, reach + 1)
    beyond = [0.0] * reach
    tail = [1 - _at(above, n) for n in reversed(pad)] + above + beyond
    total = [-n + _at(integral, n) for n in reversed(pad)] + integral + [integral[-1]] * reach

    # The integral from the middle to a share of the cell behind an index.
    ahead = [total[k] + part * (tail[k] + part * (tail[k + 1] - tail[k]) / 2) for k in range(len(tail) - 1)]
    rest = 1 - part
    behind = [total[k] + rest * (tail[k] + rest * (tail[k + 1] - tail[k]) / 2) for k in range(last + 1)]
    return [
        (front - back) / (2 * half_cells)
        for front, back in zip([*ahead[reach + whole:reach + whole + last], total[-1]], behind)
    ]


def _at(values: list[float], index: int) -> float:
    """Return a value of the grid; behind its end it stays as it ends."""
    return values[min(index, len(values) - 1)]


def _crossing(above: list[float], share: float) -> float:
    """Return the place in cells at which the tail falls to ``share``."""
    for number in range(1, len(above)):
        if above[number] <= share:
            before = above[number - 1]
            return number - 1 + (before - share) / (before - above[number])
    return float(len(above) - 1)
