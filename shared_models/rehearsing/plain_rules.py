"""Plain rules of turning, to measure the tuning guidance against.

**Increment rule of k, not halving.**  After a trial with a finding the adjuster is
turned k smallest steps in the direction of the most marked finding (of equals
the first), held at the ends of the range.  After a trial in which nothing was
found it is left and walked once more.  When two trials running found nothing,
that is the setting.  k = 1 is the plain rule 'one increment in the direction of
the finding until nothing is found twice'.

**Increment rule of k, halving.**  The same, but when a finding asks for the
opposite direction to the turn before, the number of steps is halved first,
rounded down and at least one; it never grows again.

The rules know no belief, no safety and no largest step: they are common
practice put into its plainest words, for comparison only.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol, Sequence

from shared_models.calculations.tuning import Suggestion, Tried, suggest
from shared_models.calculations.tuning.assumptions import Assumptions, assumptions_of
from shared_models.calculations.tuning.course import damping_missing, hear
from shared_models.catalogue.edition import Finding
from shared_models.catalogue.sheets import Adjuster

#: In a row with nothing found, from which on a plain rule is content.
NOTHING_FOUND = 2


@dataclass(frozen=True)
class Advice:
    """What a rule says after a trial: go on at ``position``, or stop there.

    ``reached``: whether the rule holds the position for a good one.
    """

    position: Decimal
    stop: bool = False
    reached: bool = False


class Rule(Protocol):
    """A way of turning an adjuster between trials."""

    name: str

    def advise(
        self, adjuster: Adjuster, course: Sequence[Tried], known: Sequence[Finding],
    ) -> Advice:
        """Return what to do after a course of trials, the latest at its position."""


@dataclass(frozen=True)
class IncrementRule:
    """Turn so many smallest steps in the direction of the finding; see above."""

    steps: int
    halving: bool = False

    @property
    def name(self) -> str:
        """What the rule is called in tables."""
        return f"increments of {self.steps}" + (", halving" if self.halving else "")

    def advise(
        self, adjuster: Adjuster, course: Sequence[Tried], known: Sequence[Finding],
    ) -> Advice:
        """Return what to do after a course of trials."""
        steps, before, clean, turn = self.steps, 0, 0, 0
        for tried in course:
            turn = direction(tried, known)
            clean = 0 if turn else clean + 1
            if turn and before and turn != before and self.halving:
                steps = max(1, steps // 2)
            before = turn or before
        here = course[-1].position
        if clean >= NOTHING_FOUND:
            return Advice(here, stop=True, reached=True)
        wanted = here + turn * steps * adjuster.smallest_step
        return Advice(min(max(wanted, adjuster.lowest), adjuster.highest))


def direction(tried: Tried, known: Sequence[Finding]) -> int:
    """Return +1 for more, -1 for less, 0 when no finding asks for a turn.

    Damping that did not come in asks a plain rule for less of the threshold.
    """
    found = hear(tried, known).strongest
    if found is not None:
        return 1 if found.turn == "more" else -1
    return -1 if damping_missing(tried, known) else 0


class Guided:
    """The tuning guidance as a rule; what it advised once is remembered."""

    name = "guidance"

    def __init__(self, assumed: Assumptions | None = None) -> None:
        self.assumed = assumed
        self._advised: dict[tuple, Advice] = {}

    def advise(
        self, adjuster: Adjuster, course: Sequence[Tried], known: Sequence[Finding],
    ) -> Advice:
        """Return what the guidance advises; what no adjuster cures is walked again."""
        key = (adjuster, *(
            (t.position, t.provisional, damping_missing(t, known), hear(t, known).evidence)
            for t in course
        ))
        if key not in self._advised:
            assumed = self.assumed or assumptions_of(adjuster.function)
            here = course[-1].position
            found = suggest(adjuster, here, course, known, None, assumed)
            self._advised[key] = _advice(found, here)
        return self._advised[key]


def _advice(found: Suggestion, here: Decimal) -> Advice:
    if found.action == "confirm":
        return Advice(here, stop=True, reached=True)
    if found.action in ("closed", "end_of_range", "threshold"):
        return Advice(here, stop=True)
    return Advice(found.position if found.position is not None else here)


#: The rules that the swing adjusters are measured against.
ONE_INCREMENT = IncrementRule(1)
FIXED_INCREMENTS = tuple(
    IncrementRule(steps, halving) for steps in (2, 3) for halving in (False, True)
)
