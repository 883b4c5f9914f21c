"""From what the leg did to what is found: graded, seen and felt apart, with error."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Sequence

from shared_models.calculations.model_leg.drawn import SHARED_VARIANCE

#: A setting counts as truly wrong when a figure lies outside what is wanted by more
#: than so many errors of one trial: the guard band with which one trial shows it 19
#: times of 20 (1.645 standard uncertainties: JCGM 106:2012, 8.3; ISO 14253-1:2017).
#: Less is found by some observers and missed by others, and no adjuster stands so
#: exactly.  It decides shares of right settings: with 0 a setting is wrong by a
#: hair's breadth (docs/calculations/tuning.md gives them for 0, 1 and this).
#: Damping that does not come in is wrong from the first newton on.
TRUE_FROM_ERRORS = 1.645


@dataclass(frozen=True)
class Complaint:
    """One finding that a trial may show.

    ``excess``: how far the figure lies outside what is wanted (0 or below:
    nothing to find); ``error``: standard deviation of one trial's impression;
    ``marked_from``: excess from which the finding is marked; ``measure`` and
    ``sign``: findings on both sides of one figure share its error with opposite
    signs; ``ways``: how it is noticed; ``strict``: truly wrong from the first
    bit on, as stance damping is that does not come in.  All in the figure's own
    unit.
    """

    finding: str
    excess: float
    error: float
    marked_from: float
    measure: str
    sign: int
    ways: tuple[str, ...] = ("seen",)
    strict: bool = False

    @property
    def is_true(self) -> bool:
        """Return whether there is truly something wrong."""
        return self.excess > (0.0 if self.strict else TRUE_FROM_ERRORS * self.error)

    @property
    def is_beyond(self) -> bool:
        """Return whether the figure lies outside what is wanted at all."""
        return self.excess > 0

    def graded(self, error: float) -> str:
        """Return the grade when the impression is off by so much."""
        perceived = self.excess + self.sign * error
        if perceived <= 0:
            return "none"
        return "marked" if perceived > self.marked_from else "slight"


def perceive(
    complaints: Sequence[Complaint], chance: random.Random, observer_error: float,
) -> list[dict[str, str]]:
    """Return the findings of a trial.

    A way of noticing that found nothing is listed with grade none where another
    way found something, so that seen and felt stay apart.
    """
    shared: dict[str, float] = {}
    own: dict[tuple[str, str], float] = {}
    findings = []
    for one in complaints:
        common = shared.setdefault(one.measure, chance.gauss(0.0, 1.0))
        grades = {}
        for way in one.ways:
            alone = own.setdefault((one.measure, way), chance.gauss(0.0, 1.0))
            off = math.sqrt(SHARED_VARIANCE) * common + math.sqrt(1 - SHARED_VARIANCE) * alone
            grades[way] = one.graded(observer_error * one.error * off)
        if any(grade != "none" for grade in grades.values()):
            findings += [
                {"finding": one.finding, "grade": grade, "perceived": way}
                for way, grade in grades.items()
            ]
    return findings
