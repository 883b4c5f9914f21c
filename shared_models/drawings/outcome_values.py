"""The outcome measures of a person's fittings and visits as charts over time."""

from __future__ import annotations

from typing import Iterable

from shared_models.calculations.timing.changes import DETECTABLE, Measured, change_of
from shared_models.checks.outcome_change import MEASURES, Outcome, outcomes
from shared_models.drawings.outcome_course import OutcomeCourse, OutcomePoint
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.quantities.moments import day_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording.outcome_course import FIRST
from shared_models.wording.outcome_lines import MEASURE_WORDS, change_words

KIND = "outcome_measures"


def outcome_courses(view: FittingView, others: Iterable[FittingView]) -> tuple[OutcomeCourse, ...]:
    """Return each measure over all fittings and visits of the person, oldest value first.

    A measure taken once, without a published detectable change, has no course.
    """
    taken = [
        (entry, {o.measure: o.measured for o in outcomes(own, entry.body, None) if o.measured is not None})
        for own in (view, *(o for o in others if o.id != view.id and o.person == view.person))
        for entry in _measured_in(own)
    ]
    taken.sort(key=lambda each: each[0].order)
    mine, found = {entry.digest for entry in _measured_in(view)}, []
    for measure in MEASURES:
        values = [(entry, measured[measure]) for entry, measured in taken if measure in measured]
        known = DETECTABLE.get(measure)
        if not values or known is None and len(values) < 2:
            continue
        name, unit, places = MEASURE_WORDS[measure]
        points = tuple(
            _point(view, entry, value, values[n - 1] if n else None, entry.digest in mine)
            for n, (entry, value) in enumerate(values)
        )
        found.append(OutcomeCourse(
            name, unit, places, points, known.mdc90 if known else None, known.better if known else "",
            f"{known.population}; {known.source}" if known else "",
        ))
    return tuple(found)


def _measured_in(view: FittingView) -> list[Entry]:
    """Every record of outcome measures that holds its place in a fitting, visits after it too."""
    return [
        head for slot in view.record.slots(view.subject) for head in view.heads(slot) if head.kind == KIND
    ]


def _point(
    view: FittingView, entry: Entry, value: Measured, before: tuple[Entry, Measured] | None, is_this: bool,
) -> OutcomePoint:
    day = day_of(entry.happened_at)
    if before is None:
        return OutcomePoint(day, value.value, None, is_this, spoken(FIRST))
    change, not_alike = None, None
    try:
        change = change_of(before[1], value)
    except Refusal as refusal:
        not_alike = refusal
    compared = Outcome(value.measure, value, former=before[0], before=before[1], change=change, not_alike=not_alike)
    return OutcomePoint(day, value.value, change.changed if change else None, is_this, change_words(view, compared))
