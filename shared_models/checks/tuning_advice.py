"""What to do next on an adjuster: asked alike by the tablet and by fittings without screens."""

from __future__ import annotations

from decimal import Decimal
from typing import Mapping, Sequence

from shared_models.calculations.findings import heeding_the_rest
from shared_models.calculations.tuning import Suggestion, Tried, suggest
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
