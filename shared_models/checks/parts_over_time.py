"""Which part somebody carried in which place, from when to when, over all visits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from shared_models.calculations.service import ServiceDue, Walked, service_due
from shared_models.catalogue.sheets import PLACES, Sheet
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.moments import day_of

_MARKS = ("sheet", "serial", "lot", "device_identifier")


@dataclass(frozen=True)
class PartCarried:
    """One part in one place: ``until`` None while it is built in.

    ``out``: what was recorded of it as it was taken out, None where nothing was.
    ``fitting``: the fitting or visit at which it was built in.
    """

    place: str
    component: Entry
    sheet: Sheet | None
    since: date
    until: date | None = None
    out: Entry | None = None
    fitting: str = ""

    @property
    def serial(self) -> str:
        """Serial number as marked."""
        return str(self.component.body.get("serial", ""))


def visits_up_to(view: FittingView) -> list[FittingView]:
    """Return the fitting that a visit goes back to and every visit since, this one last."""
    found = [view]
    while found[0].former is not None:
        found.insert(0, found[0].former)
    return found


def parts_over_time(view: FittingView) -> list[PartCarried]:
    """Return every part carried up to this visit, by place, the first one first.

    The same part recorded anew, by a newer version of its sheet, is one part.
    A part that was disputed stands in no row of its own until somebody settles it.
    """
    found: list[PartCarried] = []
    for place in PLACES:
        own: list[PartCarried] = []
        for visit in visits_up_to(view):
            taken_out = visit.head(f"part_out/{place}") if visit.after else None
            for entry in _built_in(visit, place):
                row = PartCarried(place, entry, visit.sheet_of(entry), day_of(entry.happened_at), fitting=visit.id)
                last = own[-1] if own else None
                if last and _marks(last.component) == _marks(entry) and (taken_out is None or last.fitting == visit.id):
                    own[-1] = replace(last, component=entry, sheet=row.sheet)
                    continue
                if last:
                    out = taken_out if last.fitting != visit.id else None
                    own[-1] = replace(last, until=row.since, out=out)
                own.append(row)
        found += own
    return found


def _built_in(visit: FittingView, place: str) -> list[Entry]:
    """What was built in at this very visit, in order."""
    slot = visit.record.slot(visit.subject, f"component/{place}")
    heads = slot.heads()
    if len(heads) != 1:
        return []
    return [e for e in slot.history() if e.kind == "component"]


def _marks(entry: Entry) -> tuple[str, ...]:
    return tuple(str(entry.body.get(name, "")) for name in _MARKS)


def steps_a_day(view: FittingView) -> int | None:
    """Return the steps a day said last, at this visit or before; None when nobody said."""
    return next((said for visit in reversed(visits_up_to(view)) if (said := _steps_said(visit)) is not None), None)


def steps_walked_before(view: FittingView) -> tuple[Walked, ...]:
    """Return the spells between the visits up to this one, with the steps a day in each.

    What is said at a visit is how it went since the one before.  A visit at which
    nobody said leaves it at what was said before, or, where nobody ever had, at
    what was said next.
    """
    visits = visits_up_to(view)
    said = [_steps_said(visit) for visit in visits]
    known = next((each for each in said if each is not None), None)
    spells: list[Walked] = []
    for visit, here in zip(visits, said):
        known = here if here is not None else known
        if visit.after and visit.opened is not None and known is not None:
            spells.append((day_of(visit.opened.happened_at), known))
    return tuple(spells)


def _steps_said(visit: FittingView) -> int | None:
    for slot in ("since_last", "activity"):
        said = amount_from(visit.value(slot, "steps_a_day"))
        if said is not None:
            return int(said)
    return None


@dataclass(frozen=True)
class ServiceOfPart:
    """A part built in whose sheet states an interval, and when it is due."""

    part: PartCarried
    due: ServiceDue
    serviced: Entry | None
    steps_a_day: int | None


def services(view: FittingView) -> list[ServiceOfPart]:
    """Return each part built in now whose sheet states a service interval."""
    found, a_day, walked = [], steps_a_day(view), steps_walked_before(view)
    for part in parts_over_time(view):
        if part.until is not None or part.sheet is None or not part.sheet.service:
            continue
        last = _last_service(view, part)
        since = _day(last) or part.since
        interval = part.sheet.service
        due = service_due(since, interval.get("months"), interval.get("steps"), a_day, walked)
        found.append(ServiceOfPart(part, due, last, a_day))
    return found


def _last_service(view: FittingView, part: PartCarried) -> Entry | None:
    """The last service of the part itself, not of the one before it."""
    heads = [v.head(f"service/{part.place}") for v in visits_up_to(view)]
    own = [h for h in heads if h is not None and (_day(h) or date.min) >= part.since]
    return max(own, key=lambda e: (_day(e) or date.min, e.order), default=None)


def _day(service: Entry | None) -> date | None:
    try:
        return date.fromisoformat(str(service.body.get("serviced_on", ""))) if service else None
    except ValueError:
        return None
