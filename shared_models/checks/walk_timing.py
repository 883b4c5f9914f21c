"""The timings of a fitting's walking trials: whose they are, and their figures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Mapping

from shared_models.calculations.timing.blocks import Block, prosthesis_key
from shared_models.calculations.timing.changes import Shift, shift_of
from shared_models.calculations.timing.contacts import SIDES, Contact, Doubt
from shared_models.calculations.timing.figures import Basis, Figure
from shared_models.calculations.timing.jitter import THUMB_JITTER_S
from shared_models.calculations.timing.stairs import StairContact, stair_figures
from shared_models.calculations.timing.steady import LeftOut
from shared_models.calculations.timing.walk import walk_figures
from shared_models.checks.contacts_text import contacts_from, landings_in
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.refusals import Refusal

SLOTS = "timing/*"
LEVEL, DOWN = "level", "down"
#: Trials on a ramp or on steps, where the way down is what is tried.
SLOPING = ("trial/ramp", "trial/low_steps", "trial/stairs")


@dataclass(frozen=True)
class TimingFigures:
    """The figures of one timing, of a level walk or of steps and ramps alike.

    ``block`` holds the steady steps of a level walk, or those of the flights
    without landings; ``whole`` the figures of the walk as a whole (none on steps).
    ``pattern`` and ``time_per_tread_s`` need the number of steps of the stair.
    """

    way: str
    prosthesis_side: str
    contacts: tuple[Contact, ...]
    basis: Basis
    jitter_s: float
    duration_s: float
    doubts: tuple[Doubt, ...]
    block: Block
    left_out: tuple[LeftOut, ...]
    whole: Mapping[str, Figure]
    has_finals: bool = False
    landing_s: tuple[float, ...] = ()
    time_per_tread_s: float | None = None
    pattern: str = ""

    @property
    def symmetry(self) -> Figure:
        """The symmetry index of the step times; prosthesis against sound side where known."""
        return self.index("symmetry_index_percent")

    def index(self, key: str) -> Figure:
        """Return an index of the step times, prosthesis against sound side where known."""
        return self.block.figure("step_time_s", "", prosthesis_key(key) if self.prosthesis_side else key)


@dataclass(frozen=True)
class TimedTrial:
    """One timing with its figures, and its likeness to the one before it.

    ``figures`` is None where ``refusal`` says why there are none.  ``former``
    is the timing before it by the same instrument; ``shifts`` say how far each
    figure that both have moved since.
    """

    entry: Entry
    trial: Entry | None
    figures: TimingFigures | None
    refusal: Refusal | None
    former: Entry | None = None
    shifts: tuple[Shift, ...] = ()


def prosthesis_side_of(view: FittingView) -> str:
    """Return left or right; "" while the fitting's side is not known."""
    side = str(view.opened.body.get("side", "")) if view.opened else ""
    return side if side in SIDES else ""


def figures_of(body: Mapping[str, Any], prosthesis_side: str = "", treads: int | None = None) -> TimingFigures:
    """Return the figures of a timing as it is recorded.

    ``treads`` is how many steps of a stair were taken.  Raises Refusal as
    `walk_figures` and `stair_figures`, or ``contacts_text_unreadable``.
    """
    contacts = contacts_from(body.get("contacts"))
    basis = Basis(str(body.get("instrument", "")), str(body.get("event", "")))
    stated, distance = amount_from(body.get("contact_sd_s")), amount_from(body.get("distance_m"))
    jitter_s = THUMB_JITTER_S if stated is None else float(stated)
    way = str(body.get("way", LEVEL))
    if way != LEVEL:
        return _on_steps(body, contacts, basis, jitter_s, way, prosthesis_side, treads)
    walk = walk_figures(
        contacts, finals=contacts_from(body.get("final_contacts")), basis=basis,
        distance_m=None if distance is None else float(distance), jitter_s=jitter_s,
        prosthesis_side=prosthesis_side,
    )
    return TimingFigures(
        way, prosthesis_side, walk.contacts, basis, walk.jitter_s,
        walk.whole["duration_s"].value or 0.0, walk.doubts, walk.steady, walk.left_out, walk.whole,
        has_finals=bool(walk.finals),
    )


def _on_steps(
    body: Mapping[str, Any], contacts: tuple[Contact, ...], basis: Basis, jitter_s: float,
    way: str, prosthesis_side: str, treads: int | None,
) -> TimingFigures:
    landings = landings_in(body.get("contacts"))
    placed = [
        StairContact(each.side, each.time_s, at in landings)  # type: ignore[arg-type]
        for at, each in enumerate(contacts)
    ]
    found = stair_figures(
        placed, direction=way, basis=basis, treads=treads, prosthesis_side=prosthesis_side, jitter_s=jitter_s,
    )
    return TimingFigures(
        way, prosthesis_side, contacts, basis, found.jitter_s, found.duration_s, found.doubts,
        found.flights, found.left_out, {}, landing_s=found.landing_s,
        time_per_tread_s=found.time_per_tread_s, pattern=found.pattern,
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


def timed_trial(view: FittingView, timing: Entry) -> TimedTrial:
    """Return one timing with its figures and what moved since the former one like it."""
    trial = trial_of(view, timing)
    try:
        figures = _figures_in(view, timing, trial)
    except Refusal as refusal:
        return TimedTrial(timing, trial, None, refusal)
    former = former_timing(view, timing, trial)
    try:
        before = _figures_in(view, former, trial_of(view, former)) if former else None
    except Refusal:
        before = None
    if before is None:
        return TimedTrial(timing, trial, figures, None)
    return TimedTrial(timing, trial, figures, None, former, shifts_between(before, figures))


def _figures_in(view: FittingView, timing: Entry, trial: Entry | None) -> TimingFigures:
    steps = amount_from(trial.body.get("steps")) if trial else None
    return figures_of(timing.body, prosthesis_side_of(view), int(steps) if steps else None)


def former_timing(view: FittingView, timing: Entry, trial: Entry | None) -> Entry | None:
    """Return the last timing before this one, of another trial, that can be compared with it.

    Same instrument, same event, walked the same way; on a ramp or steps in
    trials of the same ground too.
    """
    found, slot = None, _slot_of(view, trial)
    for earlier in all_timings(view):
        if earlier.digest == timing.digest:
            break
        other = trial_of(view, earlier)
        if other is None or trial is not None and other.digest == trial.digest:
            continue
        alike = all(earlier.body.get(k) == timing.body.get(k) for k in ("instrument", "event", "way"))
        if alike and (slot not in SLOPING or _slot_of(view, other) == slot):
            found = earlier
    return found


def shifts_between(before: TimingFigures, after: TimingFigures) -> tuple[Shift, ...]:
    """Return how far each figure that two timings are compared by moved, where both have it."""
    found = []
    for earlier, later in zip(_compared(before), _compared(after)):
        try:
            found.append(shift_of(earlier, later))
        except Refusal:
            continue  # one of the two has no such figure
    return tuple(found)


def _compared(figures: TimingFigures) -> list[Figure]:
    """The figures by which timings are compared, always the same ones in the same order."""
    compared = [figures.symmetry]
    compared += [figures.block.figure("step_time_s", side, "mean") for side in SIDES]
    return compared + [
        figures.whole[key] for key in ("steady_cadence_steps_per_min", "speed_m_per_s") if key in figures.whole
    ]


def _slot_of(view: FittingView, trial: Entry | None) -> str:
    place = view.record.place_of(trial.digest) if trial else None
    return place[1] if place else ""


def walked_speed(distance_m: Decimal | None, time_s: Decimal | None) -> float | None:
    """Return the speed in m/s over a marked distance; None where either is missing or no time passed."""
    if distance_m is None or time_s is None or time_s <= 0:
        return None
    return float(distance_m / time_s)
