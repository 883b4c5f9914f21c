"""The figures of one block of intervals: everything, or steady walking only."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Mapping, Sequence

from shared_models.calculations.timing import jitter
from shared_models.calculations.timing.figures import Basis, Because, Figure
from shared_models.calculations.timing.indices import INDICES, Index
from shared_models.calculations.timing.intervals import Interval
from shared_models.calculations.timing.spread import Spread, spread_of

#: Fewest clean strides a side for a mean or a symmetry index (Tura A et al.
#: J NeuroEng Rehabil 2012;9:11: 2.2 and 3.5 strides without start and stop).
FEWEST_CLEAN = 4
#: The same with start, stop and turning strides still in (Tura 2012: 15 and 20).
FEWEST_WITH_ENDS = 20
#: Fewest intervals for a standard deviation or a coefficient of variation (after
#: Riva F et al. Comput Biol Med 2014;50:9-13; order of 100, from memory).
FEWEST_FOR_VARIATION = 100
#: A variation is not worth showing when the taps explain more of it than this.
MOST_FROM_TAPS = 0.5
#: Quantities that are compared side with side.
COMPARED = ("step_time_s", "swing_time_s", "stance_time_s")

FORMULAS: Mapping[str, str] = {
    "step_time_s": "time of a side's contact - time of the other side's contact before it",
    "stride_time_s": "time of a side's contact - time of the same side's contact before it",
    "swing_time_s": "time of a side's initial contact - time of its final contact before it",
    "stance_time_s": "time of a side's final contact - time of its initial contact before it",
    "contact_interval_s": "time of a contact - time of the contact before it, whatever the sides",
    "mean": "sum / n",
    "median": "middle value of the sorted, mean of the two middle ones for an even n",
    "sd": "square root of (sum of (value - mean)^2 / (n - 1))",
    "cv_percent": "100 * sd / mean, sd with n - 1",
}


@dataclass(frozen=True)
class Block:
    """Figures of some intervals, by key: 'step_time_s.left.mean' and so on.

    ``spreads`` hold the plain numbers by quantity and side (left, right, both).
    """

    spreads: Mapping[str, Mapping[str, Spread]]
    figures: Mapping[str, Figure]

    def figure(self, *parts: str) -> Figure:
        """Return the figure of a quantity, side and statistic."""
        return self.figures[".".join(part for part in parts if part)]


def block_of(
    intervals: Mapping[str, Sequence[Interval]], basis: Basis, jitter_s: float, fewest: int,
    prosthesis_side: str = "",
) -> Block:
    """Return all figures of intervals by quantity; ``fewest`` a side are worth showing.

    With a ``prosthesis_side`` each index also comes with the prosthesis in the
    place of right and the sound side in that of left (``prosthesis_key``).
    """
    spreads: dict[str, dict[str, Spread]] = {}
    figures: dict[str, Figure] = {}
    for quantity, found in intervals.items():
        spreads[quantity] = {}
        for side in ("left", "right", "both"):
            own = [each for each in found if side in ("both", each.side)]
            spread = spread_of([each.time_s for each in own])
            spreads[quantity][side] = spread
            for figure in _of_spread(quantity, side, own, spread, basis, jitter_s, fewest):
                figures[figure.key] = figure
        if quantity in COMPARED:
            for index in INDICES.values():
                figure = _of_index(quantity, found, index, basis, jitter_s, fewest)
                figures[figure.key] = figure
                if prosthesis_side:
                    figure = _of_index(quantity, found, index, basis, jitter_s, fewest, prosthesis_side)
                    figures[figure.key] = figure
    return Block(spreads, figures)


def _of_spread(
    quantity: str, side: str, own: Sequence[Interval], spread: Spread,
    basis: Basis, jitter_s: float, fewest: int,
) -> list[Figure]:
    u_taps = jitter.from_taps(jitter.weights_of_mean(own), jitter_s) if own else None
    u_variation = jitter.from_variation(own, jitter_s)
    too_few = _too_few(spread.n, fewest * (2 if side == "both" else 1))
    sd, cv_percent = (
        _of_variation(_figure(quantity, side, name, value, spread.n, basis, None), spread, jitter_s)
        for name, value in (("sd", spread.sd), ("cv_percent", spread.cv_percent))
    )
    # A median of independent values is less sure than a mean by sqrt(pi / 2).
    wider = math.sqrt(math.pi / 2)
    return [
        _with_interval(
            _figure(quantity, side, "mean", spread.mean, spread.n, basis, too_few),
            u_taps, u_variation, spread.n - 1),
        _with_interval(
            _figure(quantity, side, "median", spread.median, spread.n, basis, too_few),
            _independent_taps(own, jitter_s, wider),
            None if u_variation is None else wider * u_variation, spread.n - 1),
        sd, cv_percent,
    ]


def _of_variation(figure: Figure, spread: Spread, jitter_s: float) -> Figure:
    """Return an SD or CV with its limits, and why it may not be worth showing."""
    if figure.value is None or spread.sd is None or not spread.mean:
        return replace(figure, because=too_few_for_variation(spread.n))
    share = jitter.share_of_taps(spread.sd, jitter_s)
    because = too_few_for_variation(spread.n)
    if because is None and share > MOST_FROM_TAPS:
        because = Because("variation_is_the_taps", {"percent": round(100 * share)})
    limits = jitter.sd_limits(spread.sd, spread.n, jitter_s)
    if limits is None:
        return replace(figure, because=because)
    scale = 1.0 if figure.statistic == "sd" else 100 / spread.mean
    return replace(figure, low=scale * limits[0], high=scale * limits[1], because=because)


def _of_index(
    quantity: str, found: Sequence[Interval], index: Index,
    basis: Basis, jitter_s: float, fewest: int, prosthesis_side: str = "",
) -> Figure:
    minus, plus = ("right", "left") if prosthesis_side == "left" else ("left", "right")
    first = [each for each in found if each.side == minus]
    second = [each for each in found if each.side == plus]
    value = None
    if first and second:
        value = index.of(*(math.fsum(i.time_s for i in own) / len(own) for own in (first, second)))
    key, formula = index.key, index.formula
    if prosthesis_side:
        key = prosthesis_key(index.key)
        formula = formula.replace("right", "prosthesis").replace("left", "sound")
    figure = Figure(
        quantity, "", key, value, len(first) + len(second), basis,
        f"{formula}, of the means; {FORMULAS[quantity]}", index.source, index.equal_at,
        because=_too_few(min(len(first), len(second)), fewest),
    )
    u_variation, degrees = jitter.index_from_variation(index, first, second, jitter_s) or (None, 0.0)
    u_taps = jitter.index_from_taps(index, first, second, jitter_s)
    return _with_interval(figure, u_taps, u_variation, degrees)


def prosthesis_key(index_key: str) -> str:
    """Return the key of an index taken as prosthesis against sound side."""
    if index_key == "ratio_right_to_left":
        return "ratio_prosthesis_to_sound"
    return f"prosthesis_{index_key}"


def _figure(
    quantity: str, side: str, statistic: str, value: float | None, n: int,
    basis: Basis, because: Because | None,
) -> Figure:
    formula = f"{FORMULAS[statistic]}; {FORMULAS[quantity]}"
    return Figure(quantity, side, statistic, value, n, basis, formula, because=because)


def _with_interval(
    figure: Figure, u_taps: float | None, u_variation: float | None, degrees: float
) -> Figure:
    """Return the figure with its 95 % interval; none where the variation is unknown."""
    value = figure.value
    if value is None or u_taps is None:
        return figure
    taps = jitter.NORMAL_975 * u_taps
    low = high = None
    if u_variation is not None and degrees >= 1:
        wide = jitter.coverage_factor(u_taps, u_variation, degrees) * math.hypot(u_taps, u_variation)
        low, high = value - wide, value + wide
    return replace(
        figure, u_taps=u_taps, u_variation=u_variation, low=low, high=high,
        taps_low=value - taps, taps_high=value + taps,
    )


def _independent_taps(own: Sequence[Interval], jitter_s: float, wider: float) -> float | None:
    return wider * jitter_s * math.sqrt(2 / len(own)) if own else None


def _too_few(n: int, fewest: int) -> Because | None:
    return Because("too_few_strides", {"n": n, "fewest": fewest}) if n < fewest else None


def too_few_for_variation(n: int) -> Because | None:
    """Return why a standard deviation or CV of ``n`` intervals is not worth showing."""
    if n >= FEWEST_FOR_VARIATION:
        return None
    return Because("too_few_for_variation", {"n": n, "fewest": FEWEST_FOR_VARIATION})
