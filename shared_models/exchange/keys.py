"""Which public keys may sign for whom.

Enrolment is recorded by entries: a ``tablet`` entry names a tablet's key and
is made by a server; a ``staff_key`` entry names a person's key on one tablet.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Iterable, Mapping

from shared_models.entries.envelope import Entry

_NONE: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Keys:
    """Public keys (base64) by tablet and by member of staff.

    ``servers`` are the chains whose ``tablet`` entries are believed; the
    servers' own keys stand among ``tablets`` and come with enrolment.
    """

    tablets: Mapping[str, frozenset[str]] = field(default_factory=dict)
    staff: Mapping[str, frozenset[str]] = field(default_factory=dict)
    servers: frozenset[str] = _NONE

    def of_tablet(self, tablet: str) -> frozenset[str]:
        """Return the keys that may sign the heads of a tablet's chain."""
        return self.tablets.get(tablet, _NONE)

    def of_staff(self, staff_id: str) -> frozenset[str]:
        """Return the keys that may sign for a person."""
        return self.staff.get(staff_id, _NONE)

    def with_entries(self, entries: Iterable[Entry]) -> "Keys":
        """Return these keys and those that ``entries`` record."""
        tablets = {name: set(found) for name, found in self.tablets.items()}
        staff = {name: set(found) for name, found in self.staff.items()}
        for entry in entries:
            key = entry.body.get("public_key")
            if not isinstance(key, str):
                continue
            if entry.kind == "tablet" and entry.subject.type == "tablet":
                if entry.tablet in self.servers:
                    tablets.setdefault(entry.subject.id, set()).add(key)
            elif entry.kind == "staff_key" and entry.subject.type == "staff":
                staff.setdefault(entry.subject.id, set()).add(key)
        return Keys(
            {name: frozenset(found) for name, found in tablets.items()},
            {name: frozenset(found) for name, found in staff.items()},
            self.servers,
        )
