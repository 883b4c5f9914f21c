"""Which form a slot gets: some kinds work something out while they are typed."""

from __future__ import annotations

from shared_models.entries.envelope import Entry
from mobile.flows.alignment import form_for as alignment_form
from mobile.flows.event_form import EventForm
from mobile.flows.forms import SlotForm
from mobile.flows.part_form import PartForm
from mobile.flows.torque_form import KINDS, TorqueForm
from mobile.keeping.session import Session

_FORMS: dict[str, type[SlotForm]] = {"component": PartForm, "adverse_event": EventForm, **dict.fromkeys(KINDS, TorqueForm)}


def form_for(session: Session, fitting: str, slot: str, wrong: Entry | None = None) -> SlotForm:
    """Return the form of a slot, for a new fact or for the correction of ``wrong``."""
    edition = session.fitting(fitting).edition
    kind = edition.kinds.get(wrong.kind) if wrong else None
    kind = kind or edition.kind_of_slot(slot)
    made = _FORMS.get(kind.key)
    return made(session, fitting, slot, wrong=wrong) if made else alignment_form(session, fitting, slot, wrong=wrong)
