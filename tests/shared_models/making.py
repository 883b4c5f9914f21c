"""Valid chains for tests: real digests, real keys, real signatures."""

from __future__ import annotations

import copy
import gzip
import itertools
import shutil
from pathlib import Path
from typing import Any

from uuid6 import uuid7

from shared_models.entries.clock import HybridClock
from shared_models.entries.envelope import Entry, Subject, entry_from
from shared_models.entries.signatures import (
    CHAIN_HEAD,
    Signature,
    new_key,
    public_text,
    sign,
)
from shared_models.exchange.batch import Batch, batch_of
from shared_models.exchange.chains import PlainRow
from shared_models.exchange.intake import Accepted, Refused, check_batch
from shared_models.exchange.keys import Keys
from shared_models.ledger.engine import Store
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import Stretch
from shared_models.ledger.sealing import Plain, Sealed
from shared_models.ledger.store import EntryStore

CLINIC = "clinic-north"
DATA_KEY = bytes(range(32))
#: Stretching that costs next to nothing, so that tests of PINs are quick.
CHEAP = Stretch(memory_kib=64, passes=1, lanes=1)
MORNING = "2026-03-04T10:42:07.120+02:00"


def rows_of(entries) -> list[PlainRow]:
    """Return entries as the rows of a chain."""
    return [PlainRow(item.number, item.digest, item.plaintext()) for item in entries]


def patience():
    """Return a clock for PINs: an hour passes between two looks at it."""
    hours = itertools.count(0.0, 3600.0)
    return lambda: next(hours)


class Chain:
    """One tablet's chain for one clinic, with the tablet's key and one person's."""

    def __init__(
        self, tablet: str = "tablet-a", clinic: str = CLINIC,
        person: str = "staff-1", start_ms: int = 1_790_000_000_000,
    ) -> None:
        self.tablet, self.clinic, self.person = tablet, clinic, person
        self.key = new_key()
        self.person_key = new_key()
        self.entries: list[Entry] = []
        ticks = itertools.count(start_ms, 1000)
        self.clock = HybridClock(lambda: next(ticks))

    @property
    def end(self) -> tuple[int, str]:
        """Number and digest of the last entry."""
        if not self.entries:
            return 0, ""
        return self.entries[-1].number, self.entries[-1].digest

    def envelope(self, kind: str = "note", **changed: Any) -> dict[str, Any]:
        """Return the envelope of a next entry, with some fields changed."""
        number, digest = self.end
        return {
            "format": 1, "id": str(uuid7()),
            "subject": {"type": "fitting", "id": "fitting-1"},
            "clinic": self.clinic, "kind": kind, "kind_version": 1,
            "body": {"text": f"entry {number + 1} of {self.tablet}"},
            "recorded_by": self.person,
            "happened_at": MORNING, "recorded_at": MORNING,
            "clock": self.clock.tick(), "tablet": self.tablet,
            "number": number + 1, "previous": digest,
            "rests_on": [], "replaces": [], "because": {}, "edition": "2026.1",
            **changed,
        }

    def add(self, kind: str = "note", **changed: Any) -> Entry:
        """Add and return the next entry."""
        self.entries.append(entry_from(self.envelope(kind, **changed)))
        return self.entries[-1]

    def grown(self, count: int) -> "Chain":
        """Add some entries and return the chain."""
        for _ in range(count):
            self.add()
        return self

    def add_staff_key(self) -> Entry:
        """Record the person's key, as enrolment does."""
        return self.add(
            "staff_key",
            subject={"type": "staff", "id": self.person},
            body={"public_key": public_text(self.person_key), "tablet": self.tablet},
        )

    def head(self, entry: Entry | None = None) -> Signature:
        """Return the tablet's signature over an entry, the last by default."""
        entry = entry or self.entries[-1]
        return sign(
            self.key, clinic=self.clinic, signs=entry.digest, signer_type="tablet",
            signer=self.tablet, printed_name=self.tablet, meaning=CHAIN_HEAD,
            signed_at=MORNING,
        )

    def signed_off(self, entry: Entry, **changed: Any) -> Signature:
        """Return the person's signature over an entry."""
        fields = dict(
            clinic=self.clinic, signs=entry.digest, signer_type="staff",
            signer=self.person, printed_name="Ansa Brook", meaning="signs_off",
            signed_at=MORNING,
        )
        return sign(self.person_key, **{**fields, **changed})

    def clone(self) -> "Chain":
        """Return a second tablet made by copying this one's store."""
        twin = copy.copy(self)
        twin.entries = list(self.entries)
        ticks = itertools.count(1_795_000_000_000, 1000)
        twin.clock = HybridClock(lambda: next(ticks), self.clock.last)
        return twin

    def batch(self, first: int = 1, last: int | None = None) -> Batch:
        """Return the entries of a stretch with the last one's head signed."""
        part = self.entries[first - 1:last]
        return batch_of(self.clinic, part, [self.head(part[-1])])


def keys_of(*chains: Chain) -> Keys:
    """Return the keys as a server that enrolled these tablets knows them."""
    return Keys({chain.tablet: frozenset([public_text(chain.key)]) for chain in chains})




def take(store: EntryStore, batch: Batch, keys: Keys) -> Accepted | Refused:
    """Judge a batch and store it when it is accepted, as a server does."""
    found = check_batch(batch, store, keys)
    if isinstance(found, Accepted):
        store.add_all(found.new_entries, found.new_signatures)
    return found


def codes(found: Accepted | Refused) -> list[str]:
    """Return the codes of a refusal, in order."""
    assert isinstance(found, Refused), found
    return [reason.code for reason in found.reasons]


def tablet_store(folder: Path, name: str = "tablet.sqlite") -> EntryStore:
    """Return a sealed tablet store in a file."""
    return EntryStore(open_store(folder / name, "tablet"), Sealed(DATA_KEY))


def server_store(folder: Path, name: str = "server.sqlite") -> EntryStore:
    """Return a server's store in a file."""
    return EntryStore(open_store(folder / name, "server"), Plain())


def opened(entry_store: EntryStore) -> Store:
    """Return the open store under an entry store, to look at it in tests."""
    return entry_store._store


def unzipped(source: Path, target: Path) -> Path:
    """Unpack a released store for a test."""
    with gzip.open(source, "rb") as packed, target.open("wb") as plain:
        shutil.copyfileobj(packed, plain)
    return target
