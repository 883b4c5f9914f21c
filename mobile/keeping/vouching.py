"""Vouching for signing keys at a tablet: one's own from another tablet, or as lead clinician."""

from __future__ import annotations

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import public_text
from shared_models.entries.vouching import has_ended, is_lead
from shared_models.ledger.pins import PinRefusal
from shared_models.quantities.refusals import Refusal
from mobile.keeping.session import Session


def waiting_keys(session: Session) -> list[Entry]:
    """Return the recorded keys that nobody has vouched for, oldest first."""
    return list(session.record.vouched.without)


def may_vouch(session: Session, staff: str) -> bool:
    """Tell whether the person at work, with the key they have here, can vouch for somebody."""
    own = public_text(session.unlocked.signing_key)
    return own in session.record.vouched.of(session.staff) and (
        staff == session.staff or is_lead(session.record, session.staff)
    )


def refuse_ended(session: Session, staff: str) -> None:
    """Refuse ``person_ended`` for somebody who no longer works at the clinic."""
    if has_ended(session.record, staff):
        raise PinRefusal("person_ended")


def vouch(session: Session, key: Entry) -> Entry:
    """Record and sign that a ``staff_key`` entry is right; durable when this returns.

    Raises Refusal ``may_not_vouch``.
    """
    staff = key.subject.id
    if not may_vouch(session, staff):
        raise Refusal("may_not_vouch")
    body = {"tablet": str(key.body["tablet"]), "public_key": str(key.body["public_key"])}
    return session.save("key_vouched", Subject("staff", staff), body, settles=True)
