"""Taking access away, holding back what comes after it, and the lead's decision on that."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Mapping, Sequence

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.record import Record
from shared_models.entries.signatures import CHAIN_HEAD, Signature
from shared_models.entries.vouching import has_ended, is_copied, is_lead, is_revoked
from shared_models.exchange.batch import Batch, batch_of
from shared_models.exchange.intake import Accepted, check_batch
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.holding import (
    LEFT,
    TAKEN_IN,
    Holding,
    HoldingRefusal,
    KnownAndHeld,
)
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.tablet_access import Access
from shared_models.quantities.moments import moment_text, now_here
from sync_server.services.signing_in import SessionRefusal
from sync_server.services.station import Station

LONGEST_REASON = 1000


@dataclass(frozen=True)
class Outside:
    """Whose access was taken away: chains of tablets, and people's signatures."""

    tablets: frozenset[str]
    people: frozenset[str]


def outside(reading: ClinicReading) -> Outside:
    """Return who is outside, as the clinic's own entries say."""
    record = reading.staff_record()
    return Outside(
        frozenset(t for t in record.subjects("tablet") if is_revoked(record, t)),
        frozenset(s for s in record.subjects("staff") if has_ended(record, s)),
    )


def known_for(
    station: Station, reading: ClinicReading, batch: Batch, access: Access, out: Outside
) -> KnownAndHeld:
    """Return what a batch is judged against: what is held is read only where it can matter."""
    tablets = {envelope.get("tablet") for _, envelope in batch.entries}
    signers = {record.get("signer") for record in batch.signatures}
    concerned = access.revoked or (tablets | signers) & (out.tablets | out.people)
    items = Holding(reading.connection, reading.clinic).items() if concerned else []
    return KnownAndHeld(station.entries, items)


def parted(
    found: Accepted, access: Access, out: Outside, known: KnownAndHeld
) -> tuple[Accepted, dict[str, list[Entry | Signature]]]:
    """Part what goes into the sequence from what is held back, by whose it is."""
    held: dict[str, list[Entry | Signature]] = {}
    entries = []
    behind = set(known.entries)
    for entry in found.new_entries:
        if access.revoked or entry.tablet in out.tablets:
            held.setdefault(entry.tablet, []).append(entry)
            behind.add(entry.digest)
        else:
            entries.append(entry)
    signatures = []
    for signature in found.new_signatures:
        if signature.meaning == CHAIN_HEAD and signature.signs in known.heads:
            continue  # each try to send signs the same end anew
        if signature.signs in behind or signature.signer in out.tablets:
            entry_of = known.by_digest(signature.signs)
            of = entry_of.tablet if entry_of else _chain_of(found, signature.signs)
            held.setdefault(of, []).append(signature)
        elif signature.signer_type == "staff" and signature.signer in out.people:
            held.setdefault(signature.signer, []).append(signature)
        elif access.revoked:
            held.setdefault(access.tablet, []).append(signature)
        else:
            signatures.append(signature)
    return replace(found, new_entries=tuple(entries), new_signatures=tuple(signatures)), held


def _chain_of(found: Accepted, digest: str) -> str:
    return next(e.tablet for e in found.new_entries if e.digest == digest)


def hold(
    reading: ClinicReading, held: Mapping[str, Sequence[Entry | Signature]], access: Access
) -> int:
    """Hold back, within the transaction that judged it; return how many items came in this batch."""
    Holding(reading.connection, reading.clinic).hold(held, access.tablet, moment_text(now_here()))
    return sum(len(items) for items in held.values())


def decide_held(
    station: Station, clinic: str, about: str, take_in: bool, reason: str, by: tuple[str, str],
    from_where: str, up_to: str = "",
) -> int:
    """Take in, unchanged, what is held back of a tablet or person, or leave it; return how many.

    ``up_to`` is the digest of one item: of a tablet's chain everything up to
    it, for a chain has no holes; of a person that signature alone.  ``by`` is
    staff id and login.  Refused: ``reason_missing``, ``held_not_there``,
    ``held_not_sound`` when the entries no longer pass the checks of a batch.
    """
    reason = reason.strip()[:LONGEST_REASON]
    if not reason:
        raise HoldingRefusal("reason_missing")
    with station.writing(clinic) as reading:
        holding = Holding(reading.connection, clinic)
        items = holding.items(about)
        chosen = _chosen(items, up_to)
        if not chosen:
            raise HoldingRefusal("held_not_there")
        if take_in:
            chosen = _take_in(station, reading, items, chosen)
        holding.decide(
            chosen, TAKEN_IN if take_in else LEFT, by[0], reason, moment_text(now_here())
        )
        station.record_facts(reading, [("held_decided", Subject("tablet", about), {
            "about": about, "taken_in": take_in, "count": str(len(chosen)), "reason": reason,
        })], by=by[0])
        station.audit.note([AuditRow(
            by[1], "decide held", clinic, f"held/{about}",
            f"{TAKEN_IN if take_in else LEFT}: {len(chosen)}", from_where,
        )], within=reading.connection)
    return len(chosen)


def _chosen(items, up_to: str) -> set[str]:  # type: ignore[no-untyped-def]
    if not up_to:
        return {i.digest for i in items}
    one = next((i for i in items if i.digest == up_to), None)
    if one is None:
        return set()
    if isinstance(one.item, Signature):
        return {one.digest}
    found = {i.digest for i in items if isinstance(i.item, Entry) and i.number <= one.number}
    return found | {
        i.digest for i in items if isinstance(i.item, Signature) and i.item.signs in found
    }


def _take_in(station: Station, reading: ClinicReading, items, chosen: set[str]) -> set[str]:  # type: ignore[no-untyped-def]
    """Judge all that is held of one as a batch, and store what was chosen."""
    entries = [i.item for i in items if isinstance(i.item, Entry)]
    signatures = [i.item for i in items if isinstance(i.item, Signature)]
    keys = station.keys(reading).with_entries(entries)
    found = check_batch(batch_of(reading.clinic, entries, signatures), station.entries, keys)
    if not isinstance(found, Accepted):
        raise HoldingRefusal("held_not_sound", why=", ".join(sorted({r.code for r in found.reasons})))
    station.keep(
        reading, [e for e in found.new_entries if e.digest in chosen],
        [s for s in found.new_signatures if s.digest in chosen],
    )
    return chosen


def revoke_tablet(
    station: Station, clinic: str, tablet: str, reason: str, by: str = ""
) -> None:
    """Record that a tablet's access was taken away, and how far its chain is known."""
    with station.writing(clinic) as reading:
        known_to, _ = reading.chain_end(tablet)
        _say(station, reading, tablet, by, {
            "revoked": True, "reason": reason[:LONGEST_REASON], "known_to": str(known_to),
        })


def note_copied(station: Station, reading: ClinicReading, tablets: set[str]) -> None:
    """Record, as an alarm that reaches page and tablets, that two devices wrote under one name."""
    record = reading.staff_record()
    for tablet in sorted(tablets):
        if not is_copied(record, tablet):
            _say(station, reading, tablet, "", {"copied": True})


def copied_looked_into(station: Station, clinic: str, tablet: str, reason: str, by: str) -> None:
    """Record that a lead clinician looked into a copied tablet."""
    with station.writing(clinic) as reading:
        _say(station, reading, tablet, by, {"copied": False, "reason": reason[:LONGEST_REASON]})


def _say(
    station: Station, reading: ClinicReading, tablet: str, by: str, more: Mapping[str, object]
) -> None:
    record = Record()
    record.add(reading.of_subject("tablet", tablet))
    heads = record.slot(Subject("tablet", tablet), "tablet").heads()
    known = dict(heads[0].body) if heads else {"name": tablet, "public_key": ""}
    station.record_facts(
        reading, [("tablet", Subject("tablet", tablet), {**known, **more})], by=by
    )


def end_person(station: Station, clinic: str, staff: str, ended: bool, reason: str, by: str) -> None:
    """Record that somebody no longer works here, or does again.

    Refused: ``role_missing`` when whoever does it is a lead clinician no longer, by what another one did meanwhile.
    """
    with station.writing(clinic) as reading:
        refuse_former_lead(reading.staff_record(), by)
        body = {"ended": ended, "reason": reason.strip()[:LONGEST_REASON]}
        station.record_facts(reading, [("staff_access", Subject("staff", staff), body)], by=by)


def refuse_former_lead(record: Record, staff: str) -> None:
    """Refuse ``role_missing`` to somebody who is a lead clinician no longer, or works here no longer."""
    if has_ended(record, staff) or not is_lead(record, staff):
        raise SessionRefusal("role_missing")
