"""The entry store: what is recorded is added, never changed or taken away.

Both sides keep entries and signatures by it.  On a server each new entry and
signature gets the clinic's next sequence number within the transaction that
stores it, taken by an UPDATE that makes the clinic's writers wait for one
another; so on SQLite and on PostgreSQL the order of commits is the order of
numbers, and a pull never passes over a number that appears later.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Callable, Collection, Iterable, Iterator, Mapping, Sequence

from sqlalchemy import Connection, Table, bindparam, func, select, text, update

from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import Signature
from shared_models.ledger.attachments import Attachments, name_attachments
from shared_models.ledger.drafts import Drafts, remove_draft
from shared_models.ledger.engine import Store
from shared_models.ledger.faults_of_storage import NotSaved
from shared_models.ledger.fingerprints import known_digests
from shared_models.ledger.prepared import Prepared, insert_one
from shared_models.ledger.reading import EntryReading
from shared_models.ledger.rows import entry_row, signature_row
from shared_models.ledger.sealing import Codec, Locked
from shared_models.ledger.summaries import Summaries, mark_summaries
from shared_models.ledger.sync_states import SyncState, SyncStates
from shared_models.ledger.tables import (
    SERVER,
    clinic_sequence,
    entry as entry_table,
    signature as signature_table,
)
from shared_models.quantities.moments import moment_text, now_here

_INSERT_ONE = {table.name: insert_one(table) for table in (entry_table, signature_table)}
_CHAIN_FROM = Prepared(select(entry_table.c.number, entry_table.c.digest).where(
    entry_table.c.clinic == bindparam("clinic"), entry_table.c.tablet == bindparam("tablet"),
    entry_table.c.number >= bindparam("number"),
))


_FIRST_OF_CLINIC = text(
    "INSERT INTO clinic_sequence (clinic, last) VALUES (:clinic, 0)"
    " ON CONFLICT (clinic) DO NOTHING"
)


@dataclass(frozen=True)
class Added:
    """What an addition stored; the rest was there already."""

    entries: tuple[str, ...]
    signatures: tuple[str, ...]


class EntryStore(EntryReading, Drafts, SyncStates, Attachments, Summaries):
    """The entries, signatures, drafts, sync states and attachments of one open store.

    ``codec`` seals and opens content: ``Plain()`` on a server, the unlocked
    person's ``codec`` on a tablet.  ``now`` gives the moment of receipt.
    """

    def __init__(
        self, store: Store, codec: Codec,
        now: Callable[[], str] = lambda: moment_text(now_here()),
    ) -> None:
        self._store = store
        self._codec = codec
        self._now = now

    def forget_key(self) -> None:
        """Open and seal nothing from here on: the key this was opened with is no longer the store's."""
        self._codec = Locked()

    @property
    def side(self) -> str:
        """Which side's store this is."""
        return self._store.side

    @property
    def epoch(self) -> str:
        """Return the epoch of the store, as every answer names it."""
        return self._store.epoch

    def append(
        self, entry: Entry, signatures: Iterable[Signature] = (), *,
        fulfils_draft: str | None = None, attached: Collection[str] = (),
    ) -> None:
        """Add the next entry of a chain; durable when this returns.

        The draft that it fulfils goes in the same transaction.  ``attached``
        are the digests of the bytes that it names; where they are not here
        whole, NotSaved ``attachment_not_whole`` and nothing is added.  Appending an
        entry that is stored already changes nothing, so that it may be tried
        again after ``not_saved``.  Raises NotSaved ``chain_moved_on`` (figures
        ``number``, ``end``) when it does not follow the chain's end: compose
        it again; ``not_saved_disk_full``, ``not_saved``, ``store_busy``.
        """
        with self._store.writing() as connection:
            if attached:
                name_attachments(connection, attached)
            self._add(connection, [entry], list(signatures), None, in_order=True)
            if fulfils_draft is not None:
                remove_draft(connection, fulfils_draft)

    def add_all(
        self, entries: Sequence[Entry], signatures: Sequence[Signature] = (), *,
        with_sequences: Mapping[str, int] | None = None,
        within: Connection | None = None,
    ) -> Added:
        """Add what is not there yet, all of it or nothing.

        ``with_sequences`` (digest to number) keeps the numbers that the server
        above gave, on a tablet.  ``within`` joins an open ``writing()``
        transaction.  Gaps and forks are the caller's to judge: both branches
        of a cloned tablet are stored.
        """
        with self._joined(within) as connection:
            return self._add(connection, entries, signatures, with_sequences)

    def add_and_note(
        self, state: SyncState, entries: Sequence[Entry] = (), signatures: Sequence[Signature] = (), *,
        with_sequences: Mapping[str, int] | None = None,
    ) -> Added:
        """As ``add_all``, and keep how far a sync has come by it: both, or neither."""
        with self._store.together():
            added = self.add_all(entries, signatures, with_sequences=with_sequences)
            self.keep_sync_state(state)
        return added

    @contextmanager
    def _joined(self, within: Connection | None) -> Iterator[Connection]:
        if within is not None:
            yield within
            return
        with self._store.writing() as connection:
            yield connection

    def _add(
        self, connection: Connection, entries: Sequence[Entry],
        signatures: Sequence[Signature], sequences: Mapping[str, int] | None,
        in_order: bool = False,
    ) -> Added:
        clinics = {item.clinic for item in (*entries, *signatures)}
        if self._store.side == SERVER:
            for clinic in sorted(clinics):
                _hold_sequence(connection, clinic)
        received_at = self._now()
        new_entries = (
            {item.digest: item for item in entries if _is_next(connection, item)}
            if in_order else
            _missing(connection, entry_table, {item.digest: item for item in entries})
        )
        new_signatures = _missing(
            connection, signature_table, {item.digest: item for item in signatures}
        )
        entry_rows = [
            entry_row(item, self._codec, received_at) for item in new_entries.values()
        ]
        signature_rows = [
            signature_row(item, self._codec, received_at)
            for item in new_signatures.values()
        ]
        if self._store.side == SERVER:
            _number(connection, entry_rows + signature_rows)
        else:
            _note_sequences(connection, sequences or {}, entry_rows, signature_rows)
        for table, rows in (
            (entry_table, entry_rows), (signature_table, signature_rows)
        ):
            if len(rows) == 1:
                _INSERT_ONE[table.name].run(connection, **rows[0])
            elif rows:
                _INSERT_ONE[table.name].run_all(connection, rows)
        if self._store.side != SERVER:
            mark_summaries(connection, list(new_entries.values()), list(new_signatures.values()))
        return Added(tuple(new_entries), tuple(new_signatures))


def _hold_sequence(connection: Connection, clinic: str) -> None:
    """Make other writers of this clinic wait until this transaction ends."""
    held = (
        update(clinic_sequence)
        .where(clinic_sequence.c.clinic == clinic)
        .values(last=clinic_sequence.c.last)
    )
    if connection.execute(held).rowcount == 0:
        # Two processes may be the first ones at once; the second one waits here.
        connection.execute(_FIRST_OF_CLINIC, {"clinic": clinic})
        connection.execute(held)


def _number(connection: Connection, rows: list[dict[str, Any]]) -> None:
    """Give each row its clinic's next number: entries first, in their order."""
    for clinic in sorted({row["clinic"] for row in rows}):
        mine = [row for row in rows if row["clinic"] == clinic]
        connection.execute(
            update(clinic_sequence)
            .where(clinic_sequence.c.clinic == clinic)
            .values(last=clinic_sequence.c.last + len(mine))
        )
        last = connection.scalar(
            select(clinic_sequence.c.last).where(clinic_sequence.c.clinic == clinic)
        )
        assert last is not None
        for place, row in enumerate(mine):
            row["server_sequence"] = last - len(mine) + 1 + place


def _missing(
    connection: Connection, table: Table, items: Mapping[str, Any]
) -> dict[str, Any]:
    there = known_digests(connection, table, items)
    return {digest: item for digest, item in items.items() if digest not in there}


def _is_next(connection: Connection, entry: Entry) -> bool:
    """Tell whether an entry follows its chain's end; False when it is stored already.

    Raises NotSaved ``chain_moved_on`` when it does neither.
    """
    found = _CHAIN_FROM.run(
        connection, clinic=entry.clinic, tablet=entry.tablet, number=entry.number - 1
    )
    if any(digest == entry.digest for _, digest in found):
        return False
    end = max((number for number, _ in found), default=0)
    follows = entry.number == end + 1
    if follows and end:
        follows = any(digest == entry.previous for number, digest in found if number == end)
    if not follows:
        raise NotSaved("chain_moved_on", number=entry.number, end=end or _end(connection, entry))
    return True


def _end(connection: Connection, entry: Entry) -> int:
    return connection.scalar(select(func.max(entry_table.c.number)).where(
        entry_table.c.clinic == entry.clinic, entry_table.c.tablet == entry.tablet
    )) or 0


def _note_sequences(
    connection: Connection, sequences: Mapping[str, int],
    entry_rows: list[dict[str, Any]], signature_rows: list[dict[str, Any]],
) -> None:
    """Give new rows the numbers of the server above, and those that were there before."""
    new = entry_rows + signature_rows
    for row in new:
        row["server_sequence"] = sequences.get(row["digest"])
    there = set(sequences) - {row["digest"] for row in new}
    for table in (entry_table, signature_table) if there else ():
        numbered = [
            {"of": digest, "given": sequences[digest]}
            for digest in known_digests(connection, table, there)
        ]
        if numbered:
            connection.execute(
                update(table).where(table.c.digest == bindparam("of"))
                .values(server_sequence=bindparam("given")), numbered,
            )
