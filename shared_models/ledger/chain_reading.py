"""Reading chains: what each tablet recorded for a clinic, by number, and where each chain ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Collection, Mapping

from sqlalchemy import Connection, bindparam, exists, func, select

from shared_models.entries.envelope import Entry
from shared_models.entries.written import WrittenLink
from shared_models.ledger.engine import Store
from shared_models.ledger.prepared import Prepared
from shared_models.ledger.rows import Kept, entry_of, written_link
from shared_models.ledger.sealing import Codec, SealingRefusal
from shared_models.ledger.tables import clinic_sequence
from shared_models.ledger.tables import entry as entry_table

_ALL = 2**31 - 1


@dataclass(frozen=True)
class ChainRow:
    """A stored row of a chain, unjudged; ``plaintext`` None when it won't open."""

    number: int
    digest: str
    plaintext: bytes | None


class ChainReading:
    """The part of the entry store that reads chains."""

    _store: Store
    _codec: Codec

    def standing(
        self, clinic: str, since: int = 0, forked: Collection[str] = ()
    ) -> tuple[int, Mapping[str, tuple[int, str]], tuple[str, ...]]:
        """Return the newest sequence number, the end of each chain, and the chains that forked.

        All of one moment.  Of a forked end the smaller digest, as ``chain_end``.  ``forked``
        are those known up to the number ``since``: only what came after it is looked at.
        """
        with self._store.reading() as connection:
            last = newest_number(connection, clinic)
            if last < since:  # another store lies here now
                since, forked = 0, ()
            ends = _ENDS.run(connection, clinic=clinic)
            more = _FORKED_SINCE.run(connection, clinic=clinic, since=since)
        found = {tablet: (number, digest) for tablet, number, digest in ends}
        return last, found, tuple(sorted({*forked, *(tablet for tablet, in more)}))

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

    def chain_written(
        self, clinic: str, tablet: str, from_number: int = 1, most: int = _ALL
    ) -> list[WrittenLink]:
        """As ``chain``, to be passed on: each is what its digest names, and is not read again."""
        with self._store.reading() as connection:
            rows = _LINKS.run(
                connection, clinic=clinic, tablet=tablet, from_number=from_number, most=most
            )
        return [written_link(clinic, tablet, number, Kept(*row), self._codec) for number, *row in rows]

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

    def _opened(self, row: Any) -> bytes | None:
        try:
            return self._codec.open(f"entry:{row.digest}", row.content)
        except SealingRefusal as error:
            if error.code == "store_locked":
                raise
            return None


def newest_number(connection: Connection, clinic: str) -> int:
    """Return the newest sequence number given in a clinic."""
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
_END = Prepared(
    _NUMBER_AND_DIGEST.order_by(entry_table.c.number.desc(), entry_table.c.digest).limit(1)
)
_IN_CHAIN = _KEPT.where(
    *_OF_CHAIN, entry_table.c.number >= bindparam("from_number")
).order_by(entry_table.c.number, entry_table.c.digest)
_CHAIN, _CHAIN_SOME = Prepared(_IN_CHAIN), Prepared(_IN_CHAIN.limit(bindparam("most")))
_LINKS = Prepared(
    _IN_CHAIN.with_only_columns(entry_table.c.number, entry_table.c.digest, entry_table.c.content)
    .limit(bindparam("most"))
)
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
