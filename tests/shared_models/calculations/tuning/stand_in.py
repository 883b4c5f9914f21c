"""A person for tests of the guidance alone: hidden windows, a normal error of perceiving.

Positions are shares of the range, so any adjuster will do.  It knows nothing of
how a knee moves; the model leg does.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import Mapping

from shared_models.catalogue.sheets import Adjuster

LOW_HIGH = {
    "stance_threshold": ("damping_stays_in", "no_damping_when_loaded"),
    "swing_flexion": ("heel_rise_too_high", "heel_rise_too_low"),
    "swing_extension": ("terminal_impact", "extension_incomplete"),
    "stance_damping": ("drops_on_descent", "yields_too_slowly"),
}


@dataclass(frozen=True)
class Walked:
    """What a trial of the stand-in shows."""

    findings: tuple[Mapping[str, str], ...]
    protected: bool


@dataclass
class StandIn:
    """One adjuster with the first and last good place, counted in smallest steps."""

    adjuster: Adjuster
    first: int
    last: int
    error_share: float = 0.03
    slight_share: float = 0.15
    early_share: float = 0.05

    @property
    def steps(self) -> int:
        """Smallest steps of the range."""
        return int((self.adjuster.highest - self.adjuster.lowest) / self.adjuster.smallest_step)

    def good_window(self, function: str, positions=None) -> tuple[Decimal, Decimal] | None:
        """The first and last good position; None when none is in the range."""
        if self.last < 0 or self.first > self.steps:
            return None
        at = [self.adjuster.lowest + k * self.adjuster.smallest_step for k in (self.first, self.last)]
        return at[0], at[1]

    def walk(self, function: str, positions, chance: Random, *, observer_error: float = 1.0, hands_on_bars: bool = False) -> Walked:
        """Perceive how far outside the window the position lies, with an error."""
        place = float((positions[function] - self.adjuster.lowest) / self.adjuster.smallest_step)
        perceived = place + chance.gauss(0, self.error_share * observer_error * self.steps)
        low, high = self.first - 0.5 - perceived, perceived - self.last - 0.5
        early = self.early_share * self.steps
        # Damping that is missing shows only where it is; all else shows a little early.
        off = max(low + early, high if function == "stance_threshold" else high + early)
        protected = function != "stance_threshold" or place <= self.last
        if off <= 0:
            return Walked((), protected)
        grade = "marked" if off > self.slight_share * self.steps else "slight"
        key = LOW_HIGH[function][0 if low > high else 1]
        return Walked(({"finding": key, "grade": grade, "perceived": "seen"},), protected)


def stand_in(adjuster: Adjuster, chance: Random, *, middle_share: float = 0.5, spread_share: float = 0.22, narrow=0.08, wide=0.25, **more) -> StandIn:
    """Draw somebody for an adjuster; the window lies in the range."""
    person = StandIn(adjuster, 0, 0, **more)
    steps = person.steps
    while True:
        width = max(1, round(chance.uniform(narrow, wide) * steps))
        first = round(chance.gauss(middle_share, spread_share) * steps - (width - 1) / 2)
        if 0 <= first and first + width - 1 <= steps:
            person.first, person.last = first, first + width - 1
            return person
