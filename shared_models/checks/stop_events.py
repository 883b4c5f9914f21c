"""A trial stopped for a fall: recorded as an event, so that somebody follows it up, or said why not.

Which reasons are which event is data of the edition (`stop_reason` of a trial).
"""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.checks.events import events_of
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import kept
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import day_of

#: What an event recorded from a stop begins its id with; the rest names the stop.
_OF_STOP = "stop-"
_NAMED_BY = 32


@dataclass(frozen=True)
class StopEvent:
    """A stop that is to be recorded as an event.

    ``event``: the id that its event gets; ``what``: which event it is; ``root``: the
    digest by which it is said that it is none; ``is_needed``: whether its event is missed;
    ``no_event``: the entry that says why it is none, with a reason.
    """

    trial: Entry
    slot: str
    root: str
    what: str
    is_needed: bool
    no_event: Entry | None = None

    @property
    def event(self) -> str:
        """Id of its event: the same on every tablet, so that one fall is one event."""
        return _OF_STOP + self.root[:_NAMED_BY]

    @property
    def slots(self) -> tuple[str, str]:
        """Where it is recorded, and where it is said that it is none."""
        return f"event/{self.event}", f"no_event/{self.root}"


def stop_of_event(view: FittingView, event: str) -> StopEvent | None:
    """Return the stop whose event has this id; None for any other event."""
    return next((s for s in _stops(view) if s.event == event), None) if event.startswith(_OF_STOP) else None


def stops_without_event(view: FittingView) -> list[StopEvent]:
    """Return the stops that are no event yet, oldest first; those said to be none have their reason.

    An event of that sort recorded for the same day without a stop counts for one of them.
    """
    stops = _stops(view)
    if not stops:
        return []
    own = {s.event for s in stops}
    events = events_of(view)
    recorded = {e.id for e in events}
    loose = [(str(e.entry.body.get("what", "")), e.happened_on) for e in events if e.id not in own]
    found = []
    for stop in stops:
        alike = (stop.what, day_of(stop.trial.happened_at).isoformat())
        if stop.event in recorded:
            continue
        if alike in loose:
            loose.remove(alike)
            continue
        found.append(stop)
    return found


def stop_event_remarks(view: FittingView, slot: str = "") -> list[Remark]:
    """Return remarks on stops without their event, of one trial slot or of all; a fall blocks until it is said."""
    return [remark_on(stop) for stop in stops_without_event(view) if slot in ("", stop.slot)]


def remark_on(stop: StopEvent) -> Remark:
    """Return what is to be said of a stop without its event."""
    body, digest = stop.trial.body, stop.trial.digest
    figures = {"date": day_of(stop.trial.happened_at).isoformat(), "reason": str(body.get("stop_reason", ""))}
    if stop.no_event is not None:
        figures["stated"] = str(stop.no_event.body["because"]).strip()
        return Remark("stop_is_no_event", stop.slot, digest, figures, blocks=False)
    if stop.is_needed:
        return Remark("fall_without_event", stop.slot, digest, figures)
    return Remark("near_fall_without_event", stop.slot, digest, figures, blocks=False)


def _stops(view: FittingView) -> list[StopEvent]:
    found = []
    for kind in view.edition.kinds.values():
        if kind.group != "trial":
            continue
        reasons = kind.field("stop_reason")
        for trial in view.trials(kind.slot):
            reason = trial.body.get("stop_reason")
            if trial.body.get("outcome") != "stopped" or not view.record.kind_of(trial) or reason not in (reasons.events or {}):
                continue
            root = view.slot(kind.slot).root(trial).digest
            said = view.head(f"no_event/{root}")
            found.append(StopEvent(
                trial, kind.slot, root, reasons.events[reason], reason in reasons.events_needed,
                said if said is not None and kept(said, "because") else None,
            ))
    return sorted(found, key=lambda s: s.trial.order)
