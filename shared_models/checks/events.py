"""Falls, pain and faults: what happened, what was done, and what is still open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable

from shared_models.checks.parts_over_time import visits_up_to
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import day_of

#: Harm after which the knee is not worn until somebody has looked.
SERIOUS = ("care", "serious")
#: Answers that leave it open whether the knee did it.
_MAY_BE_THE_KNEE = ("yes", "perhaps", "not_known", "")


@dataclass(frozen=True)
class Event:
    """One event with the course of its follow-up, oldest first."""

    entry: Entry
    follow_ups: tuple[Entry, ...]

    @property
    def id(self) -> str:
        """The event's own id, by which follow-ups name it."""
        return str(self.entry.body.get("event", ""))

    @property
    def is_open(self) -> bool:
        """Whether nobody has closed it, or somebody opened it again."""
        return not self.follow_ups or self.follow_ups[-1].body.get("closes") is not True

    @property
    def happened_on(self) -> str:
        """The day it happened; the day of the entry where no day was said."""
        return str(self.entry.body.get("happened_on") or day_of(self.entry.happened_at))

    @property
    def is_serious(self) -> bool:
        """Whether somebody was harmed so that care was needed, and the knee may have done it."""
        body = self.entry.body
        harmed = body.get("injury") in SERIOUS
        return harmed and (
            body.get("injury") == "serious" or str(body.get("knee_involved", "")) in _MAY_BE_THE_KNEE
        )


def events_of(view: FittingView, others: Iterable[FittingView] = ()) -> list[Event]:
    """Return the events of a fitting and the visits before it, by the day they happened.

    ``others``: further fittings and visits of the person that are at hand; what was
    followed up there counts, and what happened there is listed.
    """
    views = {v.id: v for v in visits_up_to(view)}
    views |= {o.id: o for o in others if o.person == view.person}
    events: dict[str, Entry] = {}
    follow_ups: dict[str, list[Entry]] = {}
    for found in views.values():
        for name in found.own("event/*"):
            events |= {name.partition("/")[2]: head for head in found.heads(name)[:1] if _reads(found, head)}
        for name in found.own("event_follow_up/*"):
            history = [e for e in found.slot(name).history() if _reads(found, e)]
            follow_ups.setdefault(name.partition("/")[2], []).extend(history)
    rows = [Event(e, tuple(sorted(follow_ups.get(key, ()), key=lambda f: f.order))) for key, e in events.items()]
    return sorted(rows, key=lambda r: (r.happened_on, r.entry.order))


def open_events(view: FittingView, others: Iterable[FittingView] = ()) -> list[Event]:
    """Return the events that nobody has closed."""
    return [event for event in events_of(view, others) if event.is_open]


def _reads(view: FittingView, entry: Entry) -> bool:
    return view.record.kind_of(entry) is not None
