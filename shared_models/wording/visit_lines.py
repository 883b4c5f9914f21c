"""What a later visit shows, as plain tables: drift, parts over time, service, events.

Tablet, review page and papers show these same rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Iterable

from shared_models.calculations.service import DUE_SOON, IN_TIME, OVERDUE
from shared_models.checks.drift import Drift, drifts
from shared_models.checks.events import Event, events_of
from shared_models.checks.parts_over_time import parts_over_time, services
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.quantities.amounts import text_of
from shared_models.wording.visits import DECIDED

NOT_READ, UNCHANGED, STILL_IN = "not read", "left so", "built in now"
OPEN, CLOSED = "open", "closed"
STATES = {IN_TIME: "in time", DUE_SOON: "due soon", OVERDUE: "overdue", "": "can't be told"}
SUGGESTED = "Suggested: the knee is not worn until somebody has looked at it, and the maker is told as your local rules say."
OPEN_VISIT, GO_TO_VISIT = "Begin a later visit", "Go to the later visit"
AT_VISIT = "Later visit, after the one of {day}"
LEFT_LAST = "left at {figure} last time"


@dataclass(frozen=True)
class VisitTable:
    """One table: ``key`` names it, ``marks`` holds a state for each row (met, stale, open)."""

    key: str
    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    marks: tuple[str, ...]


def visit_tables(view: FittingView, others: Iterable[FittingView], day: date) -> tuple[VisitTable, ...]:
    """Return the tables that say anything: what drifted, what was carried, what is due, what happened."""
    others = tuple(others)
    found = (_drift(view), _events(view, others), _service(view, day), _parts(view))
    return tuple(table for table in found if table.rows)


def _drift(view: FittingView) -> VisitTable:
    shown = [d for d in drifts(view) if d.left is not None or d.found is not None]
    return VisitTable(
        "drift", spoken("Found now, and left last time"),
        (spoken("What"), spoken("Left last time"), spoken("Found now"), spoken("Apart"), spoken("Changed to")),
        tuple(_drift_row(d) for d in shown),
        tuple("open" if d.found is None else "stale" if d.has_drifted else "met" for d in shown),
    )


def _drift_row(drift: Drift) -> tuple[str, ...]:
    def figure(value) -> str:
        return f"{text_of(value)} {drift.unit}"

    apart = "" if drift.difference is None else figure(drift.difference)
    if drift.difference is not None and drift.tolerance is not None:
        bound = "below" if drift.is_position else "up to"
        apart += f" ({'drifted' if drift.has_drifted else 'as left'}; {bound} {text_of(drift.tolerance.normalize())} {drift.unit} counts as none)"
    return (
        drift.name, NOT_READ if drift.left is None else figure(drift.left),
        NOT_READ if drift.found is None else figure(drift.found), apart,
        UNCHANGED if drift.now is None else figure(drift.now),
    )


def _events(view: FittingView, others: tuple[FittingView, ...]) -> VisitTable:
    events = events_of(view, others)
    return VisitTable(
        "events", spoken("Falls, pain and faults"),
        (spoken("When"), spoken("What"), spoken("Harm"), spoken("Done"), spoken("State")),
        tuple(_event_row(view, e) for e in events), tuple("stale" if e.is_open else "met" for e in events),
    )


def _event_row(view: FittingView, event: Event) -> tuple[str, ...]:
    body, words = event.entry.body, view.edition.words
    knee = str(body.get("knee_involved") or "")
    done = [str(body.get(k) or "") for k in ("action", "follow_up")]
    done += [f"told: {body['told']}"] if body.get("told") else []
    done += [str(f.body.get("what", "")) for f in event.follow_ups]
    return (
        event.happened_on, f"{words('event_what', str(body.get('what', '')))}, {body.get('during', '')}",
        words("injury", str(body.get("injury", ""))) + (f"; knee part of it: {words('knee_involved', knee)}" if knee else ""),
        "; ".join(w for w in done if w),
        (f"{OPEN}. {SUGGESTED}" if event.is_serious else OPEN) if event.is_open else CLOSED,
    )


def _service(view: FittingView, day: date) -> VisitTable:
    found = services(view)
    rows = tuple(
        (
            s.part.sheet.name if s.part.sheet else s.part.place, s.due.since.isoformat(),
            str(s.due.by_months or "-"),
            f"{s.due.by_steps} ({s.steps_a_day} steps a day)" if s.due.by_steps else "steps a day not known" if s.part.sheet and s.part.sheet.service.get("steps") else "-",
            f"{s.due.due_on}, by {DECIDED[s.due.decided_by]}: {STATES[s.due.state(day)]}" if s.due.due_on else STATES[""],
        )
        for s in found
    )
    return VisitTable(
        "service", spoken("Service"),
        (spoken("Part"), spoken("Counted from"), spoken("By the calendar"), spoken("By steps, estimated"), spoken("Due")), rows,
        tuple("stale" if s.due.state(day) == OVERDUE else "open" if s.due.state(day) == DUE_SOON else "met" for s in found),
    )


def _parts(view: FittingView) -> VisitTable:
    """Every part ever carried; only where one was exchanged: what is built in stands elsewhere."""
    parts, words = parts_over_time(view), view.edition.words
    if all(p.until is None for p in parts):
        parts = []
    rows = tuple(
        (
            words("place", p.place), p.sheet.name if p.sheet else str(p.component.body.get("sheet", "")),
            ", ".join(v for k in ("serial", "device_identifier") if (v := str(p.component.body.get(k) or ""))),
            f"{p.since} to {p.until}" if p.until else f"since {p.since}",
            ", ".join((
                words("out_reason", str(p.out.body.get("reason", ""))), words("part_condition", str(p.out.body.get("condition", ""))),
                words("part_goes_to", str(p.out.body.get("goes_to", ""))),
            )) if p.out else STILL_IN if p.until is None else "",
        )
        for p in parts
    )
    return VisitTable(
        "carried", spoken("Parts carried, from when to when"),
        (spoken("Place"), spoken("Component"), spoken("Serial, identifier"), spoken("When"), spoken("Taken out")), rows,
        tuple("met" if p.until is None else "not applicable" for p in parts),
    )


def left_last(drift: Drift | None) -> str:
    """Say beside a field where a figure was left; '' where nothing was."""
    return LEFT_LAST.format(figure=f"{text_of(drift.left)} {drift.unit}") if drift and drift.left is not None else ""
