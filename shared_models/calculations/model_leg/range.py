"""The range of one adjuster of one model knee, and where in it the right position lies."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Callable, Iterable

from shared_models.calculations.model_leg.damper import Law
from shared_models.calculations.model_leg.drawn import OUT_OF_RANGE, RANGE_RATIO, Lot
from shared_models.catalogue.sheets import FUNCTIONS, Adjuster
from shared_models.quantities.refusals import Refusal


@dataclass(frozen=True)
class Range:
    """Positions of an adjuster, lowest first, in its sheet's unit and smallest steps.

    ``suits``: the position that suits (the nearest end when none does);
    ``place``: where it lies, 0 lowest to 1 highest, outside when none suits;
    ``ratio``: factor of damping or load over the whole range.
    """

    function: str
    positions: tuple[Decimal, ...]
    suits: Decimal
    place: float = 0.5
    ratio: float = 10.0

    def suited(self, lot: Lot, nowhere: bool) -> "Range":
        """Return this range as one knee of one person has it."""
        ratio = lot.even(RANGE_RATIO[self.function])
        place = lot.place(self.function)
        last = len(self.positions) - 1
        index = round(place * last)
        if nowhere:
            off = lot.even(OUT_OF_RANGE)
            place, index = (1 + off, last) if lot.chance.random() < 0.5 else (-off, 0)
            return replace(self, suits=self.positions[index], place=place, ratio=ratio)
        suits = self.positions[index]
        return replace(self, suits=suits, place=self.place_of(suits), ratio=ratio)

    def place_of(self, position: Decimal) -> float:
        """Return where a position lies: 0 lowest, 1 highest."""
        return float((position - self.positions[0]) / (self.positions[-1] - self.positions[0]))

    def checked(self, position: Decimal) -> Decimal:
        """Return a position within the range; else Refusal ``model_leg_outside_range``."""
        if not position.is_finite() or not self.positions[0] <= position <= self.positions[-1]:
            raise Refusal(
                "model_leg_outside_range", function=self.function, position=str(position),
                lowest=str(self.positions[0]), highest=str(self.positions[-1]),
            )
        return position

    def law(self, anchor: float) -> Law:
        """Return the law that gives a figure at the place that suits."""
        return Law(self.place, anchor, self.ratio)

    def window(self, is_good: Callable[[Decimal], bool]) -> tuple[Decimal, Decimal] | None:
        """Return the run of good positions around the one that suits, or None."""
        middle = self.positions.index(self.suits)
        order = sorted(range(len(self.positions)), key=lambda k: abs(k - middle))
        first = next((k for k in order if is_good(self.positions[k])), None)
        if first is None:
            return None
        low = high = first
        while low > 0 and is_good(self.positions[low - 1]):
            low -= 1
        while high < len(self.positions) - 1 and is_good(self.positions[high + 1]):
            high += 1
        return self.positions[low], self.positions[high]


def knee_ranges(adjusters: Iterable[Adjuster]) -> dict[str, Range]:
    """Return the ranges of a knee by function; its last step may be a shorter one."""
    ranges = {}
    for one in adjusters:
        if one.function not in FUNCTIONS:
            raise Refusal("model_leg_unknown_function", function=one.function, known=", ".join(FUNCTIONS))
        steps = int((one.highest - one.lowest) / one.smallest_step)
        positions = tuple(one.lowest + k * one.smallest_step for k in range(steps + 1))
        ranges[one.function] = Range(one.function, positions, positions[0])
    return ranges
