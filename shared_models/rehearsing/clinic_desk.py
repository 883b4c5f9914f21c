"""A clinic in memory: staff with real keys, and a desk where one fitting is recorded.

Entries are composed, chained, signed and folded as on a tablet; only the store
and the screens are left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Callable, Mapping

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.entries.clock import HybridClock
from shared_models.entries.composing import Author, ChainEnd
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.entries.signatures import Signature, new_key, public_text, sign
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.moments import now_here

PROSTHETIST, TECHNICIAN, LEAD = "demo-prosthetist", "demo-technician", "demo-lead"


def _wall_ms() -> int:
    return int(now_here().timestamp() * 1000)


@dataclass
class Clinic:
    """The invented clinic: its staff with keys, and the component sheets it filled in."""

    id: str
    keys: dict[str, Ed25519PrivateKey] = field(default_factory=dict)
    entries: list[Entry] = field(default_factory=list)
    sheets: dict[str, Entry] = field(default_factory=dict)

    @classmethod
    def founded(cls, sheets: Mapping[str, Mapping[str, Any]] | None = None) -> "Clinic":
        """Return the demo clinic with the sheets given by part (the demo sheets when none are)."""
        people = demo_people()
        clinic = cls(people["clinic"])
        desk = Desk(clinic, "office", "")
        desk.note("clinic", {"name": people["clinic_name"]}, subject=Subject("clinic", clinic.id))
        for person in people["staff"]:
            subject, key = Subject("staff", person["id"]), new_key()
            clinic.keys[person["id"]] = key
            desk.note("staff", {"name": person["name"], "roles": person["roles"]}, subject=subject)
            desk.note("staff_key", {"tablet": "office", "public_key": public_text(key)}, by=person["id"], subject=subject)
        bodies = sheets or {body["part"]: body for body in map(demo_sheet, DEMO_SHEETS)}
        for part, body in bodies.items():
            clinic.sheets[part] = desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", body["sheet"]))
        clinic.entries = list(desk.record.entries.values())
        return clinic

    def figure(self, part: str, name: str, otherwise: Decimal) -> Decimal:
        """Return an alignment figure of a part's sheet, in its unit; ``otherwise`` where it states none."""
        found = amount_from(self.sheets[part].body.get("alignment", {}).get(name))
        return otherwise if found is None else found


class Desk:
    """Where one fitting is recorded: a tablet's chain over what the clinic knows."""

    def __init__(self, clinic: Clinic, tablet: str, fitting: str, wall_ms: Callable[[], int] = _wall_ms) -> None:
        self.clinic = clinic
        self.record = Record()
        self.record.add(clinic.entries)
        self.fitting = Subject("fitting", fitting)
        self.author = Author(self.record, ChainEnd(clinic.id, tablet), HybridClock(wall_ms))
        self._view: FittingView | None = None

    @property
    def view(self) -> FittingView:
        """The fitting as recorded by now."""
        if self._view is None:
            self._view = FittingView(self.record, self.fitting.id)
        return self._view

    def note(
        self, kind: str, body: Mapping[str, Any], by: str = PROSTHETIST, subject: Subject | None = None,
    ) -> Entry:
        """Record a fact and return its entry; raises Refusal as a tablet would."""
        entry = self.author.record_fact(kind, subject or self.fitting, body, by)
        self.author.accepted(entry)
        self.record.add([entry])
        self._view = None
        return entry

    def sign(self, entry: Entry, by: str, meaning: str) -> Signature:
        """Sign an entry with the key of a member of staff."""
        signature = sign(
            self.clinic.keys[by], clinic=self.clinic.id, signs=entry.digest, signer_type="staff",
            signer=by, printed_name=self.record.name_of(by), meaning=meaning, signed_at=entry.recorded_at,
        )
        self.record.add(signatures=[signature])
        self._view = None
        return signature
