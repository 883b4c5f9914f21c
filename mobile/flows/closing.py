"""Caps and screws as the drawing shows them: which, in what order, in what state."""

from __future__ import annotations

from shared_models.checks.verdict import Verdict
from shared_models.drawings.component_map import DrawnPart, Mark
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from mobile.flows.board import Card, card
from mobile.flows.forms import SlotForm
from mobile.keeping.session import Session

#: The kinds that have a drawing beside them: the sort of slot, and how a sheet names it.
SORTS = {"torque_interim": "screw", "torque_final": "screw", "torque_check": "screw", "cap": "cap"}


def sort_of(slot: str) -> str:
    """Return the sort of a slot that is drawn, '' for any other."""
    sort = slot.partition("/")[0]
    return sort if sort in SORTS else ""


def drawn_parts(view: FittingView, verdict: Verdict, sort: str, in_hand: str = "") -> list[DrawnPart]:
    """Return each part that has screws or caps, with their marks, from the socket down.

    ``sort``: ``cap``, ``torque_final``, ``torque_interim`` or ``torque_check``; ``in_hand`` the slot at work.
    Numbers run through all parts, in the order of the list.
    """
    named = "cap" if sort == "cap" else "screw"
    listed = [(c.place, c.key, c.cap.key, c.cap.name) for c in view.caps()] if sort == "cap" else [
        (s.place, s.key, s.screw.key, s.screw.name) for s in view.screws()
    ]
    parts: dict[str, list[Mark]] = {}
    for number, (place, key, own, name) in enumerate(listed, 1):
        slot = f"{sort}/{key}"
        state = mark_state(card_in(view, verdict, slot))
        parts.setdefault(place, []).append(Mark(slot, f"{named}/{own}", number, name, state, slot == in_hand))
    sheets = view.sheets()
    return [DrawnPart(sheets[place].name, sheets[place].drawing, tuple(marks)) for place, marks in parts.items()]


def part_of(parts: list[DrawnPart], slot: str) -> list[DrawnPart]:
    """Return only the part that a slot is on; all of them for a slot that is on none."""
    found = [part for part in parts if any(mark.key == slot for mark in part.marks)]
    return found or parts


def card_in(view: FittingView, verdict: Verdict, slot: str) -> Card:
    """Return the card of a slot, judged by the step that asks for it."""
    step = view.edition.step_of_slot(slot)
    return card(view, verdict.step(step.key) if step else verdict.steps[0], slot)


def mark_state(found: Card) -> str:
    """Return the state of a card as a mark: recorded and not good enough is a doubt."""
    return "doubt" if found.state == "open" and found.heads else found.state


def after(view: FittingView, verdict: Verdict, slot: str) -> Card | None:
    """Return the next screw or cap that is not done, in the sheet's order; None when none is left."""
    sort = sort_of(slot)
    slots = [m.key for part in drawn_parts(view, verdict, sort) for m in part.marks] if sort else []
    start = slots.index(slot) + 1 if slot in slots else 0
    for other in slots[start:] + slots[:start]:
        found = card_in(view, verdict, other)
        if other != slot and not found.is_done:
            return found
    return None


def tick_cap(session: Session, fitting: str, slot: str, seated: bool) -> Entry:
    """Record that a cap is seated, or that it is not; durable when this returns."""
    form = SlotForm(session, fitting, slot, fresh=True)
    form.typed["seated"] = seated
    return form.save()


def closed_before(view: FittingView, verdict: Verdict, slot: str) -> list[str]:
    """Return the caps that a cap closes over and that are not seated yet, by name."""
    caps = {f"cap/{c.key}": c for c in view.caps()}
    own = caps.get(slot)
    under = [f"cap/{own.place}.{over.partition('/')[2]}" for over in own.cap.over if over.startswith("cap/")] if own else []
    return [caps[u].cap.name for u in under if u in caps and not card_in(view, verdict, u).is_done]
