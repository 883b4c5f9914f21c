"""What is different where the store is a PostgreSQL.

The driver is asked for only here and only when such a store is opened: a
tablet has none.  Four things make a PostgreSQL behave as the SQLite file does:

- reading is one snapshot (REPEATABLE READ), so that a pull never passes over
  a number that became visible between two of its statements;
- a commit is on the disk when it returns, whatever the database's default;
- text is compared byte by byte and may be as long as a tablet made it;
- a zero byte, which PostgreSQL's text can't hold, is kept as U+2400; the
  entries themselves are bytes and stay as they came.
"""

from __future__ import annotations

import zlib
from typing import Any, Iterable

from sqlalchemy import Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError, DBAPIError

from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.quantities.refusals import Refusal

#: How long one process waits for another one's transaction.
BUSY_SECONDS = 10
_IDLE_IN_TRANSACTION_S = 60
_POOL, _MORE = 5, 15
#: Keys of advisory locks: "StBk" above, what is held below.
_LOCKS = 0x5374426B
_MIGRATING, _FIRST_BUCKET, _BUCKETS = 1, 100, 16
_BACKENDS = ("postgresql", "postgres")
_ZERO, _SHOWN_ZERO = "\x00", "\u2400"

READING = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
WRITING = {"isolation_level": "READ COMMITTED"}

_BY_STATE = {
    "53100": "not_saved_disk_full", "53200": "not_saved", "58030": "not_saved",
    "53300": "store_busy", "55P03": "store_busy", "40001": "store_busy",
    "40P01": "store_busy", "57014": "store_busy", "25P03": "store_busy",
    "25006": "store_read_only", "42501": "store_read_only",
    "57P01": "database_not_reached", "57P02": "database_not_reached",
    "57P03": "database_not_reached",
    "XX001": "store_corrupt", "XX002": "store_corrupt",
}


def url_for(told: str) -> URL:
    """Return the URL of a database server, with the driver that we use.

    Refused: ``database_url_wrong``, ``database_not_supported`` (figure ``found``).
    """
    try:
        url = make_url(told)
    except (ArgumentError, ValueError) as error:
        raise StoreRefusal("database_url_wrong") from error
    if url.get_backend_name() == "sqlite":
        return url
    if url.get_backend_name() not in _BACKENDS:
        raise StoreRefusal("database_not_supported", found=url.get_backend_name()[:40])
    return url.set(drivername="postgresql+psycopg")


def engine_for(url: URL) -> Engine:
    """Return an engine; refused ``database_driver_missing``."""
    try:
        engine = create_engine(
            url, pool_size=_POOL, max_overflow=_MORE, pool_timeout=BUSY_SECONDS,
            pool_pre_ping=True, hide_parameters=True,
        )
    except ModuleNotFoundError as error:
        raise StoreRefusal("database_driver_missing") from error
    event.listen(engine, "connect", _settings)
    return engine


def _settings(connection: Any, _record: object) -> None:
    connection.autocommit = True
    for setting in (
        f"lock_timeout = '{BUSY_SECONDS}s'", "timezone = 'UTC'",
        f"idle_in_transaction_session_timeout = '{_IDLE_IN_TRANSACTION_S}s'",
    ):
        connection.execute(f"SET {setting}")
    connection.execute(
        "SELECT set_config('synchronous_commit', 'on', false)"
        " WHERE current_setting('synchronous_commit') IN ('off', 'local')"
    )
    connection.autocommit = False
    connection.adapters.register_dumper(str, _dumper())


def _dumper() -> type:
    from psycopg.types.string import StrDumperUnknown

    class WithoutZero(StrDumperUnknown):
        """Writes text that PostgreSQL can hold."""

        def dump(self, obj: str) -> Any:
            """Return the text's bytes."""
            return super().dump(obj.replace(_ZERO, _SHOWN_ZERO) if _ZERO in obj else obj)

    return WithoutZero


def refuse_unsafe(connection: Connection) -> None:
    """Refuse a database that could lose or bend what it is given.

    Codes ``database_not_utf8`` and ``database_not_durable`` (``fsync`` is off).
    """
    if connection.scalar(text("SHOW server_encoding")) != "UTF8":
        raise StoreRefusal("database_not_utf8")
    for setting in ("fsync", "full_page_writes"):
        if connection.scalar(text(f"SHOW {setting}")) == "off":
            raise StoreRefusal("database_not_durable", setting=setting)


def hold_migration(connection: Connection) -> None:
    """Let one process at a time change the schema, until its transaction ends."""
    connection.execute(text("SET LOCAL lock_timeout = '120s'"))
    connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCKS}, {_MIGRATING})"))


def hold_names(connection: Connection, names: Iterable[str]) -> None:
    """Make others who come with one of these names wait; nothing on SQLite.

    The names fall into a few buckets, taken in order, so that no two
    transactions wait for each other and the table of locks stays small.
    """
    if connection.dialect.name != "postgresql":
        return  # one writer at a time anyway
    for bucket in sorted({zlib.crc32(name.encode()) % _BUCKETS for name in names}):
        connection.execute(
            text(f"SELECT pg_advisory_xact_lock({_LOCKS}, {_FIRST_BUCKET + bucket})")
        )


def compare_text_by_bytes(connection: Connection) -> None:
    """Give every column of text the order and the freedom of length that SQLite gives."""
    columns = connection.execute(text(
        "SELECT table_name, column_name FROM information_schema.columns"
        " WHERE table_schema = current_schema()"
        " AND data_type IN ('character varying', 'text')"
        " AND (collation_name IS DISTINCT FROM 'C' OR data_type <> 'text')"
        " ORDER BY table_name, column_name"
    )).all()
    wanted: dict[str, list[str]] = {}
    for table, column in columns:
        wanted.setdefault(table, []).append(f'ALTER COLUMN "{column}" TYPE text COLLATE "C"')
    for table, changes in wanted.items():
        connection.execute(text(f'ALTER TABLE "{table}" {", ".join(changes)}'))


def now_ms(connection: Connection) -> int:
    """Return the database's own clock, the one that all its servers share."""
    asked = text("SELECT (extract(epoch FROM clock_timestamp()) * 1000)::bigint")
    return int(connection.scalar(asked) or 0)


def refusal_of(error: BaseException, writes: bool) -> Refusal | None:
    """Return the refusal that an error of PostgreSQL means, None for a fault."""
    original = error.orig if isinstance(error, DBAPIError) else error
    if not type(original).__module__.startswith("psycopg"):
        return None
    state = getattr(original, "sqlstate", None)
    code = _BY_STATE.get(state or "")
    if code is None and (state or "08").startswith("08"):
        if "OperationalError" not in {base.__name__ for base in type(original).__mro__}:
            return None
        code = "database_not_reached"
    if code is None:
        return None
    if code == "store_corrupt":
        return StoreRefusal("store_corrupt", finding="on writing" if writes else "on reading")
    if writes:
        return NotSaved(code)
    reading = {"not_saved_disk_full": "store_disk_full", "not_saved": "store_unreadable"}
    code = reading.get(code, code)
    return StoreRefusal(code)
