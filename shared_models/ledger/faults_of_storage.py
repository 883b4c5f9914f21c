"""Which refusal a database error means; what is none of these is a fault."""

from __future__ import annotations

import sqlite3

from sqlalchemy.exc import DBAPIError

from shared_models.quantities.refusals import Refusal

_LOW_BYTE = 0xFF


class StoreRefusal(Refusal):
    """A store can't be opened, read or written."""


class NotSaved(Refusal):
    """What was to be saved is not saved, none of it: ``not_saved_disk_full``,
    ``not_saved``, ``store_read_only``, ``store_busy``."""


def primary_code(error: BaseException) -> int | None:
    """Return SQLite's primary result code of an error, None for other errors."""
    original = error.orig if isinstance(error, DBAPIError) else error
    extended = getattr(original, "sqlite_errorcode", None)
    return None if extended is None else extended & _LOW_BYTE


def _is_damaged_text(error: BaseException) -> bool:
    """Bytes turned over within a text: Python's driver can't read it, and gives no code of SQLite's."""
    original = error.orig if isinstance(error, DBAPIError) else error
    return isinstance(original, sqlite3.OperationalError) and "decode to UTF-8" in str(original)


def refused_write(error: BaseException) -> Refusal | None:
    """Return the refusal for an error met while saving, None for a fault."""
    if _is_damaged_text(error):
        return StoreRefusal("store_corrupt", finding="on writing")
    return {
        sqlite3.SQLITE_FULL: NotSaved("not_saved_disk_full"),
        sqlite3.SQLITE_IOERR: NotSaved("not_saved"),
        sqlite3.SQLITE_CANTOPEN: NotSaved("not_saved"),
        sqlite3.SQLITE_READONLY: NotSaved("store_read_only"),
        sqlite3.SQLITE_BUSY: NotSaved("store_busy"),
        sqlite3.SQLITE_CORRUPT: StoreRefusal("store_corrupt", finding="on writing"),
        sqlite3.SQLITE_NOTADB: StoreRefusal("store_corrupt", finding="on writing"),
    }.get(primary_code(error) or 0)


def refused_reading(error: BaseException) -> Refusal | None:
    """Return the refusal for an error met while reading, None for a fault."""
    if _is_damaged_text(error):
        return StoreRefusal("store_corrupt", finding="on reading")
    return {
        sqlite3.SQLITE_FULL: StoreRefusal("store_disk_full"),
        sqlite3.SQLITE_IOERR: StoreRefusal("store_unreadable"),
        sqlite3.SQLITE_CANTOPEN: StoreRefusal("store_unreadable"),
        sqlite3.SQLITE_READONLY: StoreRefusal("store_read_only"),
        sqlite3.SQLITE_BUSY: StoreRefusal("store_busy"),
        sqlite3.SQLITE_CORRUPT: StoreRefusal("store_corrupt", finding="on reading"),
        sqlite3.SQLITE_NOTADB: StoreRefusal("store_corrupt", finding="on reading"),
    }.get(primary_code(error) or 0)
