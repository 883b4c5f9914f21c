"""Trials as points of a chart: where the adjuster stood, how it ended, what it left open."""

from __future__ import annotations

from typing import Sequence

from shared_models.checks.tuning_advice import brackets_after
from shared_models.checks.tuning_course import course_of
from shared_models.drawings.trial_course import TrialPoint
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from

#: What was known is drawn after so many of the latest trials; it takes some milliseconds each.
_BRACKETS_DRAWN = 8


def trial_points(view: FittingView, function: str, trials: Sequence[Entry]) -> tuple[TrialPoint, ...]:
    """Return the points of trials on a function's adjuster, oldest first.

    What they left open is known only while all of them still count.
    """
    counted = course_of(view, function)
    known = list(brackets_after(view, function, counted, _BRACKETS_DRAWN)) if len(counted) == len(trials) else []
    brackets = [None] * (len(trials) - len(known)) + known
    points = []
    for number, (trial, bracket) in enumerate(zip(trials, brackets), 1):
        position = amount_from(view.position_in(trial, function))
        if position is not None:
            low, high = (bracket.low, bracket.high) if bracket else (None, None)
            points.append(TrialPoint(number, position, str(trial.body.get("outcome", "")), low, high))
    return tuple(points)
