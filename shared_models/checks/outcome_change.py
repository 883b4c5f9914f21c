"""Outcome measures: each as a figure, and against the person's last fitting.

Only like is compared with like: the same test, aid, timed length, run-up and
pace.  Nothing here sets an activity level.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Iterable, Mapping

from shared_models.calculations.timing.changes import Change, Measured, change_of
from shared_models.calculations.timing.figures import Basis
from shared_models.calculations.timing.predictor import Predicted, level_of_score
from shared_models.calculations.timing.stair_records import StairTrial, compare_trials
from shared_models.calculations.timing.timed_tests import (
    TenMetreWalk, TimedWalk, UpAndGo, ten_metre_speed, timed_walk, up_and_go,
)
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.refusals import Refusal

SLOT = "outcome"
#: The score as its own form gives it; the two forms are never compared.
_FORM = Basis("mobility predictor, on paper", "total score")
#: Measures that a change is asked of, in the order they are shown.
MEASURES = (
    "ten_metre_speed_m_per_s", "timed_up_and_go_s", "two_minute_walk_m", "six_minute_walk_m",
    "mobility_predictor_points",
)


@dataclass(frozen=True)
class Outcome:
    """One measure: its figure, and what came of comparing it with the fitting before.

    ``lacks`` names the fields without which it can't be worked out (their
    labels), () otherwise; ``refusal`` says why it can't be, where it is typed so.
    ``change`` and ``not_alike`` are None where no earlier fitting has it.
    """

    measure: str
    measured: Measured | None
    lacks: tuple[str, ...] = ()
    refusal: Refusal | None = None
    former: Entry | None = None
    before: Measured | None = None
    change: Change | None = None
    not_alike: Refusal | None = None


def former_outcome(view: FittingView, others: Iterable[FittingView]) -> Entry | None:
    """Return the outcome measures of the person's last fitting before this one; None without."""
    own = view.head(SLOT)
    order = own.order if own else None
    found = [
        head for other in others
        if other.id != view.id and view.person.id and other.person == view.person
        and (head := other.head(SLOT)) is not None and (order is None or head.order < order)
    ]
    return max(found, key=lambda entry: entry.order, default=None)


def outcomes(view: FittingView, body: Mapping[str, Any], former: Entry | None) -> tuple[Outcome, ...]:
    """Return every measure that a body of outcome measures states, compared with ``former``."""
    found = []
    for measure in MEASURES:
        now = _outcome(view, measure, body)
        if now is None:
            continue
        before = _outcome(view, measure, former.body) if former else None
        if now.measured is None or before is None or before.measured is None:
            found.append(now)
            continue
        change, not_alike = None, None
        try:
            change = change_of(before.measured, now.measured)
        except Refusal as refusal:
            not_alike = refusal
        found.append(replace(now, former=former, before=before.measured, change=change, not_alike=not_alike))
    return tuple(found)


def predicted(body: Mapping[str, Any]) -> Predicted | None:
    """Return what the predictor's table says of the score; None without score and form.

    Raises Refusal predictor_score_cannot_be.
    """
    score, form = amount_from(body.get("predictor_points")), body.get("predictor_form")
    if score is None or form not in ("with_prosthesis", "without_prosthesis"):
        return None
    return level_of_score(int(score), form == "with_prosthesis")


def stairs_compared(body: Mapping[str, Any], former: Entry | None) -> str:
    """Return how the stairs were taken against the fitting before: better, worse, same, mixed, ''.

    '' where one of the two has no such record, or was not walked.  Raises
    Refusal figures_not_comparable for another number of steps.
    """
    now, before = _stairs(body), _stairs(former.body) if former else None
    return compare_trials(before, now) if now and before else ""


def _stairs(body: Mapping[str, Any]) -> StairTrial | None:
    pattern, rail, helper = (body.get(f"stairs_down_{key}") for key in ("pattern", "rail", "helper"))
    steps, time_s = amount_from(body.get("stairs_down_steps")), amount_from(body.get("stairs_down_time_s"))
    if not (pattern and rail and helper and steps):
        return None
    aid = {"none": "none", "stick": "one_stick"}.get(str(body.get("aid")), "other")
    return StairTrial(
        "down", str(pattern), str(rail), aid, str(helper), int(steps), None,
        float(time_s) if time_s is not None else None,
    )


def _outcome(view: FittingView, measure: str, body: Mapping[str, Any]) -> Outcome | None:
    """One measure of a body; None where it is not stated (or does not apply)."""
    main, further = _ASKED[measure]
    if amount_from(body.get(main)) is None:
        return None
    kind = view.edition.kinds["outcome_measures"]
    lacks = tuple(kind.field(key).label for key in further if body.get(key) in (None, ""))
    if lacks:
        return Outcome(measure, None, lacks)
    try:
        return Outcome(measure, _measured(measure, body))
    except Refusal as refusal:
        return Outcome(measure, None, refusal=refusal)


#: The field that states a measure, and those without which it can't be worked out.
_ASKED: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "ten_metre_speed_m_per_s": ("ten_metre_walk_s", ("ten_metre_timed_m", "ten_metre_run_up_m", "ten_metre_pace", "aid")),
    "timed_up_and_go_s": ("timed_up_and_go_s", ("aid",)),
    "two_minute_walk_m": ("two_minute_walk_m", ("aid",)),
    "six_minute_walk_m": ("six_minute_walk_m", ("aid",)),
    "mobility_predictor_points": ("predictor_points", ("predictor_form",)),
}


def _measured(measure: str, body: Mapping[str, Any]) -> Measured:
    def figure(key: str) -> float:
        return float(amount_from(body.get(key)) or 0)

    if measure == "mobility_predictor_points":
        predicted(body)  # refuses a score that the form can't give
        return Measured(measure, figure("predictor_points"), _FORM, (("form", str(body["predictor_form"])),))
    if measure == "ten_metre_speed_m_per_s":
        found = ten_metre_speed(TenMetreWalk(
            (figure("ten_metre_walk_s"),), figure("ten_metre_timed_m"), figure("ten_metre_run_up_m"),
            str(body["ten_metre_pace"]), "other",
        ))
    elif measure == "timed_up_and_go_s":
        found = up_and_go(UpAndGo(figure(measure), "usual", "other"))
    else:
        found = timed_walk(TimedWalk(2 if measure.startswith("two") else 6, figure(measure), "other"))
    # The aid as this record names it: two that the tests' own list calls 'other' are not the same.
    setting = tuple((name, str(body["aid"]) if name == "aid" else value) for name, value in found.setting)
    return replace(found, setting=setting)
