"""Opening a store: settings, checks, migration; and its transactions.

Durability rests on three settings of SQLite: a write-ahead log,
``synchronous=FULL`` (each commit is on the disk when it returns), and
transactions that begin where we say so (driver autocommit and an explicit
BEGIN IMMEDIATE), which also makes a migration all or nothing.
"""

from __future__ import annotations

import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, Callable, Iterator
from uuid import uuid4

from sqlalchemy import (
    Connection,
    Engine,
    create_engine,
    event,
    insert,
    inspect,
    select,
    update,
)
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError, TimeoutError as NoConnectionFree
from sqlalchemy.pool import StaticPool

from shared_models.ledger import postgres
from shared_models.ledger.faults_of_storage import (
    NotSaved,
    StoreRefusal,
    refused_reading,
    refused_write,
)
from shared_models.ledger.prepared import run_words
from shared_models.ledger.schema import Schema, revision_of, upgrade
from shared_models.ledger.store_file import APPLICATION_ID, back_up, examine
from shared_models.ledger.tables import SIDES, about
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal

BUSY_SECONDS = 10
#: Of the pool's fifteen connections, how many may lie ready to read.
READERS_KEPT = 3
_WRITES = "stancebook_writes"
_Refused = Callable[[BaseException], Refusal | None]


@dataclass
class Store:
    """An open store; ``reading`` and ``writing`` are its transactions."""

    engine: Engine
    side: str
    store_id: str = ""
    epoch: str = ""
    path: Path | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock, repr=False)
    #: Writes to a file, one transaction at a time under the lock; never taken back after an error.
    _writer: Connection | None = field(default=None, repr=False)
    #: Connections that read a file and lie ready for the next look at it.
    _readers: list[Connection] = field(default_factory=list, repr=False)
    _is_closed: bool = field(default=False, repr=False)
    _together: threading.local = field(default_factory=threading.local, repr=False)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give one consistent view; raise StoreRefusal when it can't be read."""
        joined = getattr(self._together, "connection", None) or getattr(self._together, "seen", None)
        if joined is not None:
            yield joined
            return
        with self._transaction(False, refused_reading) as connection:
            yield connection

    @contextmanager
    def at_one_moment(self) -> Iterator[None]:
        """Let every ``reading`` of this thread inside the block see one and the same moment."""
        with self.reading() as connection:
            self._together.seen = connection
            try:
                yield
            finally:
                self._together.seen = None

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make every ``writing`` of this thread inside the block one transaction.

        All of it is durable when the block is left, or none of it; what was
        built in memory meanwhile is of no use after an error.
        """
        with self.writing() as connection:
            self._together.connection = connection
            try:
                yield
            finally:
                self._together.connection = None

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a transaction that is durable when the block is left.

        An error inside, or while committing, leaves nothing of it; a storage
        error raises NotSaved, and the connection is closed and never used
        again, because after a failed write to the disk only a fresh look at
        the file tells what it holds.
        """
        joined = getattr(self._together, "connection", None)
        if joined is not None:
            yield joined
            return
        if not self._lock.acquire(timeout=BUSY_SECONDS):
            raise NotSaved("store_busy")
        try:
            with self._transaction(True, refused_write) as connection:
                yield connection
        finally:
            self._lock.release()

    @contextmanager
    def _transaction(self, writes: bool, refused: _Refused) -> Iterator[Connection]:
        try:
            with self._lent(writes) as connection:
                try:
                    with connection.begin():
                        yield connection
                except DBAPIError:
                    connection.invalidate()
                    raise
        except NoConnectionFree as error:
            raise (NotSaved if writes else StoreRefusal)("store_busy") from error
        except DBAPIError as error:
            refusal = postgres.refusal_of(error, writes) or refused(error)
            if refusal is None:
                raise
            raise refusal from error

    def _options(self, writes: bool) -> dict[str, Any]:
        if self.in_a_file:
            return {_WRITES: writes}
        return postgres.WRITING if writes else postgres.READING

    @property
    def in_a_file(self) -> bool:
        """Whether the store is a file of this machine (or in its memory)."""
        return self.engine.dialect.name == "sqlite"

    def now_ms(self) -> int:
        """Return a clock in milliseconds that all processes of the store share.

        In a file: the machine's, which never runs backwards and begins anew
        with the machine.  Otherwise the database's.
        """
        if self.in_a_file:
            return time.monotonic_ns() // 1_000_000
        with self.reading() as connection:
            return postgres.now_ms(connection)

    @contextmanager
    def _lent(self, writes: bool) -> Iterator[Connection]:
        """Lend a connection; of a file, one that writes and few that read are kept ready."""
        if self.path is None:
            with self.engine.connect() as connection:
                yield connection.execution_options(**self._options(writes))
            return
        if not writes:
            with self._lent_reader() as connection:
                yield connection
            return
        if self._writer is None:
            self._writer = self.engine.connect().execution_options(**self._options(writes))
        try:
            yield self._writer
        except BaseException:
            self._drop_writer()
            raise

    @contextmanager
    def _lent_reader(self) -> Iterator[Connection]:
        try:
            reader = self._readers.pop()
        except IndexError:
            reader = self.engine.connect().execution_options(**self._options(False))
        is_well = False
        try:
            yield reader
            is_well = True
        finally:
            if is_well and len(self._readers) < READERS_KEPT:
                self._readers.append(reader)
            else:
                reader.close()
            if self._is_closed:
                self._drop_readers()

    def _drop_readers(self) -> None:
        while self._readers:
            try:
                self._readers.pop().close()
            except IndexError:  # another thread took the last one
                return

    def _drop_writer(self) -> None:
        writer, self._writer = self._writer, None
        if writer is not None:
            writer.close()

    def begin_new_epoch(self) -> str:
        """Name a new epoch, after a restored backup: clients offer again."""
        fresh = str(uuid4())
        with self.writing() as connection:
            connection.execute(update(about).values(epoch=fresh))
        self.epoch = fresh
        return fresh

    def close(self) -> None:
        """Close every connection; one that is just writing is waited for."""
        self._is_closed = True
        self._drop_readers()
        is_quiet = self._lock.acquire(timeout=BUSY_SECONDS)
        try:
            self._drop_writer()
        finally:
            if is_quiet:
                self._lock.release()
        self.engine.dispose()


@lru_cache(maxsize=1)
def program_version() -> str:
    """Return the version of the installed program, for messages and stores."""
    try:
        return version("stancebook")
    except PackageNotFoundError:
        return "not installed"


def open_store(
    url_or_path: str | Path, side: str, *, schema: Schema = Schema()
) -> Store:
    """Open (or make) the store of ``side`` and bring its schema up to date.

    ``url_or_path`` is a file, ``:memory:``, or the URL of a server database.
    An older store is copied beside itself (``.before-<revision>``) before it
    is changed.  Raises StoreRefusal, and then leaves the file as it was:
    ``not_a_database``, ``not_a_stancebook_store``, ``store_of_other_side``,
    ``store_made_by_newer_program``, ``store_corrupt``, ``store_disk_full``,
    ``store_read_only``, ``store_unreadable``, ``store_folder_missing``; for a
    database server also ``database_…`` (see ``postgres``).
    """
    if side not in SIDES:
        raise ValueError(f"{side!r} is no side of Stancebook")
    url = _url(url_or_path)
    path = _path(url)
    if path is not None:
        examine(path)
    store = Store(_engine(url), side, path=path)
    try:
        _bring_up_to_date(store, schema)
    except BaseException as error:
        store.close()
        if isinstance(error, NotSaved):
            raise _as_opening(error) from error
        raise
    return store


def open_as_it_is(url: str, side: str, *, schema: Schema = Schema()) -> Store:
    """Open the store of a database server to read it, and change nothing.

    Raises StoreRefusal as ``open_store``, and ``store_form_differs`` where the
    program that serves it has not brought it up to date yet.
    """
    store = Store(_engine(_url(url)), side)
    try:
        with store.reading() as connection:
            revision = revision_of(connection)
            if revision is None:
                raise StoreRefusal("not_a_stancebook_store")
            _refuse_foreign(connection, side, revision, schema)
            if revision != schema.newest:
                raise StoreRefusal("store_form_differs", store_schema=revision, this_schema=schema.newest)
            row = connection.execute(select(about)).one()
            store.store_id, store.epoch = row.store_id, row.epoch
    except BaseException:
        store.close()
        raise
    return store


def _bring_up_to_date(store: Store, schema: Schema) -> None:
    with store.reading() as connection:
        revision = revision_of(connection)
        _refuse_foreign(connection, store.side, revision, schema)
        if not store.in_a_file:
            postgres.refuse_unsafe(connection)
    if revision != schema.newest:
        with store.writing() as connection:
            if not store.in_a_file:
                postgres.hold_migration(connection)
            # Another process may have migrated while we waited for the lock.
            revision = revision_of(connection)
            if revision != schema.newest:
                if revision is not None and store.path is not None:
                    back_up(store.path, schema.newest)
                upgrade(connection, store.side, schema)
                _say_who(connection, store.side)
    with store.reading() as connection:
        row = connection.execute(select(about)).one()
        store.store_id, store.epoch = row.store_id, row.epoch


def _refuse_foreign(
    connection: Connection, side: str, revision: str | None, schema: Schema
) -> None:
    if revision is None:
        if inspect(connection).get_table_names():
            raise StoreRefusal("not_a_stancebook_store")
        return
    row = connection.execute(
        select(about.c.store_kind, about.c.program)
    ).one_or_none()
    if row is None:
        raise StoreRefusal("not_a_stancebook_store")
    if row.store_kind != side:
        raise StoreRefusal("store_of_other_side", found=row.store_kind, wanted=side)
    if revision not in schema.known:
        raise StoreRefusal(
            "store_made_by_newer_program",
            store_program=row.program, store_schema=revision,
            this_program=program_version(), this_schema=schema.newest,
        )


def _say_who(connection: Connection, side: str) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    named = connection.execute(update(about).values(program=program_version()))
    if named.rowcount == 0:
        connection.execute(insert(about).values(
            store_id=str(uuid4()), store_kind=side, epoch=str(uuid4()),
            created_at=moment_text(now_here()), program=program_version(),
        ))


def _url(url_or_path: str | Path) -> URL:
    if isinstance(url_or_path, str) and "://" in url_or_path:
        return postgres.url_for(url_or_path)
    return URL.create("sqlite", database=str(url_or_path))


def _path(url: URL) -> Path | None:
    in_a_file = url.get_backend_name() == "sqlite"
    if not in_a_file or url.database in (None, "", ":memory:"):
        return None
    return Path(str(url.database))


def _engine(url: URL) -> Engine:
    if url.get_backend_name() != "sqlite":
        return postgres.engine_for(url)
    options: dict[str, Any] = {
        "connect_args": {"timeout": BUSY_SECONDS, "isolation_level": None},
        "hide_parameters": True,  # an error's text may end in a log
    }
    if _path(url) is None:
        options["poolclass"] = StaticPool
        options["connect_args"]["check_same_thread"] = False
    else:
        # The connection used last has what was read last still at hand.
        options["pool_use_lifo"] = True
    engine = create_engine(url, **options)
    event.listen(engine, "connect", _settings)
    event.listen(engine, "begin", _begin)
    return engine


def _settings(connection: Any, _record: object) -> None:
    for setting in (
        "foreign_keys = ON", "cell_size_check = ON", "trusted_schema = OFF",
        "journal_mode = WAL", "synchronous = FULL",
    ):
        connection.execute(f"PRAGMA {setting}")


def _begin(connection: Connection) -> None:
    if connection.get_execution_options().get(_WRITES, False):
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        run_words(connection, "BEGIN")


def _as_opening(error: NotSaved) -> StoreRefusal:
    codes = {"not_saved_disk_full": "store_disk_full", "not_saved": "store_unreadable"}
    return StoreRefusal(codes.get(error.code, error.code))
