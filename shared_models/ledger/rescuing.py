"""Getting out of a damaged tablet's file what can still be read, into a fresh one.

The damaged file is only read.  Rows are taken one by one, past places that
can't be read; of entries and signatures only what still is what its digest
names.  What lies on the server comes back from there: the fresh file fetches
everything anew, which also closes the holes in what was sent before.

A chain goes up without holes.  What this tablet had not sent and lies behind an
entry that is gone can't be sent any more; it is set aside, for a person to
record again.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence

from shared_models.entries.envelope import Entry
from shared_models.ledger.drafts import bound
from shared_models.ledger.engine import Store
from shared_models.ledger.opening import open_store
from shared_models.ledger.faults_of_storage import StoreRefusal
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.rows import Kept, entry_of, signature_of
from shared_models.ledger.schema import KNOWN_REVISIONS, Schema
from shared_models.ledger.sealing import Codec
from shared_models.ledger.store import EntryStore
from shared_models.ledger.tables import TABLET
from shared_models.quantities.refusals import Refusal

#: Taken over as they lie: who may open it, whose it is, what is being typed, photos.
_TABLES = (
    "key_slot", "recovery_slot", "device", "sync_state", "draft", "attachment", "attachment_piece",
)
_AT_ONCE = 500
#: So many rows are tried one by one past a place that can't be read, before larger steps.
_ONE_BY_ONE = 400
_FARTHEST = 1 << 40


@dataclass(frozen=True)
class Rescued:
    """What a fresh file holds, and what it could not be given."""

    entries: int
    signatures: int
    photos: int
    #: Places in the damaged file that could not be read, and rows that were not sound.
    unreadable: int
    #: Own entries that were not sent and are in the fresh file.
    unsent: int
    #: Own entries that were not sent and lie behind one that is gone.
    aside: tuple[Entry, ...]


def rescue(damaged: Path, fresh: Path, codec_of: Callable[[Store], Codec]) -> Rescued:
    """Fill a fresh tablet's file with what a damaged one still says.

    ``codec_of`` opens the fresh store by somebody's PIN.  Refused, and then no
    fresh file is left: ``rescue_over_a_file`` when there is a file of that name,
    ``not_a_database`` when there is no damaged one, ``rescue_no_keys`` when nobody's PIN, the tablet's name or its key can be
    read, and as ``codec_of`` refuses.
    """
    if fresh.exists():
        raise StoreRefusal("rescue_over_a_file", file=fresh.name)
    if not damaged.is_file():
        raise StoreRefusal("not_a_database", file=damaged.name)
    with tempfile.TemporaryDirectory(prefix="stancebook-rescue-") as folder:
        copy = Path(folder) / "damaged"
        for tail in ("", "-wal"):
            if Path(f"{damaged}{tail}").exists():
                shutil.copy(f"{damaged}{tail}", f"{copy}{tail}")
        try:
            with closing(sqlite3.connect(copy)) as source:
                source.text_factory = bytes
                return _filled(_Damaged(source), fresh, codec_of)
        except BaseException:
            for tail in ("", "-wal", "-shm"):
                Path(f"{fresh}{tail}").unlink(missing_ok=True)
            raise


class _Damaged:
    """A file read past what can't be read."""

    def __init__(self, source: sqlite3.Connection) -> None:
        self._source = source
        self.unreadable = 0

    def revision(self) -> str:
        """Return the schema that the file was of; the newest when it doesn't say."""
        found = [row["version_num"] for row in self.rows("alembic_version")]
        return found[0] if found and found[0] in KNOWN_REVISIONS else KNOWN_REVISIONS[-1]

    def rows(self, table: str) -> Iterator[dict[str, Any]]:
        """Give the rows of a table that can be read."""
        start, step, tries = -_FARTHEST, 1, 0
        while start < _FARTHEST:
            at = start
            try:
                cursor = self._source.execute(
                    f"SELECT rowid, * FROM {table} NOT INDEXED WHERE rowid >= ? ORDER BY rowid", (start,)
                )
                names = [column[0] for column in cursor.description]
                for values in cursor:
                    at, step, tries = values[0] + 1, 1, 0
                    row = self._row(names, values)
                    if row is not None:
                        yield row
                return
            except sqlite3.OperationalError as error:
                if "no such table" in str(error):
                    return
                start = max(at, start + step)
            except sqlite3.DatabaseError:
                start = max(at, start + step)
            self.unreadable += tries == 0
            tries += 1
            if start < 0:  # not one row was read: rows are counted from 1
                start = 1
            step = step if tries < _ONE_BY_ONE else step * 2

    def _row(self, names: Sequence[str], values: Sequence[Any]) -> dict[str, Any] | None:
        try:
            # Text comes as bytes here, what is sealed too: only text is to be UTF-8.
            return {
                name: value.decode() if isinstance(value, bytes) and _is_text(name) else value
                for name, value in zip(names[1:], values[1:])
            }
        except UnicodeDecodeError:
            self.unreadable += 1
            return None


def _is_text(name: str) -> bool:
    return name not in (
        "content", "sealed", "sealed_signing_key", "salt", "wrapped_data_key", "wrapped_signing_key",
    )


def _filled(damaged: _Damaged, fresh: Path, codec_of: Callable[[Store], Codec]) -> Rescued:
    revision = damaged.revision()
    known = KNOWN_REVISIONS[:KNOWN_REVISIONS.index(revision) + 1]
    open_store(fresh, TABLET, schema=Schema(known=known)).close()
    with closing(sqlite3.connect(fresh)) as target:
        for table in _TABLES:
            _taken_over(damaged, target, table)
        target.commit()
    store = open_store(fresh, TABLET)
    try:
        if not KeySlots(store).people():
            raise StoreRefusal("rescue_no_keys")
        codec = codec_of(store)
        entries = EntryStore(store, codec)
        clinics, tablet = entries.sync_clinics(), entries.device_name()
        if not clinics or tablet is None:
            raise StoreRefusal("rescue_no_keys")
        entries.device_key()
        return _records(damaged, store, entries, codec, clinics[0], tablet)
    finally:
        store.close()


def _taken_over(damaged: _Damaged, target: sqlite3.Connection, table: str) -> None:
    columns = [row[1] for row in target.execute(f"PRAGMA table_info({table})")]
    if not columns:
        return  # a table that this schema did not have yet
    names = ", ".join(columns)
    marks = ", ".join("?" * len(columns))
    for row in damaged.rows(table):
        try:
            target.execute(
                f"INSERT INTO {table} ({names}) VALUES ({marks})", [row.get(c) for c in columns]
            )
        except sqlite3.Error:  # a row that is no whole row any more
            damaged.unreadable += 1


def _records(
    damaged: _Damaged, store: Store, entries: EntryStore, codec: Codec, clinic: str, tablet: str,
) -> Rescued:
    found = sorted(_sound(damaged, "entry", entry_of, codec), key=lambda e: e.order)
    signatures = list(_sound(damaged, "signature", signature_of, codec))
    state = entries.sync_state(clinic)
    whole, aside = _without_hole(
        [e for e in found if e.tablet == tablet], state.acknowledged_number
    )
    left = {e.digest for e in aside}
    kept = [e for e in found if e.digest not in left]
    here = {e.digest for e in kept}
    signatures = [s for s in signatures if s.signs in here]
    for start in range(0, len(kept), _AT_ONCE):
        entries.add_all(kept[start:start + _AT_ONCE])
    for start in range(0, len(signatures), _AT_ONCE):
        entries.add_all((), signatures[start:start + _AT_ONCE])
    # Everything the server has comes again, and closes the holes.
    entries.keep_sync_state(replace(state, pulled_to=0))
    photos = _sound_photos(store, entries, damaged)
    _sound_drafts(store, codec, damaged)
    unsent = sum(e.number > state.acknowledged_number for e in whole)
    return Rescued(len(kept), len(signatures), photos, damaged.unreadable, unsent, tuple(aside))


def _sound(
    damaged: _Damaged, table: str, read: Callable[[Kept, Codec], Any], codec: Codec,
) -> Iterator[Any]:
    for row in damaged.rows(table):
        try:
            yield read(Kept(row["digest"], row["content"]), codec)
        except (Refusal, ValueError, TypeError, AttributeError):
            damaged.unreadable += 1


def _without_hole(own: list[Entry], sent_to: int) -> tuple[list[Entry], list[Entry]]:
    """Part a chain at the first hole in what was not sent."""
    numbers, last = {e.number for e in own}, sent_to
    while last + 1 in numbers:
        last += 1
    return [e for e in own if e.number <= last], [e for e in own if e.number > last]


def _sound_photos(store: Store, entries: EntryStore, damaged: _Damaged) -> int:
    """Take photos away whose bytes are not whole; the server may have them."""
    count = 0
    for digest in entries.attachments():
        try:
            entries.attachment(digest)
            count += 1
        except Refusal:
            damaged.unreadable += 1
            with store.writing() as connection:
                for table in ("attachment", "attachment_piece"):
                    connection.exec_driver_sql(f"DELETE FROM {table} WHERE digest = ?", (digest,))
    return count


def _sound_drafts(store: Store, codec: Codec, damaged: _Damaged) -> None:
    with store.writing() as connection:
        for place, content in connection.exec_driver_sql("SELECT place, content FROM draft").all():
            try:
                codec.open(bound(place), content)
            except Refusal:
                damaged.unreadable += 1
                connection.exec_driver_sql("DELETE FROM draft WHERE place = ?", (place,))
