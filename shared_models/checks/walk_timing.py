"""The timings of a fitting's walking trials: whose they are, and their figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.calculations.timing.between_walks import Compared, compare
from shared_models.calculations.timing.figures import Basis, Figure
from shared_models.calculations.timing.walk import WalkFigures, walk_figures
from shared_models.checks.contacts_text import contacts_from
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.refusals import Refusal

SLOTS = "timing/*"
#: Trials that go down (or up) a ramp or steps; all others are on the level.
SLOPING = ("trial/ramp", "trial/low_steps", "trial/stairs")


@dataclass(frozen=True)
class TimedWalk:
    """One timing with its figures, and its likeness to the one before it.

    ``walk`` is None where ``refusal`` says why there are no figures.
    ``former`` is the timing before it by the same instrument; ``changes``
    compare each figure that both have.
    """

    entry: Entry
    trial: Entry | None
    walk: WalkFigures | None
    refusal: Refusal | None
    former: Entry | None = None
    changes: tuple[Compared, ...] = ()


def figures_of(body: Mapping[str, Any]) -> WalkFigures:
    """Return the figures of a timing as it is recorded.

    Raises Refusal as `walk_figures`, or ``contacts_text_unreadable``.
    """
    distance = amount_from(body.get("distance_m"))
    return walk_figures(
        contacts_from(body.get("contacts")), finals=contacts_from(body.get("final_contacts")),
        basis=Basis(str(body.get("instrument", "")), str(body.get("event", ""))),
        distance_m=None if distance is None else float(distance),
    )


def all_timings(view: FittingView) -> list[Entry]:
    """Return every timing that holds, in the order they were first recorded."""
    found = []
    for name in view.filled(SLOTS):
        head = view.head(name)
        if head is not None:
            found.append((view.slot(name).root(head).order, head))
    return [entry for _, entry in sorted(found, key=lambda pair: pair[0])]


def trial_of(view: FittingView, timing: Entry) -> Entry | None:
    """Return the trial that a timing names, in its newest version; None when it is gone."""
    named = str(timing.body.get("trial", ""))
    place = view.record.place_of(named)
    if place is None or place[0] != view.subject:
        return None
    for trial in view.trials(place[1]):
        if any(version.digest == named for version in view.slot(place[1]).versions(trial)):
            return trial
    return None


def timings_of(view: FittingView, trial: Entry) -> list[Entry]:
    """Return the timings of one trial, the first recorded first."""
    return [t for t in all_timings(view) if (found := trial_of(view, t)) and found.digest == trial.digest]


def timed_walk(view: FittingView, timing: Entry) -> TimedWalk:
    """Return one timing with its figures and what changed since the former like it."""
    trial = trial_of(view, timing)
    try:
        walk = figures_of(timing.body)
    except Refusal as refusal:
        return TimedWalk(timing, trial, None, refusal)
    former = former_timing(view, timing, trial)
    if former is None:
        return TimedWalk(timing, trial, walk, None)
    try:
        before = figures_of(former.body)
    except Refusal:
        return TimedWalk(timing, trial, walk, None)
    return TimedWalk(timing, trial, walk, None, former, changes_between(walk, before))


def former_timing(view: FittingView, timing: Entry, trial: Entry | None) -> Entry | None:
    """Return the last timing before this one, of another trial, that can be compared with it.

    Same instrument, same event, walked the same way; on a ramp or steps in the
    same trial too.
    """
    found, slot = None, _trial_slot(view, trial)
    for earlier in all_timings(view):
        if earlier.digest == timing.digest:
            return found
        other = trial_of(view, earlier)
        same_trial = other is not None and trial is not None and other.digest == trial.digest
        alike = all(earlier.body.get(k) == timing.body.get(k) for k in ("instrument", "event", "way"))
        sloping = slot in SLOPING and _trial_slot(view, other) != slot
        if alike and other is not None and not same_trial and not sloping:
            found = earlier
    return None


def changes_between(walk: WalkFigures, before: WalkFigures) -> tuple[Compared, ...]:
    """Compare the figures that two walks are compared by."""
    return tuple(compare(now, then) for now, then in zip(compared_figures(walk), compared_figures(before)))


def compared_figures(walk: WalkFigures) -> tuple[Figure, ...]:
    """Return the figures by which walks are compared, always the same ones in the same order."""
    return (
        walk.steady.figure("step_time_s", "", "symmetry_index_percent"),
        walk.steady.figure("step_time_s", "left", "mean"),
        walk.steady.figure("step_time_s", "right", "mean"),
        walk.whole["steady_cadence_steps_per_min"],
        walk.whole["speed_m_per_s"],
    )


def _trial_slot(view: FittingView, trial: Entry | None) -> str:
    place = view.record.place_of(trial.digest) if trial else None
    return place[1] if place else ""
