"""Taking a batch in: judged whole, stored whole or not at all."""

from __future__ import annotations

from dataclasses import replace
from typing import Mapping

from shared_models.checks.bodies import body_troubles
from shared_models.entries.vouching import is_server_chain
from shared_models.entries.envelope import Entry
from shared_models.exchange.answers import Receipt, receipt_for
from shared_models.exchange.batch import Batch, decode
from shared_models.exchange.intake import Accepted, Reason, Refused, check_batch
from shared_models.exchange.packing import BatchRefusal
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.tablet_access import Access, TabletAccess
from sync_server.services.holding import hold, known_for, note_copied, outside, parted
from sync_server.services.station import Station

#: Kinds that carry authority: believed only from the chain of a server.
SERVER_KINDS = ("staff", "staff_access", "clinic", "review_decision", "held_decided")
#: Of these, what a tablet records that founds a clinic without a server.
FOUNDING_KINDS = ("staff", "clinic")
#: Subjects whose reading and writing is health data, noted one by one.
PERSONAL = ("person", "fitting")


def take_batch(station: Station, access: Access, data: bytes, from_where: str) -> Receipt | Refused:
    """Judge and store a batch; return the receipt, or why it is refused.

    Raises BatchRefusal when the bytes can't be read, ``batch_other_clinic``
    when it is not for the tablet's clinic.
    """
    batch = _read(station, access, data, from_where)
    with station.writing(access.clinic) as reading:
        out = outside(reading)
        known = known_for(station, reading, batch, access, out)
        enrolled = station.keys(reading)
        keys = enrolled.with_entries(known.entries.values())
        found = check_batch(batch, known, keys)
        if isinstance(found, Accepted):
            places = {digest: place for place, (digest, _) in enumerate(batch.entries)}
            reasons = _not_ours_to_take(reading, found, places, enrolled.servers)
            if not reasons:
                kept, held = parted(found, access, out, known)
                count = hold(reading, held, access) + len(set(found.repeated) & set(known.entries))
                return _store(station, reading, access, kept, count, from_where)
            found = Refused(tuple(reasons))
    station.audit.note([AuditRow(
        access.tablet, "push", access.clinic, "", "refused: batch_refused", from_where
    )])
    return found


def _read(station: Station, access: Access, data: bytes, from_where: str) -> Batch:
    try:
        batch = decode(data)
        if batch.clinic != access.clinic:
            raise BatchRefusal("batch_other_clinic", batch=batch.clinic[:100], clinic=access.clinic)
    except BatchRefusal as refusal:
        station.audit.note([AuditRow(
            access.tablet, "push", access.clinic, "", f"refused: {refusal.code}", from_where
        )])
        raise
    return batch


def _store(
    station: Station, reading: ClinicReading, access: Access, found: Accepted, held: int,
    from_where: str,
) -> Receipt:
    station.keep(reading, found.new_entries, found.new_signatures)
    taken = {
        e.subject.id for e in found.new_entries
        if e.kind == "tablet" and e.body.get("revoked") is True and is_server_chain(e.tablet)
    }
    if taken:
        TabletAccess.revoke_within(reading.connection, reading.clinic, sorted(taken))
    if found.forks:
        note_copied(station, reading, {f.tablet for f in found.forks if not is_server_chain(f.tablet)})
    subjects = {
        f"{e.subject.type}/{e.subject.id}" for e in found.new_entries
        if e.subject.type in PERSONAL
    }
    station.audit.note(
        [AuditRow(access.tablet, "push", access.clinic, subject, "held" if held else "stored", from_where)
         for subject in sorted(subjects) or [""]],
        within=reading.connection,
    )
    last = reading.last_sequence()
    receipt = receipt_for(found, access.clinic, station.entries.epoch, last)
    return replace(receipt, held=held)


def _not_ours_to_take(
    reading: ClinicReading, found: Accepted, places: Mapping[str, int],
    servers: frozenset[str],
) -> list[Reason]:
    """Bodies not of the form, subjects of other clinics, what only a server records."""
    reasons = []
    taken = reading.of_other_clinics({
        (e.subject.type, e.subject.id) for e in found.new_entries if e.subject.type in PERSONAL
    })
    for entry in found.new_entries:
        where = f"entries/{places[entry.digest]}"
        reasons += [
            Reason(where, entry.digest, "body_wrong_form", {"field": field})
            for field in body_troubles(entry)
        ]
        if entry.kind in SERVER_KINDS and entry.tablet not in servers and not _founded(reading, entry):
            reasons.append(Reason(where, entry.digest, "recorded_on_server_only", {"kind": entry.kind}))
        if (entry.subject.type, entry.subject.id) in taken:
            figures = {"type": entry.subject.type}
            reasons.append(Reason(where, entry.digest, "subject_of_other_clinic", figures))
    return reasons


def _founded(reading: ClinicReading, entry: Entry) -> bool:
    """Whether a tablet recorded it while it was alone with its clinic, and brings it for the first time."""
    if entry.kind not in FOUNDING_KINDS:
        return False
    to = max((
        int(e.body.get("founded_to") or 0) for e in reading.of_subject("tablet", entry.tablet)
        if is_server_chain(e.tablet)
    ), default=0)
    return entry.number <= to and reading.chain_end(entry.tablet)[0] < to
