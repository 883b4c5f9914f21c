"""The tuning of one adjuster on one person by one rule, from the start position to its end."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import Any, Mapping, Protocol, Sequence

from shared_models.calculations.tuning import Tried
from shared_models.catalogue.edition import Finding, load_edition
from shared_models.catalogue.sheets import Adjuster
from shared_models.rehearsing.plain_rules import Rule

#: A course that has not ended by then is given up; it counts so many trials.
MOST_TRIALS = 60


class Walker(Protocol):
    """Whoever answers trials: a model person."""

    def good_window(
        self, function: str, positions: Mapping[str, Decimal] | None = None,
    ) -> tuple[Decimal, Decimal] | None:
        """Return the lowest and highest good position with the others at these; None for none."""

    def walk(
        self, function: str, positions: Mapping[str, Decimal], chance: Random,
        *, observer_error: float = 1.0, hands_on_bars: bool = False,
    ) -> Any:
        """Walk a trial: ``findings``, and whether stance damping ``protected``."""


@dataclass(frozen=True)
class CourseResult:
    """How the tuning of one adjuster went.

    ``right``: whether it ended, held for good, at a truly good position;
    ``largest_step_violations``: turns above the sheet's largest step, restoring
    among them; ``unprotected_trials``: trials in which stance damping did not
    protect; ``missing_again``: turns to a threshold at or above one where
    damping had been found missing before; ``outcome``: reached, no_way_on or
    given_up.
    """

    trials: int
    final_position: Decimal
    right: bool
    largest_step_violations: int
    unprotected_trials: int
    missing_again: int
    outcome: str


def tune(
    person: Walker, adjuster: Adjuster, rule: Rule, chance: Random,
    observer_error: float = 1.0, *, others: Mapping[str, Decimal] | None = None,
    known: Sequence[Finding] | None = None,
) -> CourseResult:
    """Tune one adjuster from its start position; the others stay where they are.

    ``others``: positions of the other functions; ``observer_error``: factor on
    the error of whoever observes.
    """
    function = adjuster.function
    known = known if known is not None else load_edition().findings_of(function)
    position, course = adjuster.start, []
    violations = unprotected = again = 0
    missing: Decimal | None = None
    outcome = "given_up"
    while len(course) < MOST_TRIALS:
        walked = person.walk(
            function, {**(others or {}), function: position}, chance, observer_error=observer_error,
        )
        unprotected += not walked.protected
        found = tuple(walked.findings)
        came_in = damping_came_in(found)
        course.append(Tried(position, found, damping_came_in=came_in))
        if not came_in:
            missing = position if missing is None else min(missing, position)
        advice = rule.advise(adjuster, course, known)
        if advice.stop:
            outcome = "reached" if advice.reached else "no_way_on"
            break
        violations += abs(advice.position - position) > adjuster.largest_step
        again += function == "stance_threshold" and missing is not None and advice.position >= missing
        position = advice.position
    window = person.good_window(function, others)
    inside = window is not None and window[0] <= position <= window[1]
    return CourseResult(
        len(course), position, outcome == "reached" and inside, violations, unprotected, again, outcome,
    )


def damping_came_in(findings: Sequence[Mapping[str, str]]) -> bool:
    """Return what is answered to 'damping comes in when loaded' beside these findings."""
    missing = {f.key for f in load_edition().findings if f.restore}
    return not any(
        i["finding"] in missing and i.get("grade") in ("slight", "marked") for i in findings
    )
