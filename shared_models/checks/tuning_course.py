"""The course of trials on one adjuster that still counts as evidence.

A trial counts while what it rests on holds: alignment, components, screws and
shoe.  Another position of the adjuster itself does not take it away (that is
what the evidence is about); a turned adjuster that disturbs this one makes it
weigh less.
"""

from __future__ import annotations

from typing import Any, Mapping

from shared_models.calculations.tuning import Tried
from shared_models.catalogue.tuning_tables import disturbed_by, tuning_tables
from shared_models.checks.freshness import Freshness
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from

THRESHOLD = "stance_threshold"


def course_of(view: FittingView, function: str) -> tuple[Tried, ...]:
    """Return the trials on a function's adjuster that still count, oldest first.

    For the stance threshold, trials of the other functions in which damping was
    missing count too: they say so of the threshold they were walked with.
    """
    fresh, found = Freshness(view), []
    for kind in view.edition.kinds.values():
        if kind.group != "trial":
            continue
        own = kind.function == function
        if not own and function != THRESHOLD:
            continue
        slot = view.slot(kind.slot)
        for number, trial in enumerate(slot.history()):
            tried = _tried(view, fresh, trial, function, own)
            if tried is not None:
                found.append(((slot.root(trial).order, number), tried))
    return tuple(tried for _, tried in sorted(found, key=lambda pair: pair[0]))


def _tried(
    view: FittingView, fresh: Freshness, trial: Entry, function: str, own: bool
) -> Tried | None:
    position = amount_from(view.position_in(trial, function))
    if position is None or view.record.kind_of(trial) is None:
        return None
    body, disturbed = trial.body, False
    if not own and body.get("damping_came_in") is not False and not _restores(view, body):
        return None
    for cause in fresh.causes(trial):
        sort, _, turned = cause.slot.partition("/")
        if sort != "setting":
            return None
        disturbed = disturbed or function in disturbed_by(turned)
    said = tuning_tables()["trials"]
    came_in = body.get("damping_came_in")
    if not own:
        return Tried(position, outcome="change", disturbed=disturbed, damping_came_in=False)
    return Tried(
        position, tuple(findings_in(body)), str(body.get("outcome", "")),
        provisional=body.get("aid") in said["unloading_aids"], disturbed=disturbed,
        damping_came_in=came_in if isinstance(came_in, bool) else None,
        gave_way=body.get("stop_reason") in said["gave_way_reasons"],
    )


def _restores(view: FittingView, body: Mapping[str, Any]) -> bool:
    """Whether a trial of another function found stance damping missing."""
    graded = {i["finding"] for i in findings_in(body) if i.get("grade") in ("slight", "marked")}
    return any(f.restore and f.key in graded for f in view.edition.findings)


def findings_in(body: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return the findings of a trial, with answers of its form that say the same as one."""
    items = body.get("findings")
    found = [
        {key: str(value) for key, value in item.items()}
        for item in (items if isinstance(items, (list, tuple)) else ())
        if isinstance(item, Mapping) and item.get("finding")
    ]
    graded = {i["finding"] for i in found if i.get("grade") in ("slight", "marked")}
    for answer in tuning_tables()["answers"]:
        if body.get(answer["field"]) == answer["value"] and answer["finding"] not in graded:
            found.append({"finding": answer["finding"], "grade": "slight", "perceived": "seen"})
            graded.add(answer["finding"])
    return found
