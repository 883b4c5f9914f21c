"""Opening a store: is it ours, is its form known, bringing it up to date."""

from __future__ import annotations

from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from uuid import uuid4

from sqlalchemy import Connection, insert, inspect, select, update

from shared_models.ledger import postgres
from shared_models.ledger.engine import Store, engine_for, path_of, url_of
from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.ledger.schema import Schema, revision_of, upgrade
from shared_models.ledger.store_file import APPLICATION_ID, back_up, examine
from shared_models.ledger.tables import SIDES, about
from shared_models.quantities.moments import moment_text, now_here


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
    url = url_of(url_or_path)
    path = path_of(url)
    if path is not None:
        examine(path)
    store = Store(engine_for(url), side, path=path)
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
    store = Store(engine_for(url_of(url)), side)
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


def _as_opening(error: NotSaved) -> StoreRefusal:
    codes = {"not_saved_disk_full": "store_disk_full", "not_saved": "store_unreadable"}
    return StoreRefusal(codes.get(error.code, error.code))
