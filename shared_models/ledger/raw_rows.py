"""A store as it lies, every row unjudged, for whoever checks the whole of it.

Works on a copy in a folder that only its owner can read, so that checking
changes nothing: neither the store nor the counters of wrong PINs in it.  Of a
server's database it reads one moment, and writes nothing.
"""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterator, Mapping
from urllib.parse import quote

from sqlalchemy import Select, select, text

from shared_models.ledger.drafts import bound
from shared_models.ledger.engine import Store
from shared_models.ledger.opening import open_as_it_is, open_store
from shared_models.ledger.faults_of_storage import StoreRefusal, refused_reading
from shared_models.ledger.sealing import Codec, SealingRefusal
from shared_models.ledger.tables import SERVER, clinic_sequence, draft
from shared_models.ledger.tables import entry as entry_table
from shared_models.ledger.tables import signature as signature_table

_AT_ONCE = 500
#: Readable columns that say again what the sealed content says.
ENTRY_COLUMNS = (
    "entry_id", "clinic", "subject_type", "subject_id", "kind", "tablet", "number", "previous", "clock",
)
SIGNATURE_COLUMNS = ("clinic", "signs", "signer_type", "signer")


@dataclass(frozen=True)
class RawRow:
    """A row: what its columns say, and its content, None when that doesn't open."""

    digest: str
    columns: Mapping[str, Any]
    sequence: int | None
    plaintext: bytes | None

    @property
    def number(self) -> int:
        """Return the number that the row states."""
        return int(self.columns["number"])


@contextmanager
def looked_at(told: str) -> Iterator[Store]:
    """Give a store opened on a copy, or a server's database at one moment.

    ``told`` is a file, or the database's URL.  Raises StoreRefusal as
    ``open_store`` and ``open_as_it_is``.
    """
    if "://" in told:
        database = open_as_it_is(told, SERVER)
        try:
            with database.at_one_moment():
                yield database
        finally:
            database.close()
        return
    path = Path(told)
    side = _side(path)
    with tempfile.TemporaryDirectory(prefix="stancebook-verify-") as folder:
        copy = Path(folder) / "store"
        try:
            with closing(_read_only(path)) as source, closing(sqlite3.connect(copy)) as target:
                source.backup(target)
        except sqlite3.Error as error:
            raise refused_reading(error) or error from error
        store = open_store(copy, side)
        try:
            yield store
        finally:
            store.close()


def _side(path: Path) -> str:
    if not path.is_file():
        raise StoreRefusal("not_a_database", file=path.name)
    try:
        with closing(_read_only(path)) as connection:
            return str(connection.execute("SELECT store_kind FROM about").fetchone()[0])
    except (sqlite3.Error, TypeError) as error:
        raise StoreRefusal("not_a_stancebook_store", file=path.name) from error


def _read_only(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode=ro", uri=True)


def raw_entries(store: Store, codec: Codec) -> Iterator[RawRow]:
    """Give every entry row by clinic, tablet and number, a few at a time."""
    order = (entry_table.c.clinic, entry_table.c.tablet, entry_table.c.number, entry_table.c.digest)
    return _rows(store, codec, select(entry_table).order_by(*order), "entry", ENTRY_COLUMNS)


def raw_signatures(store: Store, codec: Codec) -> Iterator[RawRow]:
    """Give every signature row by clinic and what it signs, a few at a time."""
    order = (signature_table.c.clinic, signature_table.c.signs, signature_table.c.digest)
    return _rows(store, codec, select(signature_table).order_by(*order), "signature", SIGNATURE_COLUMNS)


def _rows(
    store: Store, codec: Codec, wanted: Select[Any], what: str, columns: tuple[str, ...]
) -> Iterator[RawRow]:
    with store.reading() as connection:
        # Options that are set on the connection itself would stay with it.
        for row in connection.execute(wanted, execution_options={"yield_per": _AT_ONCE}).mappings():
            yield _raw(row, codec, what, columns)


def _raw(row: Mapping[str, Any], codec: Codec, what: str, columns: tuple[str, ...]) -> RawRow:
    try:
        plaintext = codec.open(f"{what}:{row['digest']}", row["content"])
    except SealingRefusal:
        plaintext = None
    return RawRow(row["digest"], {c: row[c] for c in columns}, row["server_sequence"], plaintext)


def last_numbers(store: Store) -> dict[str, int]:
    """Return how many numbers a server gave in each clinic; nothing on a tablet."""
    if store.side != SERVER:
        return {}
    with store.reading() as connection:
        return {row.clinic: row.last for row in connection.execute(select(clinic_sequence))}


def file_troubles(store: Store) -> list[str]:
    """Return what the database says of its own pages and references; [] when sound."""
    with store.reading() as connection:
        if connection.dialect.name != "sqlite":
            return []
        pages = [str(r[0]) for r in connection.execute(text("PRAGMA integrity_check"))]
        loose = connection.execute(text("PRAGMA foreign_key_check")).all()
    return [p for p in pages if p != "ok"] + [f"{r[0]}: row {r[1]} refers to nothing" for r in loose]


def drafts_that_dont_open(store: Store, codec: Codec) -> list[str]:
    """Return the places of drafts on a tablet that were changed from outside."""
    with store.reading() as connection:
        rows = connection.execute(select(draft.c.place, draft.c.content)).all()
    found = []
    for row in rows:
        try:
            codec.open(bound(row.place), row.content)
        except SealingRefusal:
            found.append(str(row.place))
    return found
