"""A fresh data key for a tablet's store: everything sealed again, or nothing.

What was sealed under the old key is opened and sealed under the new one in a
single transaction; a store that is cut off, or in which a row does not open,
stays as it was.  Whoever was at work, and whoever gave a PIN beside them, keeps
PIN and signing key.  Everybody else's slot held the old key only, so it opens
nothing any more: they get a new PIN from the lead clinician.  Recovery codes and
the server's share wrapped the old key, too, and are taken away.

A copy of the store made before stays as readable as it was to whoever has it.
"""

from __future__ import annotations

import os
import sqlite3
from dataclasses import dataclass, replace
from typing import Any, Callable, Iterator, Mapping

from sqlalchemy import ColumnElement, Connection, Table, bindparam, delete, select, update

from shared_models.ledger import attachments, drafts, summaries
from shared_models.ledger.engine import Store
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.sealing import KEY_BYTES, Sealed
from shared_models.ledger.sync_states import access_place
from shared_models.ledger.tables import (
    attachment,
    attachment_piece,
    device,
    draft,
    entry,
    fitting_summary,
    recovery_slot,
    signature,
    sync_state,
)

#: Rows held in memory at once; a photo's piece has 256 KiB.
_ROWS = 64


@dataclass(frozen=True)
class _SealedColumn:
    """Where sealed content lies, and what each of it is bound to."""

    table: Table
    content: str
    place: Callable[[Any], str]


#: Every place but the pieces of attachments, which are bound to their number.
SEALED = (
    _SealedColumn(entry, "content", lambda row: f"entry:{row.digest}"),
    _SealedColumn(signature, "content", lambda row: f"signature:{row.digest}"),
    _SealedColumn(draft, "content", lambda row: drafts.bound(row.place)),
    _SealedColumn(sync_state, "sealed", lambda row: access_place(row.clinic)),
    _SealedColumn(device, "sealed_signing_key", lambda row: f"device:{row.tablet}"),
    _SealedColumn(fitting_summary, "content", lambda row: summaries.place_of(row.fitting)),
)


def renew_data_key(store: Store, slots: KeySlots, pins: Mapping[str, str]) -> bool:
    """Seal a tablet's whole store under a fresh key.

    ``pins`` are those of everybody who is to keep theirs, by staff id, at least
    one.  Returns whether the file could then be written anew, so that nothing sealed
    under the old key is left in its empty pages.  Raises PinRefusal as
    ``KeySlots.unlock`` before anything changes, SealingRefusal ``content_damaged``
    and NotSaved with nothing changed.
    Whoever holds the store open reads it with the old key: close those first.
    """
    opened = [(slots.unlock(staff, pin), pin) for staff, pin in pins.items()]
    if not opened:
        raise ValueError("somebody has to open the store")
    old = opened[0][0].codec
    fresh = os.urandom(KEY_BYTES)
    new = Sealed(fresh)
    with store.together(), store.writing() as connection:
        for column in SEALED:
            _seal_again(connection, column, old, new)
        _seal_pieces_again(connection, old, new)
        connection.execute(delete(recovery_slot))
        slots.lock_all_but(list(pins))
        for keys, pin in opened:
            slots.wrap_again(replace(keys, data_key=fresh), pin)
    return _forget_old_pages(store)


def _seal_again(connection: Connection, column: _SealedColumn, old: Sealed, new: Sealed) -> None:
    content = column.table.c[column.content]
    keys = list(column.table.primary_key)
    change = update(column.table).where(*(k == bindparam(f"at_{k.name}") for k in keys)).values(
        {content: bindparam("sealed_again")}
    )
    for rows in _in_parts(connection, column.table, content.is_not(None)):
        connection.execute(change, [
            {f"at_{k.name}": row._mapping[k] for k in keys} | {
                "sealed_again": new.seal(
                    column.place(row), old.open(column.place(row), row._mapping[content])
                ),
            } for row in rows
        ])


def _seal_pieces_again(connection: Connection, old: Sealed, new: Sealed) -> None:
    """Pieces are bound to how many there are, which their attachment says.

    Pieces of an attachment that never became whole belong to no entry and go.
    """
    whole = {
        row.digest: row.pieces
        for row in connection.execute(select(attachment.c.digest, attachment.c.pieces))
    }
    connection.execute(delete(attachment_piece).where(attachment_piece.c.digest.not_in(select(attachment.c.digest))))
    pieces = _SealedColumn(
        attachment_piece, "content",
        lambda row: attachments.place_of(row.digest, row.number, whole[row.digest]),
    )
    _seal_again(connection, pieces, old, new)


def _in_parts(
    connection: Connection, table: Table, wanted: ColumnElement[bool]
) -> Iterator[list[Any]]:
    """A table's rows, a few at a time, each once although they are changed meanwhile."""
    keys = list(table.primary_key)
    places = connection.execute(select(*keys).where(wanted).order_by(*keys)).all()
    for start in range(0, len(places), _ROWS):
        part = places[start:start + _ROWS]
        yield [
            connection.execute(
                select(table).where(*(k == value for k, value in zip(keys, place, strict=True)))
            ).one() for place in part
        ]


def _forget_old_pages(store: Store) -> bool:
    """Write the file anew, so that what was sealed under the old key is not left in it."""
    connection = store.engine.raw_connection()
    try:
        for command in ("VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"):
            connection.driver_connection.execute(command)  # type: ignore[union-attr]
    except sqlite3.Error:
        return False
    finally:
        connection.close()
    return True
