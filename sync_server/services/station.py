"""The server as an author: its store, its key, its own chain in each clinic."""

from __future__ import annotations

import base64
import os
import threading
import time
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Collection, Iterable, Iterator, Mapping, Sequence

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shared_models.entries.clock import HybridClock
from shared_models.entries.composing import Author, ChainEnd
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.record import Record
from shared_models.entries.signatures import (
    CHAIN_HEAD,
    Signature,
    key_from,
    new_key,
    private_text,
    public_text,
    sign,
)
from shared_models.entries.vouching import SERVER_CHAIN, is_server_chain, server_chain_of  # noqa: F401
from shared_models.exchange.clocks import latest_believed, see_bounded
from shared_models.exchange.keys import Keys
from shared_models.exchange.sealed_file import Sealed, open_sealed, seal
from shared_models.ledger.audit_trail import AuditTrail
from shared_models.ledger.engine import Store
from shared_models.ledger.sealing import Plain
from shared_models.ledger import judging_anew
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.lead_rows import without_standing
from shared_models.ledger.server_read_rows import keep_read_rows
from shared_models.ledger.store import Added, EntryStore
from shared_models.ledger.touching import touched_by
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal
from sync_server.services.above_states import AboveStates


class StationRefusal(Refusal):
    """The server can't work with what it was given: ``key_file_unreadable``."""


class Station:
    """One server over one store.

    ``writing`` is the one way to write: one process-wide lock and one
    transaction, so that what was read within it still holds when it commits.
    """

    def __init__(self, store: Store, signing_key: Ed25519PrivateKey) -> None:
        self.store = store
        self.entries = EntryStore(store, Plain())
        self.audit = AuditTrail(store)
        #: Where it stands towards the server above.
        self.above = AboveStates(store, signing_key)
        self.chain = chain_name(signing_key)
        self._key = signing_key
        self._writes = threading.Lock()
        #: Set when fittings were marked to be judged anew: somebody who waits for that may begin.
        self.marked = threading.Event()
        #: The last sequence number, ends of chains and forked chains of a clinic, as last read.
        self.standings: dict[str, tuple[int, Mapping[str, tuple[int, str]], tuple[str, ...]]] = {}
        self.clock = HybridClock(lambda: int(time.time() * 1000))
        newest = self.entries.newest_clock(latest_believed(self.clock.wall_ms()))
        if newest is not None:
            self.clock.see(newest)

    @property
    def public_key(self) -> str:
        """The key by which tablets know the server's chain."""
        return public_text(self._key)

    @contextmanager
    def writing(self, clinic: str) -> Iterator[ClinicReading]:
        """Give a transaction over one clinic; all or nothing, durable at its end."""
        with self._writes, self.store.writing() as connection:
            reading = ClinicReading(connection, Plain(), clinic)
            reading.hold()
            yield reading

    @contextmanager
    def reading(self, clinic: str) -> Iterator[ClinicReading]:
        """Give one consistent view of a clinic."""
        with self.store.reading() as connection:
            yield ClinicReading(connection, Plain(), clinic)

    def author(self, reading: ClinicReading, record: Record) -> Author:
        """Return the author of the server's next entries in a clinic."""
        number, digest = reading.chain_end(self.chain)
        # What another process of this server took in or recorded meanwhile.
        newest = reading.newest_clock(latest_believed(self.clock.wall_ms()))
        if newest is not None:
            self.clock.see(newest)
        return Author(record, ChainEnd(reading.clinic, self.chain, number, digest), self.clock)

    def keep(
        self, reading: ClinicReading, entries: Sequence[Entry],
        signatures: Sequence[Signature] = (), *, fold: bool = True,
    ) -> Added:
        """Store entries with signatures, and bring verdict and read tables along."""
        added = self.entries.add_all(entries, signatures, within=reading.connection)
        reading.remember(entries)
        for entry in entries:
            see_bounded(self.clock, entry.clock)
        if fold:
            self.fold(reading, entries, signatures)
        return added

    def fold(
        self, reading: ClinicReading, entries: Iterable[Entry],
        signatures: Iterable[Signature] = (),
    ) -> None:
        """Make verdict and read tables anew for what these items touch.

        Where more fittings rest on them than can be judged here, those are marked,
        and judged in pieces afterwards: ``judge_piece``.
        """
        entries = list(entries)
        if any(e.subject.type in ("staff", "clinic", "tablet") for e in entries):
            reading.forget_common()
        touched = touched_by(reading, entries, signatures)
        here = (reading.connection, reading.clinic, touched.staff, touched.sheets)
        few = judging_anew.concerned(*here)
        if few is None:
            judging_anew.mark_concerned(*here)
            self.marked.set()
        persons = {e.subject.id for e in entries if e.subject.type == "person"}
        fittings = touched.fittings.union(few or ())
        if fittings or persons:
            keep_read_rows(reading, fittings, self.today(), persons)

    def record_facts(
        self, reading: ClinicReading, facts: Sequence[tuple[str, Subject, dict]], by: str = "",
    ) -> list[Entry]:
        """Record facts on the server's own chain and sign its head."""
        record = Record()
        kinds = {kind for kind, _, _ in facts}
        for subject in {subject for _, subject, _ in facts}:
            record.add(e for e in reading.of_subject(subject.type, subject.id) if e.kind in kinds)
        author = self.author(reading, record)
        made = []
        for kind, subject, body in facts:
            entry = author.record_fact(kind, subject, body, by or self.chain, settles=True)
            author.accepted(entry)
            record.add([entry])
            made.append(entry)
        self.keep(reading, made, [self.sign_head(made[-1])])
        return made

    def sign_head(self, entry: Entry) -> Signature:
        """Sign the head of the server's own chain."""
        return sign(
            self._key, clinic=entry.clinic, signs=entry.digest, signer_type="tablet",
            signer=self.chain, printed_name="Stancebook server", meaning=CHAIN_HEAD,
            signed_at=entry.recorded_at,
        )

    def open_sealed(self, data: bytes) -> Sealed:
        """Open a carried file that is sealed to this server; refused as ``sealed_file.open_sealed``."""
        return open_sealed(data, self._key)

    def seal_for(self, to_key: str, sort: str, content: bytes, clinic: str, order: int = 0) -> bytes:
        """Return a file that only the owner of a key can open, signed by this server."""
        return seal(
            sort, content, clinic=clinic, sender=self.chain, key=self._key, to_key=to_key,
            made_at=moment_text(now_here()), order=order,
        )

    def keys(self, reading: ClinicReading) -> Keys:
        """Return the keys enrolled in a clinic."""
        known = self.entries.chain_tablets(reading.clinic)
        recorded = [e for e in reading.common() if e.kind in ("tablet", "staff_key")]
        servers = {name for name in known if is_server_chain(name)} | {self.chain}
        # A hub speaks with a server's authority from its enrolment on, by a code made for one.
        servers |= {
            e.subject.id for e in recorded
            if e.body.get("hub") is True and e.tablet in servers and is_server_chain(e.subject.id)
        }
        return Keys(servers=frozenset(servers)).with_entries(recorded)

    def clinics(self) -> dict[str, str]:
        """Return the clinics of the store: id and name."""
        found: dict[str, str] = {}
        with self.reading("") as anywhere:
            for clinic in anywhere.clinics():
                found[clinic] = self.clinic_name(clinic)
        return found

    def clinic_name(self, clinic: str) -> str:
        """Return the name of a clinic, or its id where none is recorded."""
        with self.reading(clinic) as reading:
            head = reading.staff_record().head(Subject("clinic", clinic), "clinic")
        return str(head.body.get("name", clinic)) if head else clinic

    def founding_facts(self, clinic: str, name: str) -> list[tuple[str, Subject, dict]]:
        """Return what is recorded first in a clinic: the server's own key, and its name."""
        own = {"name": "Stancebook server", "public_key": self.public_key}
        return [
            ("tablet", Subject("tablet", self.chain), own),
            ("clinic", Subject("clinic", clinic), {"name": name, "keys_vouched": True}),
        ]

    def rebuild(self, clinic: str, day: date | None = None) -> int:
        """Make a clinic's verdicts and read tables anew from entries alone, piece by piece.

        Ended in between, whoever serves the clinic next goes on.
        """
        with self.writing(clinic) as reading:
            count = judging_anew.mark_all(reading.connection, clinic)
        while self.judge_piece(clinic, day):
            pass
        return count

    def judge_piece(
        self, clinic: str, day: date | None = None, most: int = judging_anew.PIECE,
        without: Collection[tuple[str, str]] = (),
    ) -> list[tuple[str, str]]:
        """Judge some of the fittings that are marked, all of the piece or none; return which."""
        with self.writing(clinic) as reading:
            return judging_anew.judge_piece(reading, day or self.today(), most, without)

    def left_to_judge(self) -> int:
        """Return how much of the whole store is marked to be judged anew."""
        with self.store.reading() as connection:
            return sum(judging_anew.clinics_waiting(connection).values())

    def fill_lists(self) -> None:
        """Judge what is marked where that is little; mark all where the list has no rows yet.

        More than a little is judged while the server serves.
        """
        with self.store.reading() as connection:
            lacking = without_standing(connection)
        for clinic in lacking:
            with self.writing(clinic) as reading:
                judging_anew.mark_all(reading.connection, clinic)
        with self.store.reading() as connection:
            marked = judging_anew.clinics_waiting(connection)
        for clinic, count in marked.items():
            while count <= judging_anew.AT_ONCE and self.judge_piece(clinic):
                pass

    def today(self) -> date:
        """Return the day that verdicts are made for."""
        return now_here().date()


def chain_name(key: Ed25519PrivateKey) -> str:
    """Return the name of a server's chain: a new key is a new author."""
    return server_chain_of(public_text(key))


def signing_key_in(path: Path | None) -> Ed25519PrivateKey:
    """Return the key kept in a file; make one, readable by its owner only, if none.

    Raises StationRefusal ``key_file_unreadable``.
    """
    if path is None:
        return new_key()
    try:
        if not path.exists():
            _make_key(path)
        return key_from(base64.b64decode(path.read_text().strip(), validate=True))
    except (OSError, ValueError) as error:
        raise StationRefusal("key_file_unreadable", path=str(path)) from error


def _make_key(path: Path) -> None:
    """Write a fresh key whole under its name; where another process was first, its key stays."""
    unfinished = path.with_name(f"{path.name}.{os.getpid()}.unfinished")
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w") as file:
        file.write(base64.b64encode(private_text(new_key())).decode() + "\n")
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(unfinished, path)
    except FileExistsError:
        pass
    finally:
        unfinished.unlink()
