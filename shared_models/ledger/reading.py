"""Reading the entry store: by clinic, subject, chain and server sequence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Callable, Collection, Mapping

from sqlalchemy import Select, bindparam, func, select

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from shared_models.entries.written import Written
from shared_models.ledger.chain_reading import ChainReading, newest_number
from shared_models.ledger.fingerprints import AT_ONCE, fingerprint_of, known_digests
from shared_models.ledger.prepared import Prepared, PreparedIn
from shared_models.ledger.rows import Kept, entry_of, signature_of, written_entry, written_signature
from shared_models.ledger.sealing import Codec
from shared_models.ledger.tables import entry as entry_table
from shared_models.ledger.tables import signature as signature_table


@dataclass(frozen=True)
class FeedItem:
    """An entry or a signature with its number in the clinic's sequence."""

    sequence: int
    item: Entry | Signature


@dataclass(frozen=True)
class WrittenItem:
    """As ``FeedItem``, as it lies in the store."""

    sequence: int
    item: Written


class EntryReading(ChainReading):
    """The reading half of the entry store."""

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
                (following,), = _NEXT_CLINIC.run(connection, behind=found[-1] if found else "")
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
        if after_sequence is not None:
            return [
                found
                for start in range(0, len(asked), AT_ONCE)
                for found in self._signatures(wanted.where(
                    signature_table.c.signs.in_(asked[start:start + AT_ONCE])
                ))
            ]
        with self._store.reading() as connection:
            rows = _SIGNATURES_OVER.run(connection, asked)
        found = [signature_of(Kept(*row), self._codec) for row in rows]
        return found if clinic is None else [s for s in found if s.clinic == clinic]

    def feed(self, clinic: str, after: int = 0, limit: int = 500) -> list[FeedItem]:
        """Return a clinic's entries and signatures after a sequence number."""
        return [FeedItem(*found) for found in self._fed(clinic, after, limit, entry_of, signature_of)]

    def feed_written(self, clinic: str, after: int = 0, limit: int = 500) -> list[WrittenItem]:
        """As ``feed``, to be passed on: each is what its digest names, and is not read again."""
        return [
            WrittenItem(*found)
            for found in self._fed(clinic, after, limit, written_entry, written_signature)
        ]

    def _fed(
        self, clinic: str, after: int, limit: int, *read: Callable[[Any, Codec], Any]
    ) -> list[tuple[int, Any]]:
        found: list[tuple[int, Any]] = []
        with self._store.reading() as connection:
            for table, read_row in zip((entry_table, signature_table), read, strict=True):
                rows = connection.execute(
                    select(table)
                    .where(table.c.clinic == clinic)
                    .where(table.c.server_sequence > after)
                    .order_by(table.c.server_sequence)
                    .limit(limit)
                )
                found.extend((row.server_sequence, read_row(row, self._codec)) for row in rows)
        return sorted(found, key=lambda item: item[0])[:limit]

    def last_sequence(self, clinic: str) -> int:
        """Return the newest sequence number that a server gave in a clinic."""
        with self._store.reading() as connection:
            return newest_number(connection, clinic)

    def newest_of_kinds(self, kinds: Collection[str], most: int) -> list[Entry]:
        """Return the newest ``most`` entries of some kinds, in display order."""
        found = self._entries(
            select(entry_table).where(entry_table.c.kind.in_(sorted(kinds)))
            .order_by(entry_table.c.clock.desc(), entry_table.c.digest).limit(most)
        )
        return sorted(found, key=lambda e: e.order)

    def by_digest(self, digest: str) -> Entry | None:
        """Return the entry that ``digest`` names, None when it isn't here."""
        with self._store.reading() as connection:
            rows = _BY_DIGEST.run(connection, digest=digest)
        return entry_of(Kept(*rows[0]), self._codec) if rows else None

    def has(self, digest: str) -> bool:
        """Tell whether the entry that ``digest`` names is stored."""
        with self._store.reading() as connection:
            return bool(known_digests(connection, entry_table, [digest]))

    def known_signatures(self, digests: Collection[str]) -> set[str]:
        """Return which of these signature digests are stored."""
        with self._store.reading() as connection:
            return known_digests(connection, signature_table, digests)

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
                digest for digests in _DIGESTS for digest, in digests.run(connection, clinic=clinic)
            ])

    def _entries(self, wanted: Select[Any]) -> list[Entry]:
        with self._store.reading() as connection:
            rows = connection.execute(wanted).all()
        return [entry_of(row, self._codec) for row in rows]

    def _signatures(self, wanted: Select[Any]) -> list[Signature]:
        with self._store.reading() as connection:
            rows = connection.execute(wanted).all()
        return [signature_of(row, self._codec) for row in rows]

# What a sync asks for again and again.
_KEPT = select(entry_table.c.digest, entry_table.c.content)
_BY_DIGEST = Prepared(_KEPT.where(entry_table.c.digest == bindparam("digest")))
_NEXT_CLINIC = Prepared(
    select(func.min(entry_table.c.clinic)).where(entry_table.c.clinic > bindparam("behind"))
)
_DIGESTS = tuple(
    Prepared(select(table.c.digest).where(table.c.clinic == bindparam("clinic")))
    for table in (entry_table, signature_table)
)
_SIGNATURES_OVER = PreparedIn(lambda digests: select(
    signature_table.c.digest, signature_table.c.content
).where(signature_table.c.signs.in_(digests)).order_by(
    signature_table.c.server_sequence, signature_table.c.digest
))
