"""Reading the entry store: by clinic, subject, chain and server sequence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Collection, Mapping

from sqlalchemy import Select, func, select

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from shared_models.ledger.engine import Store
from shared_models.ledger.fingerprints import AT_ONCE, fingerprint_of, known_digests
from shared_models.ledger.rows import entry_of, signature_of
from shared_models.ledger.sealing import Codec, SealingRefusal
from shared_models.ledger.tables import (
    clinic_sequence,
    entry as entry_table,
    signature as signature_table,
)


@dataclass(frozen=True)
class FeedItem:
    """An entry or a signature with its number in the clinic's sequence."""

    sequence: int
    item: Entry | Signature


@dataclass(frozen=True)
class ChainRow:
    """A stored row of a chain, unjudged; ``plaintext`` None when it won't open."""

    number: int
    digest: str
    plaintext: bytes | None


class EntryReading:
    """The reading half of the entry store."""

    _store: Store
    _codec: Codec

    def entries(
        self, clinic: str | None = None, subject: Subject | None = None,
        after_sequence: int | None = None, limit: int | None = None,
        but_types: Collection[str] = (),
    ) -> list[Entry]:
        """Return entries in display order; by sequence if ``after_sequence``.

        ``but_types`` leaves out what is about subjects of these types.
        """
        wanted = select(entry_table)
        if but_types:
            wanted = wanted.where(entry_table.c.subject_type.not_in(sorted(but_types)))
        if clinic is not None:
            wanted = wanted.where(entry_table.c.clinic == clinic)
        if subject is not None:
            wanted = wanted.where(*self._about(subject, clinic))
        if after_sequence is not None:
            wanted = wanted.where(entry_table.c.server_sequence > after_sequence)
            wanted = wanted.order_by(entry_table.c.server_sequence)
        else:
            wanted = wanted.order_by(
                entry_table.c.clock, entry_table.c.tablet,
                entry_table.c.number, entry_table.c.digest,
            )
        return self._entries(wanted.limit(limit))

    def _about(self, subject: Subject, clinic: str | None = None) -> tuple[Any, ...]:
        """Which entries are about a subject; with every clinic named, so that an index leads there."""
        return (
            entry_table.c.clinic.in_([clinic] if clinic is not None else self.clinics()),
            entry_table.c.subject_type == subject.type,
            entry_table.c.subject_id == subject.id,
        )

    def clinics(self) -> list[str]:
        """Return the clinics that have entries here, sorted; a step of an index for each."""
        found: list[str] = []
        with self._store.reading() as connection:
            while True:
                following = connection.scalar(select(func.min(entry_table.c.clinic)).where(
                    entry_table.c.clinic > (found[-1] if found else "")
                ))
                if following is None:
                    return found
                found.append(following)

    def signatures(
        self, clinic: str | None = None, signs: Collection[str] | None = None,
        after_sequence: int | None = None,
    ) -> list[Signature]:
        """Return signatures, of a clinic or over some digests."""
        wanted = select(signature_table).order_by(
            signature_table.c.server_sequence, signature_table.c.digest
        )
        if clinic is not None:
            wanted = wanted.where(signature_table.c.clinic == clinic)
        if after_sequence is not None:
            wanted = wanted.where(signature_table.c.server_sequence > after_sequence)
        if signs is None:
            return self._signatures(wanted)
        asked = sorted(set(signs))
        return [
            found
            for start in range(0, len(asked), AT_ONCE)
            for found in self._signatures(wanted.where(
                signature_table.c.signs.in_(asked[start:start + AT_ONCE])
            ))
        ]

    def feed(self, clinic: str, after: int = 0, limit: int = 500) -> list[FeedItem]:
        """Return a clinic's entries and signatures after a sequence number."""
        found: list[FeedItem] = []
        with self._store.reading() as connection:
            for table, read in (
                (entry_table, entry_of), (signature_table, signature_of)
            ):
                rows = connection.execute(
                    select(table)
                    .where(table.c.clinic == clinic)
                    .where(table.c.server_sequence > after)
                    .order_by(table.c.server_sequence)
                    .limit(limit)
                )
                found.extend(
                    FeedItem(row.server_sequence, read(row, self._codec))
                    for row in rows
                )
        return sorted(found, key=lambda item: item.sequence)[:limit]

    def last_sequence(self, clinic: str) -> int:
        """Return the newest sequence number that a server gave in a clinic."""
        with self._store.reading() as connection:
            return connection.scalar(
                select(clinic_sequence.c.last)
                .where(clinic_sequence.c.clinic == clinic)
            ) or 0

    def newest_of_kinds(self, kinds: Collection[str], most: int) -> list[Entry]:
        """Return the newest ``most`` entries of some kinds, in display order."""
        found = self._entries(
            select(entry_table).where(entry_table.c.kind.in_(sorted(kinds)))
            .order_by(entry_table.c.clock.desc(), entry_table.c.digest).limit(most)
        )
        return sorted(found, key=lambda e: e.order)

    def by_digest(self, digest: str) -> Entry | None:
        """Return the entry that ``digest`` names, None when it isn't here."""
        found = self._entries(
            select(entry_table).where(entry_table.c.digest == digest)
        )
        return found[0] if found else None

    def has(self, digest: str) -> bool:
        """Tell whether the entry that ``digest`` names is stored."""
        with self._store.reading() as connection:
            return bool(known_digests(connection, entry_table, [digest]))

    def known_signatures(self, digests: Collection[str]) -> set[str]:
        """Return which of these signature digests are stored."""
        with self._store.reading() as connection:
            return known_digests(connection, signature_table, digests)

    def chain_end(self, clinic: str, tablet: str) -> tuple[int, str]:
        """Return number and digest of a chain's last entry; (0, "") if none.

        Where a clone made two, the smaller digest; see ``branches``.
        """
        with self._store.reading() as connection:
            row = connection.execute(
                select(entry_table.c.number, entry_table.c.digest)
                .where(*_chain(clinic, tablet))
                .order_by(entry_table.c.number.desc(), entry_table.c.digest)
                .limit(1)
            ).one_or_none()
        return (0, "") if row is None else (row.number, row.digest)

    def chain_tablets(self, clinic: str) -> tuple[str, ...]:
        """Return the tablets (and servers) that have a chain in a clinic."""
        with self._store.reading() as connection:
            return tuple(connection.scalars(
                select(entry_table.c.tablet)
                .where(entry_table.c.clinic == clinic)
                .distinct().order_by(entry_table.c.tablet)
            ))

    def chain(
        self, clinic: str, tablet: str, from_number: int = 1, most: int | None = None
    ) -> list[Entry]:
        """Return a chain's entries from a number on (at most ``most``), by number."""
        return self._entries(
            select(entry_table)
            .where(*_chain(clinic, tablet), entry_table.c.number >= from_number)
            .order_by(entry_table.c.number, entry_table.c.digest).limit(most)
        )

    def chain_rows(self, clinic: str, tablet: str) -> list[ChainRow]:
        """Return a chain as it lies in the store, for ``verify_chain``."""
        with self._store.reading() as connection:
            rows = connection.execute(
                select(entry_table)
                .where(*_chain(clinic, tablet))
                .order_by(entry_table.c.number, entry_table.c.digest)
            ).all()
        return [ChainRow(row.number, row.digest, self._opened(row)) for row in rows]

    def numbers(
        self, clinic: str, tablet: str, first: int, last: int
    ) -> Mapping[int, frozenset[str]]:
        """Return the digests stored for each number of a stretch of a chain."""
        found: dict[int, set[str]] = {}
        with self._store.reading() as connection:
            for row in connection.execute(
                select(entry_table.c.number, entry_table.c.digest).where(
                    *_chain(clinic, tablet),
                    entry_table.c.number.between(first, last),
                )
            ):
                found.setdefault(row.number, set()).add(row.digest)
        return {number: frozenset(digests) for number, digests in found.items()}

    def branches(self, clinic: str, tablet: str) -> Mapping[int, tuple[str, ...]]:
        """Return the numbers that have more than one digest: a cloned tablet."""
        with self._store.reading() as connection:
            doubled = (
                select(entry_table.c.number)
                .where(*_chain(clinic, tablet))
                .group_by(entry_table.c.number)
                .having(func.count() > 1)
            )
            rows = connection.execute(
                select(entry_table.c.number, entry_table.c.digest)
                .where(*_chain(clinic, tablet))
                .where(entry_table.c.number.in_(doubled))
                .order_by(entry_table.c.number, entry_table.c.digest)
            ).all()
        found: dict[int, tuple[str, ...]] = {}
        for row in rows:
            found[row.number] = (*found.get(row.number, ()), row.digest)
        return found

    def count(self, clinic: str | None = None) -> int:
        """Return how many entries are stored."""
        wanted = select(func.count()).select_from(entry_table)
        if clinic is not None:
            wanted = wanted.where(entry_table.c.clinic == clinic)
        with self._store.reading() as connection:
            return connection.scalar(wanted) or 0

    def newest_clock(self, no_later_than: str | None = None) -> str | None:
        """Return the newest clock reading stored, to set the clock at start-up.

        ``no_later_than`` leaves out what a wildly wrong clock wrote.
        """
        wanted = select(func.max(entry_table.c.clock))
        if no_later_than is not None:
            wanted = wanted.where(entry_table.c.clock <= no_later_than)
        with self._store.reading() as connection:
            return connection.scalar(wanted)

    def fingerprint(self, clinic: str) -> str:
        """Return one text for the set of a clinic's entries and signatures."""
        with self._store.reading() as connection:
            return fingerprint_of([
                digest
                for table in (entry_table, signature_table)
                for digest in connection.scalars(
                    select(table.c.digest).where(table.c.clinic == clinic)
                )
            ])

    def _entries(self, wanted: Select[Any]) -> list[Entry]:
        with self._store.reading() as connection:
            rows = connection.execute(wanted).all()
        return [entry_of(row, self._codec) for row in rows]

    def _signatures(self, wanted: Select[Any]) -> list[Signature]:
        with self._store.reading() as connection:
            rows = connection.execute(wanted).all()
        return [signature_of(row, self._codec) for row in rows]

    def _opened(self, row: Any) -> bytes | None:
        try:
            return self._codec.open(f"entry:{row.digest}", row.content)
        except SealingRefusal as error:
            if error.code == "store_locked":
                raise
            return None


def _chain(clinic: str, tablet: str) -> tuple[Any, Any]:
    return (entry_table.c.clinic == clinic, entry_table.c.tablet == tablet)
