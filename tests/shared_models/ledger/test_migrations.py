"""Migrations: the models and the revisions agree, and no old store is lost."""

import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Column, Integer, MetaData, Table, inspect

import shared_models.ledger.migrations as migrations
from shared_models.ledger.opening import open_store
from shared_models.ledger.faults_of_storage import StoreRefusal
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.schema import KNOWN_REVISIONS, Schema
from shared_models.ledger.sealing import Plain, Sealed
from shared_models.ledger.store import EntryStore
from shared_models.ledger.tables import SIDES, metadata_of
from tests.shared_models.ledger.released.make_released import PHOTO, PIN
from tests.shared_models.making import CHEAP, DATA_KEY, unzipped

RELEASED = Path(__file__).parent / "released"


def differences(connection, metadata: MetaData) -> list:
    """Return how the database differs from the models."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    context = MigrationContext.configure(connection, opts={"compare_type": True})
    found = list(compare_metadata(context, metadata))
    there = inspect(connection)
    for table in metadata.sorted_tables:
        if not there.has_table(table.name):
            continue  # found above
        keys = there.get_pk_constraint(table.name)["constrained_columns"]
        if keys != [column.name for column in table.primary_key.columns]:
            found.append(("primary key", table.name, keys))
    return found


@pytest.mark.parametrize("side", SIDES)
def test_an_upgraded_store_has_the_tables_of_the_models(tmp_path, side):
    store = open_store(tmp_path / "store.sqlite", side)
    with store.reading() as connection:
        assert differences(connection, metadata_of(side)) == []


@pytest.mark.parametrize("side", SIDES)
def test_a_model_without_its_migration_is_noticed(tmp_path, side):
    store = open_store(tmp_path / "store.sqlite", side)
    changed = metadata_of(side)
    changed.tables["entry"].append_column(Column("forgotten", Integer))
    Table("forgotten_table", changed, Column("id", Integer, primary_key=True))
    with store.reading() as connection:
        assert len(differences(connection, changed)) == 2


def test_every_revision_is_known_to_the_program():
    names = {path.stem for path in Path(migrations.__path__[0]).glob("versions/rev*.py")}
    assert names == {f"revision_{revision}" for revision in KNOWN_REVISIONS}


def raw_digests(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT digest FROM entry ORDER BY digest")
        return [row[0] for row in rows]


def codec_of(side: str):
    return Plain() if side == "server" else Sealed(DATA_KEY)


@pytest.mark.parametrize("revision", KNOWN_REVISIONS)
@pytest.mark.parametrize("side", SIDES)
def test_a_store_of_each_released_schema_opens_with_all_its_entries(
    tmp_path, revision, side
):
    packed = RELEASED / f"{revision}-{side}.sqlite.gz"
    path = unzipped(packed, tmp_path / "store.sqlite")
    before = raw_digests(path)
    store = EntryStore(open_store(path, side), codec_of(side))
    assert sorted(entry.digest for entry in store.entries()) == before
    assert store.count() == len(before) == 40
    assert len(store.signatures()) == 2
    if side == "tablet":
        assert store.draft("fitting/fitting-1/note") == {"text": "half a word"}
        assert store.device_key() is not None
        kept = {digest: store.attachment(digest) for digest in store.attachments()}
        assert list(kept.values()) == ([] if revision == "0001" else [PHOTO])
        assert KeySlots(open_store(path, side), CHEAP).unlock("staff-1", PIN)


@pytest.fixture
def next_schema(tmp_path) -> Schema:
    """A later program's revisions: 0002 makes the entry table over."""
    folder = tmp_path / "later"
    shutil.copytree(migrations.__path__[0], folder)
    (folder / "versions" / "revision_9999.py").write_text(
        'import sqlalchemy as sa\n'
        'from alembic import op\n'
        'revision = "9999"\n'
        f'down_revision = "{KNOWN_REVISIONS[-1]}"\n'
        'def upgrade():\n'
        '    with op.batch_alter_table("entry", recreate="always") as batch:\n'
        '        batch.add_column(sa.Column("later", sa.Integer(), nullable=True))\n'
        '    op.create_table("later", sa.Column("id", sa.Integer(), primary_key=True))\n'
    )
    return Schema(str(folder), (*KNOWN_REVISIONS, "9999"))


KILLED = """
import os, signal, sys
from sqlalchemy import Engine, event
from shared_models.ledger.opening import open_store
from shared_models.ledger.schema import Schema
path, location, known, at = sys.argv[1:]
seen = 0
@event.listens_for(Engine, "before_cursor_execute")
def count(connection, cursor, statement, *rest):
    global seen
    if statement.startswith("BEGIN IMMEDIATE") or seen:
        seen += 1
        if seen == int(at):
            os.kill(os.getpid(), signal.SIGKILL)
open_store(path, "tablet", schema=Schema(location, tuple(known.split(","))))
print("whole", flush=True)
"""


def upgrade_and_die(path: Path, schema: Schema, at: int) -> bool:
    """Upgrade in another process killed at its n-th statement; tell if it died."""
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(path), schema.script_location,
         ",".join(schema.known), str(at)],
        capture_output=True, text=True, timeout=120,
    )
    assert done.returncode in (0, -signal.SIGKILL), done.stderr
    return done.returncode != 0


@pytest.mark.parametrize("at", [2, 6, 9, 12, 15, 18])
def test_a_migration_killed_half_way_leaves_the_old_store_and_works_next_time(
    tmp_path, next_schema, at
):
    path = unzipped(
        RELEASED / f"{KNOWN_REVISIONS[-1]}-tablet.sqlite.gz", tmp_path / "store.sqlite"
    )
    before = raw_digests(path)
    assert upgrade_and_die(path, next_schema, at)
    old = EntryStore(open_store(path, "tablet"), Sealed(DATA_KEY))
    assert sorted(entry.digest for entry in old.entries()) == before
    old._store.close()
    new = EntryStore(open_store(path, "tablet", schema=next_schema), Sealed(DATA_KEY))
    assert sorted(entry.digest for entry in new.entries()) == before
    with pytest.raises(StoreRefusal) as caught:
        open_store(path, "tablet")
    assert caught.value.code == "store_made_by_newer_program"


@pytest.mark.parametrize("at", [2, 5, 12, 20])
def test_a_new_store_killed_while_it_is_made_is_made_the_next_time(tmp_path, at):
    path = tmp_path / "store.sqlite"
    assert upgrade_and_die(path, Schema(), at)
    assert open_store(path, "tablet").epoch


def test_an_older_store_is_copied_before_it_is_changed(tmp_path, next_schema):
    path = unzipped(
        RELEASED / f"{KNOWN_REVISIONS[-1]}-tablet.sqlite.gz", tmp_path / "store.sqlite"
    )
    before = raw_digests(path)
    open_store(path, "tablet", schema=next_schema)
    copy = tmp_path / "store.sqlite.before-9999"
    assert raw_digests(copy) == before
    kept = EntryStore(open_store(copy, "tablet"), Sealed(DATA_KEY))
    assert len(kept.entries()) == len(before)
