"""Looking at a store's file before anything is changed in it, and copying it.

Uses the SQLite driver alone: a file that is not ours must stay byte for byte
what it was, so it is looked at before any setting is made on it.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from shared_models.ledger.faults_of_storage import StoreRefusal, refused_reading

#: "StBk", kept in the file's header so that a file tells whose it is.
APPLICATION_ID = 0x5374426B
_MAGIC = b"SQLite format 3\x00"


def examine(path: Path) -> bool:
    """Refuse a file that is no sound Stancebook store; tell whether it is new.

    Codes: ``store_folder_missing``, ``not_a_database``, ``not_a_stancebook_store``,
    ``store_corrupt`` (figure ``finding``), ``store_unreadable``.
    """
    if not path.parent.is_dir():
        raise StoreRefusal("store_folder_missing", folder=str(path.parent))
    if path.is_dir():
        raise StoreRefusal("not_a_database", file=path.name)
    try:
        start = _start_of(path) if path.exists() else b""
    except OSError as error:
        raise StoreRefusal("store_unreadable", file=path.name) from error
    if not start:
        _refuse_orphaned_log(path)
        return True
    if start != _MAGIC:
        raise StoreRefusal("not_a_database", file=path.name)
    return _examine_database(path)


def _start_of(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(len(_MAGIC))


def _refuse_orphaned_log(path: Path) -> None:
    """An empty file beside a full log was a store once; SQLite would drop both."""
    log = Path(f"{path}-wal")
    if log.exists() and log.stat().st_size > 0:
        raise StoreRefusal("store_corrupt", finding="a log without its store")


def _examine_database(path: Path) -> bool:
    address = f"file:{quote(str(path.absolute()))}?mode=rw"
    try:
        with closing(sqlite3.connect(address, uri=True)) as connection:
            finding = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
            if finding != "ok":
                raise StoreRefusal("store_corrupt", finding=finding)
            mark = connection.execute("PRAGMA application_id").fetchone()[0]
            if mark == APPLICATION_ID:
                return False
            tables = connection.execute("SELECT count(*) FROM sqlite_master")
            if mark == 0 and tables.fetchone()[0] == 0:
                return True  # begun once and cut off before the first commit
    except sqlite3.Error as error:
        refusal = refused_reading(error)
        if refusal is None:
            raise
        raise refusal from error
    raise StoreRefusal("not_a_stancebook_store", file=path.name)


def back_up(path: Path, label: str) -> Path:
    """Copy a whole, consistent store beside itself; return the copy's path.

    The copy appears under its name only when it is complete and on the disk.
    """
    copy = path.with_name(f"{path.name}.before-{label}")
    unfinished = path.with_name(f"{copy.name}.unfinished")
    unfinished.unlink(missing_ok=True)
    try:
        with closing(sqlite3.connect(path)) as source:
            with closing(sqlite3.connect(unfinished)) as target:
                source.backup(target)
    except sqlite3.Error as error:
        unfinished.unlink(missing_ok=True)
        refusal = refused_reading(error)
        if refusal is None:
            raise
        raise refusal from error
    _to_disk(unfinished)
    os.replace(unfinished, copy)
    return copy


def _to_disk(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())
