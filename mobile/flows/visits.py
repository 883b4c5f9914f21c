"""Later visits on the tablet: beginning one, and what is shown of it."""

from __future__ import annotations

import uuid6

from shared_models.catalogue.edition import Step
from shared_models.catalogue.sheets import PLACES
from shared_models.checks.drift import HEIGHT, LOAD_LINE, drift_of_setting, drift_of_torque, drifts_of_alignment
from shared_models.checks.events import Event, open_events
from shared_models.entries.envelope import Subject
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import now_here
from shared_models.wording.sentences import place_words
from shared_models.wording.visit_lines import VisitTable, left_last, visit_tables
from mobile.keeping.session import Session

#: Which tables stand at which step of a visit.
_AT_STEP = {"since": ("events", "service"), "parts": ("carried",), "as_found": ("drift",), "service": ("service",), "exchange": ("carried",)}
#: What may be opened in a step that nothing has touched yet.
_OPENED = ("setting/", "part_out/", "component/", "service/", "torque_final/")


def others_of(session: Session, view: FittingView) -> list[FittingView]:
    """Return the person's other fittings and visits on this tablet."""
    same = [s.fitting for s in session.summaries() if s.person == view.person.id and s.fitting != view.id]
    return [session.fitting(fitting) for fitting in same]


def visit_after(session: Session, view: FittingView) -> str:
    """Return the visit that was begun after this one; '' where none was."""
    return next((o.id for o in others_of(session, view) if o.after == view.id), "")


def begin_visit(session: Session, view: FittingView) -> str:
    """Open a visit after a fitting or visit; return its id, durable.  Call only where it was opened."""
    if view.opened is None:
        raise ValueError("a visit comes after a fitting that was opened")
    visit = str(uuid6.uuid7())
    body = {**view.opened.body, "prosthetist": session.staff, "after": view.id}
    session.save("opened", Subject("fitting", visit), body)
    return visit


def tables_at(session: Session, view: FittingView, step: str) -> list[VisitTable]:
    """Return what is shown at a step of a visit; nothing for a first fitting."""
    keys = _AT_STEP.get(step, ()) if view.after else ()
    if not keys:
        return []
    return [t for t in visit_tables(view, others_of(session, view), now_here().date()) if t.key in keys]


def followed(session: Session, view: FittingView) -> list[Event]:
    """Return the events that are still open, to be followed up here."""
    return open_events(view, others_of(session, view))


def doors(view: FittingView, step: Step) -> list[tuple[str, str]]:
    """Return (slot, words) of what a step of a visit asks for only once it was begun."""
    if not view.after:
        return []
    asked, found = set(view.slots_asked(step)), []
    for pattern in dict.fromkeys((*step.asks, *step.when)) if step.when else ():
        if not pattern.startswith(_OPENED):
            continue
        keys = PLACES if pattern.startswith(("part_out/", "component/", "service/")) else [s.key for s in view.screws()]
        slots = [pattern.replace("*", key) for key in keys] if "*" in pattern else view.expand(pattern)
        found += [(slot, place_words(slot, view)) for slot in slots if slot not in asked]
    return found


def left_words(view: FittingView, slot: str, field: str) -> str:
    """Say where the figure of a field was left last time; '' where it is not compared."""
    sort, _, key = slot.partition("/")
    if not view.after:
        return ""
    if sort == "found" and field == "position":
        return left_last(drift_of_setting(view, key))
    if slot == "alignment/found":
        line, height = drifts_of_alignment(view)
        return left_last({LOAD_LINE: line, HEIGHT: height}.get(field))
    screw = view.screw(key) if sort == "torque_check" and field == "reading_nm" else None
    return left_last(drift_of_torque(view, screw)) if screw else ""
