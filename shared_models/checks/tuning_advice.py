"""What to do next on an adjuster: asked alike by the tablet and by fittings without screens."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Mapping, Sequence

from shared_models.calculations.findings import heeding_the_rest
from shared_models.calculations.tuning import Suggestion, Tried, hear, suggest
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from


def advice(
    view: FittingView, function: str, position: Decimal, course: Sequence[Tried],
    findings: Sequence[Mapping[str, str]],
) -> Suggestion:
    """Return the next step of a function's adjuster, standing at ``position``.

    ``course``: the trials that count, see `tuning_course.course_of`;
    ``findings``: everything found in the latest trial, since what it shows
    beside its own function may come first.  The knee built in has the adjuster.
    Raises Refusal for a position that the sheet does not have.
    """
    last = amount_from(view.last_confirmed().get(function))
    known = view.edition.findings_of(function)
    found = suggest(view.adjuster(function), position, course, known, last)
    return heeding_the_rest(
        found, function, position, findings, view.edition.findings, view.edition.contradictions,
    )


@dataclass(frozen=True)
class Bracket:
    """What was known after a trial: clearly too low up to, clearly too high from; None for nothing."""

    low: Decimal | None
    high: Decimal | None


def brackets_after(view: FittingView, function: str, course: Sequence[Tried], most: int) -> list[Bracket]:
    """Return what was known after each of the last ``most`` trials of a course, oldest first."""
    known, adjuster = view.edition.findings_of(function), view.adjuster(function)
    found = []
    for count in range(max(1, len(course) - most + 1), len(course) + 1):
        so_far = course[:count]
        told = suggest(adjuster, so_far[-1].position, so_far, known, None)
        found.append(bracket_of(told))
    return found


def bracket_of(found: Suggestion) -> Bracket:
    """Return the bracket of a suggestion; where damping was missing is too high, a contradiction is none."""
    highs = [h for h in (found.too_high_from, found.missing_from) if h is not None]
    low, high = found.too_low_up_to, min(highs, default=None)
    if low is not None and high is not None and low >= high:
        return Bracket(None, None)
    return Bracket(low, high)


@dataclass(frozen=True)
class PassedOver:
    """A position that a suggestion leaves behind although a trial there was a near miss.

    ``low``: whether the slight finding there said too low.
    """

    position: Decimal
    finding: str
    low: bool


def passed_over(view: FittingView, function: str, course: Sequence[Tried], found: Suggestion) -> PassedOver | None:
    """Return the position with the slightest contrary finding that a turn jumps past.

    Contrary: the finding there asked to turn back, the other way from where the
    suggestion now goes, yet only slightly, so that somebody may wonder why the
    suggestion passes it.  None when it passes no such position.
    """
    if found.action != "turn" or found.position is None or not course:
        return None
    here, there = course[-1].position, found.position
    known = view.edition.findings_of(function)
    for tried in reversed(course[:-1]):
        if not min(here, there) <= tried.position <= max(here, there) or tried.position in (here, there):
            continue
        heard = hear(tried, known)
        wants_back = "less" if there > here else "more"
        slight = [f for f, grade in heard.turns if f.turn == wants_back and grade == 1]
        if slight and len(heard.sides) == 1 and not any(grade > 1 for _, grade in heard.turns):
            return PassedOver(tried.position, slight[0].key, low=wants_back == "more")
    return None
