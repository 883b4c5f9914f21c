"""A store's connections: their settings, and its transactions.

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
from pathlib import Path
from typing import Any, Callable, Iterator
from uuid import uuid4

from sqlalchemy import Connection, Engine, create_engine, event, update
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
from shared_models.ledger.tables import about
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


def url_of(url_or_path: str | Path) -> URL:
    """Return the URL of a store that is named by a URL, a file or ``:memory:``."""
    if isinstance(url_or_path, str) and "://" in url_or_path:
        return postgres.url_for(url_or_path)
    return URL.create("sqlite", database=str(url_or_path))


def path_of(url: URL) -> Path | None:
    """Return the file of a store, or None where it is in memory or in a server database."""
    in_a_file = url.get_backend_name() == "sqlite"
    if not in_a_file or url.database in (None, "", ":memory:"):
        return None
    return Path(str(url.database))


def engine_for(url: URL) -> Engine:
    """Return what makes connections with the settings that durability rests on."""
    if url.get_backend_name() != "sqlite":
        return postgres.engine_for(url)
    options: dict[str, Any] = {
        "connect_args": {"timeout": BUSY_SECONDS, "isolation_level": None},
        "hide_parameters": True,  # an error's text may end in a log
    }
    if path_of(url) is None:
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
