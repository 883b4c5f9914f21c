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
from shared_models.checks.parts_over_time import ServiceOfPart, parts_over_time, services
from shared_models.entries.fitting import FittingView
from shared_models.language import Phrases, counted, figure_said, phrase, spoken
from shared_models.quantities.amounts import text_of
from shared_models.wording.dates import day_words
from shared_models.wording.units import unit_behind
from shared_models.wording.visits import DECIDED, LINES

NEW_PART = phrase("the part is new")
NOT_READ, UNCHANGED, STILL_IN = phrase("not read"), phrase("left so"), phrase("built in now")
OPEN, CLOSED = phrase("open"), phrase("closed")
STATES = Phrases({IN_TIME: "in time", DUE_SOON: "due soon", OVERDUE: "overdue", "": "can't be told"})
SUGGESTED = phrase("Suggested: the knee is not worn until somebody has looked at it, and the maker is told as your local rules say.")
OPEN_VISIT, GO_TO_VISIT = phrase("Begin a later visit"), phrase("Go to the later visit")
FOLLOW_UP = phrase("Follow up: {what}, {day}")
AT_VISIT = phrase("Later visit, after the one of {day}")
TAKEN_OUT = phrase("why: {reason}; its state: {condition}; where it went: {where}")
LEFT_LAST = phrase("left at {figure} last time")
DRIFTED = phrase("Drifted since last time: {each}. {held}.")
DRIFTED_ONE = phrase("{name} from {left} to {found} {unit}")
SERVICE_DUE = phrase("Service of {part}: {day}, by {decided}: {state}.")
STILL_OPEN, STILL_OPEN_SAY = phrase("Falls, pain and faults still open"), phrase("Each stays open until a follow-up closes it.")
DRIFT = Phrases({
    "drifted_below": "drifted; below {tolerance} counts as none", "drifted_up_to": "drifted; up to {tolerance} counts as none",
    "as_left_below": "as left; below {tolerance} counts as none", "as_left_up_to": "as left; up to {tolerance} counts as none",
})
OF_THE_PERSON = Phrases({"fitting": "{day}, fitting", "visit": "{day}, later visit"})


@dataclass(frozen=True)
class VisitTable:
    """One table: ``key`` names it, ``marks`` holds a state for each row (met, stale, open), ``says`` it in a sentence."""

    key: str
    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    marks: tuple[str, ...]
    says: str = ""


def visit_tables(view: FittingView, others: Iterable[FittingView], day: date) -> tuple[VisitTable, ...]:
    """Return the tables that say anything: what drifted, what was carried, what is due, what happened."""
    others = tuple(others)
    found = (_drift(view), _events(view, others), _service(view, day), _parts(view))
    return tuple(table for table in found if table.rows)


def drift_words(view: FittingView) -> tuple[str, bool]:
    """Return what drifted since last time in a sentence, and whether anything did; '' while nothing is compared."""
    compared = [d for d in drifts(view) if d.difference is not None]
    drifted = [d for d in compared if d.has_drifted]
    if not compared:
        return "", False
    if not drifted:
        return counted("{number} reading compared, as left last time.", "{number} readings compared, all as left last time.", len(compared)), False
    each = "; ".join(
        spoken(DRIFTED_ONE, name=LINES.get(d.name, d.name), left=text_of(d.left), found=text_of(d.found), unit=unit_behind(d.found, d.unit)) for d in drifted if d.left is not None and d.found is not None
    )
    held = len(compared) - len(drifted)
    return spoken(DRIFTED, each=each, held=counted("{number} other as left", "{number} others as left", held)), True


def service_words(view: FittingView, day: date) -> str:
    """Return each service that is due soon or overdue, a sentence each; '' where none is."""
    return " ".join(
        spoken(SERVICE_DUE, part=s.part.sheet.name if s.part.sheet else view.edition.words("place", s.part.place), day=day_words(s.due.due_on), decided=DECIDED.get(s.due.decided_by, ""), state=STATES[s.due.state(day)])
        for s in services(view) if s.due.due_on and s.due.state(day) in (DUE_SOON, OVERDUE)
    )


def _drift(view: FittingView) -> VisitTable:
    shown = [d for d in drifts(view) if d.left is not None or d.found is not None]
    return VisitTable(
        "drift", spoken("Found now, and left last time"),
        (spoken("What"), spoken("Left last time"), spoken("Found now"), spoken("Apart"), spoken("Changed to")),
        tuple(_drift_row(d, view) for d in shown),
        tuple(_drift_mark(d) for d in shown), drift_words(view)[0],
    )


def _drift_mark(drift: Drift) -> str:
    """Return the state of a row; a figure with nothing to compare it with has not held, nor drifted."""
    if drift.found is None:
        return "open"
    if drift.difference is None:
        return "not applicable"
    return "stale" if drift.has_drifted else "met"


def _drift_row(drift: Drift, view: FittingView) -> tuple[str, ...]:
    def figure(value) -> str:
        return f"{figure_said(text_of(value))} {unit_behind(value, drift.unit)}"

    is_new = drift.slot.partition("/")[2].partition(".")[0] in view.exchanged
    apart = "" if drift.difference is None else figure(drift.difference)
    if drift.difference is not None and drift.tolerance is not None:
        said = f"{'drifted' if drift.has_drifted else 'as_left'}_{'below' if drift.is_position else 'up_to'}"
        apart += f" ({DRIFT[said].format(tolerance=figure(drift.tolerance.normalize()))})"
    return (
        LINES.get(drift.name, drift.name), spoken(NEW_PART if is_new else NOT_READ) if drift.left is None else figure(drift.left),
        spoken(NOT_READ) if drift.found is None else figure(drift.found), apart,
        spoken(UNCHANGED) if drift.now is None else figure(drift.now),
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
    done += [spoken("told: {told}", told=body["told"])] if body.get("told") else []
    done += [str(f.body.get("what", "")) for f in event.follow_ups]
    return (
        day_words(event.happened_on), f"{words('event_what', str(body.get('what', '')))}, {body.get('during', '')}",
        words("injury", str(body.get("injury", ""))) + ("; " + spoken("knee part of it: {answer}", answer=words("knee_involved", knee)) if knee else ""),
        "; ".join(w for w in done if w),
        _standing(event),
    )


def _standing(event: Event) -> str:
    """Say whether an event is open, and what is suggested while a serious one is."""
    if not event.is_open:
        return spoken(CLOSED)
    return f"{spoken(OPEN)}. {spoken(SUGGESTED)}" if event.is_serious else spoken(OPEN)


def _service(view: FittingView, day: date) -> VisitTable:
    found = services(view)
    rows = tuple(_service_row(view, s, day) for s in found)
    return VisitTable(
        "service", spoken("Service"),
        (spoken("Part"), spoken("Counted from"), spoken("By the calendar"), spoken("By steps, estimated"), spoken("Due")), rows,
        tuple("stale" if s.due.state(day) == OVERDUE else "open" if s.due.state(day) == DUE_SOON else "met" for s in found),
    )


def _service_row(view: FittingView, service: ServiceOfPart, day: date) -> tuple[str, ...]:
    due, sheet = service.due, service.part.sheet
    by_steps = "-"
    if due.by_steps:
        by_steps = f"{day_words(due.by_steps)} ({counted('{number} step a day', '{number} steps a day', service.steps_a_day or 0)})"
    elif sheet and sheet.service.get("steps"):
        by_steps = spoken("steps a day not known")
    decided, state = DECIDED.get(due.decided_by, ""), STATES[due.state(day)]
    return (
        sheet.name if sheet else view.edition.words("place", service.part.place), day_words(due.since), _day_or_dash(due.by_months), by_steps,
        spoken("{day}, by {decided}: {state}", day=day_words(due.due_on), decided=decided, state=state) if due.due_on else STATES[""],
    )


def _day_or_dash(day: date | None) -> str:
    return day_words(day) if day else "-"


def _parts(view: FittingView) -> VisitTable:
    """Every part ever carried; only where one was exchanged: what is built in stands elsewhere."""
    parts, words = parts_over_time(view), view.edition.words
    if all(p.until is None for p in parts):
        parts = []
    rows = tuple(
        (
            words("place", p.place), p.sheet.name if p.sheet else str(p.component.body.get("sheet", "")),
            ", ".join(v for k in ("serial", "device_identifier") if (v := str(p.component.body.get(k) or ""))),
            spoken("{first} to {last}", first=day_words(p.since), last=day_words(p.until)) if p.until else spoken("since {first}", first=day_words(p.since)),
            spoken(
                TAKEN_OUT, reason=words("out_reason", str(p.out.body.get("reason", ""))),
                condition=words("part_condition", str(p.out.body.get("condition", ""))), where=words("part_goes_to", str(p.out.body.get("goes_to", ""))),
            ) if p.out else spoken(STILL_IN) if p.until is None else "",
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
    return spoken(LEFT_LAST, figure=f"{figure_said(text_of(drift.left))} {drift.unit}") if drift and drift.left is not None else ""
