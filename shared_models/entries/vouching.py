"""Which keys of a member of staff count, and why.  One rule for tablet, server, page, papers.

Anybody with an enrolled tablet can record that a key is somebody's.  So a key
counts only when one of these stands behind it:

1. a server recorded it on its own chain (accounts of the review page, and the
   keys that a clinic had before this rule began);
2. it is the person's first key on a tablet that was enrolled with a code which
   the lead clinician issued for this person (``tablet`` entry, ``code_for``);
3. a ``key_vouched`` entry names it, signed with a key that counts, by the same
   person (from another tablet) or by who is a lead clinician, or was one then (``roles``).

A key without any of them is kept and shown, and what it signs does not count
until somebody vouches; then it counts, also for what was signed before.  The
rule begins with a clinic's ``clinic`` entry that says ``keys_vouched``, made by
a server: records from before, and a clinic that lives on one tablet without a
server, have none, and every recorded key counts there as it did.

A pure function of the set of entries and signatures: no clock, no order.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Iterable, Mapping, Protocol

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.roles import had_role, roles_in
from shared_models.entries.signatures import Signature
from shared_models.entries.slots import Slot

#: Chains of servers are told by this beginning; no tablet is enrolled under it.
SERVER_CHAIN = "server-"
LEAD = "lead_clinician"
#: Meaning of the signature under a ``key_vouched`` entry.
VOUCHES = "vouches"
_NONE: frozenset[str] = frozenset()


class _Known(Protocol):
    def subjects(self, type_: str) -> list[str]: ...

    def slots(self, subject: Subject) -> Mapping[str, Slot]: ...

    def signatures_over(self, digest: str) -> list[Signature]: ...

    def staff_body(self, staff: str) -> Mapping[str, object]: ...


@dataclass(frozen=True)
class Vouched:
    """The keys that count, by person, and the ``staff_key`` entries of all others."""

    keys: Mapping[str, frozenset[str]]
    without: tuple[Entry, ...] = ()

    def of(self, staff: str) -> frozenset[str]:
        """Return the keys that count for a person."""
        return self.keys.get(staff, _NONE)


def vouched(record: _Known) -> Vouched:
    """Work out which keys count."""
    strict = _clinics_that_ask(record)
    recorded = [e for staff in record.subjects("staff") for e in _entries(record, staff, "key/", "staff_key")]
    found: dict[str, set[str]] = {}
    for entry in [e for e in recorded if e.clinic not in strict or _has_root(record, e)]:
        found.setdefault(entry.subject.id, set()).add(_key(entry))
    _follow(record, found)
    return Vouched(
        {staff: frozenset(keys) for staff, keys in found.items()},
        tuple(sorted(
            (e for e in recorded if _key(e) not in found.get(e.subject.id, ())), key=lambda e: e.order,
        )),
    )


def _follow(record: _Known, found: dict[str, set[str]]) -> None:
    """Add what is vouched for by keys that count, until nothing is added."""
    waiting = [
        e for staff in record.subjects("staff")
        for e in _entries(record, staff, "vouched/", "key_vouched")
    ]
    grown = True
    while grown:
        grown = False
        for entry in list(waiting):
            if _is_vouched_by(record, entry, found):
                found.setdefault(entry.subject.id, set()).add(_key(entry))
                waiting.remove(entry)
                grown = True


def _is_vouched_by(record: _Known, entry: Entry, found: Mapping[str, Iterable[str]]) -> bool:
    by = entry.recorded_by
    if by != entry.subject.id and not had_role(record, by, LEAD, entry):
        return False
    return any(
        s.signer_type == "staff" and s.signer == by and s.meaning == VOUCHES
        and s.clinic == entry.clinic and s.key in found.get(by, ()) and s.is_valid()
        for s in record.signatures_over(entry.digest)
    )


def _has_root(record: _Known, entry: Entry) -> bool:
    return is_server_chain(entry.tablet) or (
        entry.subject.id in _code_for(record, entry.tablet) and _is_first(record, entry)
    )


def _code_for(record: _Known, tablet: str) -> set[str]:
    """The people for whom a server says that the tablet's code was issued."""
    slot = record.slots(Subject("tablet", tablet)).get("tablet")
    named: set[str] = set()
    for entry in slot.entries.values() if slot else ():
        people = entry.body.get("code_for")
        if is_server_chain(entry.tablet) and isinstance(people, (list, tuple)):
            named.update(str(person) for person in people)
    return named


def _is_first(record: _Known, entry: Entry) -> bool:
    """Whether no other key of the person stands as early in the same chain (a copy's may)."""
    slots = record.slots(entry.subject)
    return all(
        other.number > entry.number for slot in slots.values() for other in slot.entries.values()
        if other.kind == "staff_key" and other.tablet == entry.tablet and other.digest != entry.digest
    )


def _clinics_that_ask(record: _Known) -> set[str]:
    found = set()
    for clinic in record.subjects("clinic"):
        slot = record.slots(Subject("clinic", clinic)).get("clinic")
        if slot and any(
            e.body.get("keys_vouched") is True and is_server_chain(e.tablet)
            for e in slot.entries.values()
        ):
            found.add(clinic)
    return found


def _entries(record: _Known, staff: str, slots: str, kind: str) -> list[Entry]:
    found = []
    for name, slot in record.slots(Subject("staff", staff)).items():
        if name.startswith(slots):
            gone = slot.withdrawn()
            found += [e for e in slot.entries.values() if e.kind == kind and e.digest not in gone]
    return found


def server_chain_of(public_key: str) -> str:
    """Return the name of the chain of the server with this key: it can belong to no other."""
    return SERVER_CHAIN + hashlib.sha256(public_key.encode()).hexdigest()[:20]


def is_server_chain(tablet: str) -> bool:
    """Tell whether a chain is that of a server, by its name."""
    return tablet.startswith(SERVER_CHAIN)


def is_lead(record: _Known, staff: str) -> bool:
    """Tell whether the staff list names somebody a lead clinician."""
    return LEAD in roles_in(record.staff_body(staff))


def has_ended(record: _Known, staff: str) -> bool:
    """Tell whether a server recorded that somebody no longer works here."""
    slot = record.slots(Subject("staff", staff)).get("access")
    return slot is not None and any(
        e.body.get("ended") is True and is_server_chain(e.tablet) for e in slot.heads()
    )


def is_revoked(record: _Known, tablet: str) -> bool:
    """Tell whether a server recorded that a tablet's access was taken away."""
    return _server_says(record, tablet, "revoked")


def is_copied(record: _Known, tablet: str) -> bool:
    """Tell whether two devices wrote under a tablet's name, and nobody has looked into it."""
    return _server_says(record, tablet, "copied")


def _server_says(record: _Known, tablet: str, field: str) -> bool:
    slot = record.slots(Subject("tablet", tablet)).get("tablet")
    return slot is not None and any(
        e.body.get(field) is True and is_server_chain(e.tablet) for e in slot.heads()
    )


def key_mark(public_key: str) -> str:
    """Return a short mark by which two people compare a key: ``3F2A 91C0``."""
    told = hashlib.sha256(public_key.encode()).hexdigest()[:8].upper()
    return f"{told[:4]} {told[4:]}"


def _key(entry: Entry) -> str:
    return str(entry.body.get("public_key", ""))
