"""Reading the entry store: by clinic, subject, chain and server sequence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Callable, Collection, Mapping

from sqlalchemy import Connection, Select, bindparam, exists, func, select

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from shared_models.entries.written import Written
from shared_models.ledger.engine import Store
from shared_models.ledger.fingerprints import AT_ONCE, fingerprint_of, known_digests
from shared_models.ledger.prepared import Prepared, PreparedIn
from shared_models.ledger.rows import Kept, entry_of, signature_of, written_entry, written_signature
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
class WrittenItem:
    """As ``FeedItem``, as it lies in the store."""

    sequence: int
    item: Written


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
            return _last(connection, clinic)

    def standing(
        self, clinic: str, since: int = 0, forked: Collection[str] = ()
    ) -> tuple[int, Mapping[str, tuple[int, str]], tuple[str, ...]]:
        """Return the newest sequence number, the end of each chain, and the chains that forked.

        All of one moment.  Of a forked end the smaller digest, as ``chain_end``.  ``forked``
        are those known up to the number ``since``: only what came after it is looked at.
        """
        with self._store.reading() as connection:
            last = _last(connection, clinic)
            if last < since:  # another store lies here now
                since, forked = 0, ()
            ends = _ENDS.run(connection, clinic=clinic)
            more = _FORKED_SINCE.run(connection, clinic=clinic, since=since)
        found = {tablet: (number, digest) for tablet, number, digest in ends}
        return last, found, tuple(sorted({*forked, *(tablet for tablet, in more)}))

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

    def chain_end(self, clinic: str, tablet: str) -> tuple[int, str]:
        """Return number and digest of a chain's last entry; (0, "") if none.

        Where a clone made two, the smaller digest; see ``branches``.
        """
        with self._store.reading() as connection:
            rows = _END.run(connection, clinic=clinic, tablet=tablet)
        return (rows[0][0], rows[0][1]) if rows else (0, "")

    def chain_tablets(self, clinic: str) -> tuple[str, ...]:
        """Return the tablets (and servers) that have a chain in a clinic."""
        with self._store.reading() as connection:
            return tuple(tablet for tablet, _, _ in _ENDS.run(connection, clinic=clinic))

    def chain(
        self, clinic: str, tablet: str, from_number: int = 1, most: int | None = None
    ) -> list[Entry]:
        """Return a chain's entries from a number on (at most ``most``), by number."""
        asked = {"clinic": clinic, "tablet": tablet, "from_number": from_number}
        with self._store.reading() as connection:
            rows = (
                _CHAIN.run(connection, **asked) if most is None
                else _CHAIN_SOME.run(connection, **asked, most=most)
            )
        return [entry_of(Kept(*row), self._codec) for row in rows]

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
            for number, digest in _NUMBERS.run(
                connection, clinic=clinic, tablet=tablet, first=first, last=last
            ):
                found.setdefault(number, set()).add(digest)
        return {number: frozenset(digests) for number, digests in found.items()}

    def branches(self, clinic: str, tablet: str) -> Mapping[int, tuple[str, ...]]:
        """Return the numbers that have more than one digest: a cloned tablet."""
        with self._store.reading() as connection:
            rows = _BRANCHES.run(connection, clinic=clinic, tablet=tablet)
        found: dict[int, tuple[str, ...]] = {}
        for number, digest in rows:
            found[number] = (*found.get(number, ()), digest)
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

    def _opened(self, row: Any) -> bytes | None:
        try:
            return self._codec.open(f"entry:{row.digest}", row.content)
        except SealingRefusal as error:
            if error.code == "store_locked":
                raise
            return None


def _last(connection: Connection, clinic: str) -> int:
    rows = _LAST.run(connection, clinic=clinic)
    return rows[0][0] if rows else 0


def _chain(clinic: str, tablet: str) -> tuple[Any, Any]:
    return (entry_table.c.clinic == clinic, entry_table.c.tablet == tablet)


# What a sync asks for again and again.
_OF_CLINIC = entry_table.c.clinic == bindparam("clinic")
_OF_CHAIN = (_OF_CLINIC, entry_table.c.tablet == bindparam("tablet"))
_NUMBER_AND_DIGEST = select(entry_table.c.number, entry_table.c.digest).where(*_OF_CHAIN)
_KEPT = select(entry_table.c.digest, entry_table.c.content)
_LAST = Prepared(select(clinic_sequence.c.last).where(clinic_sequence.c.clinic == bindparam("clinic")))
_BY_DIGEST = Prepared(_KEPT.where(entry_table.c.digest == bindparam("digest")))
_END = Prepared(
    _NUMBER_AND_DIGEST.order_by(entry_table.c.number.desc(), entry_table.c.digest).limit(1)
)
_IN_CHAIN = _KEPT.where(
    *_OF_CHAIN, entry_table.c.number >= bindparam("from_number")
).order_by(entry_table.c.number, entry_table.c.digest)
_CHAIN, _CHAIN_SOME = Prepared(_IN_CHAIN), Prepared(_IN_CHAIN.limit(bindparam("most")))
_NUMBERS = Prepared(_NUMBER_AND_DIGEST.where(
    entry_table.c.number.between(bindparam("first"), bindparam("last"))
))
_BRANCHES = Prepared(_NUMBER_AND_DIGEST.where(entry_table.c.number.in_(
    select(entry_table.c.number).where(*_OF_CHAIN)
    .group_by(entry_table.c.number).having(func.count() > 1)
)).order_by(entry_table.c.number, entry_table.c.digest))
_TWIN = entry_table.alias("twin")
_FORKED_SINCE = Prepared(select(entry_table.c.tablet).distinct().where(
    _OF_CLINIC, entry_table.c.server_sequence > bindparam("since"),
    exists().where(
        _TWIN.c.clinic == entry_table.c.clinic, _TWIN.c.tablet == entry_table.c.tablet,
        _TWIN.c.number == entry_table.c.number, _TWIN.c.digest != entry_table.c.digest,
    ),
))
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


def _ends() -> Prepared:
    """Each chain of a clinic with its end, by steps of the index: it costs the same however long they are."""
    steps = select(
        select(func.min(entry_table.c.tablet)).where(_OF_CLINIC).scalar_subquery().label("tablet")
    ).cte("steps", recursive=True)
    other = entry_table.alias("other")
    steps = steps.union_all(select(
        select(func.min(other.c.tablet))
        .where(other.c.clinic == bindparam("clinic"), other.c.tablet > steps.c.tablet)
        .scalar_subquery()
    ).where(steps.c.tablet.is_not(None)))
    last = entry_table.alias("last")
    end = (
        last.c.clinic == bindparam("clinic"), last.c.tablet == steps.c.tablet,
    )
    newest = select(last.c.number).where(*end).order_by(last.c.number.desc()).limit(1)
    digest = select(last.c.digest).where(*end).order_by(
        last.c.number.desc(), last.c.digest
    ).limit(1)
    return Prepared(select(
        steps.c.tablet, newest.scalar_subquery(), digest.scalar_subquery()
    ).where(steps.c.tablet.is_not(None)).order_by(steps.c.tablet))


_ENDS = _ends()
