"""Which roles the staff list gives somebody, now and when they recorded an entry.

The staff list as it stands now decides: whoever has a role has it for all they
recorded.  Where a lead clinician changes roles on a server, the ``staff`` entry
says in ``known_to`` up to which number each chain was known there; what the
person had recorded up to that keeps counting by the roles of before too.  What came later, or
arrived later, counts by the new ones.  Numbers of chains, no clock: every
machine with the same entries sees the same.
"""

from __future__ import annotations

from typing import Mapping, Protocol

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.slots import Slot

#: In the body of a ``staff`` entry: by chain, the number up to which it was known, as text.
KNOWN_TO = "known_to"


class _Known(Protocol):
    def slots(self, subject: Subject) -> Mapping[str, Slot]: ...

    def staff_body(self, staff: str) -> Mapping[str, object]: ...


def roles_in(body: Mapping[str, object]) -> tuple[str, ...]:
    """Return the roles that a body of the staff list gives; () where it gives none that can be read."""
    roles = body.get("roles")
    return tuple(str(role) for role in roles) if isinstance(roles, (list, tuple)) else ()


def had_role(record: _Known, staff: str, role: str, entry: Entry) -> bool:
    """Tell whether somebody has a role, or had it when an entry of theirs was recorded."""
    if role in roles_in(record.staff_body(staff)):
        return True
    slot = record.slots(Subject("staff", staff)).get("staff")
    waiting, seen = list(slot.heads()) if slot else [], set()
    while slot and waiting:
        later = waiting.pop()
        if later.digest in seen or not _knew(later, entry):
            continue
        seen.add(later.digest)
        earlier = [slot.entries[digest] for digest in later.replaces if digest in slot.entries]
        if any(role in roles_in(e.body) for e in earlier):
            return True
        waiting += earlier
    return False


def _knew(change: Entry, entry: Entry) -> bool:
    """Whether an entry was there when the staff list was changed."""
    known = change.body.get(KNOWN_TO)
    told = str(known.get(entry.tablet, "")) if isinstance(known, Mapping) else ""
    return told.isascii() and told.isdigit() and len(told) <= 16 and entry.number <= int(told)
