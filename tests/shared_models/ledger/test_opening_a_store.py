"""Opening a store: what is refused, and that a refused file stays as it was."""

import sqlite3
from contextlib import closing

import pytest
from sqlalchemy import text

from shared_models.ledger.opening import open_store, program_version
from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.ledger.schema import Schema
from tests.shared_models.making import Chain, opened, server_store, tablet_store


def refused(path, side="tablet", **options):
    """Return the refusal; the file must be byte for byte what it was."""
    before = path.read_bytes()
    with pytest.raises(StoreRefusal) as caught:
        open_store(path, side, **options)
    assert path.read_bytes() == before
    return caught.value


def test_a_new_store_is_durable_at_each_commit(tmp_path):
    store = opened(tablet_store(tmp_path))
    with store.reading() as connection:
        setting = lambda name: connection.scalar(text(f"PRAGMA {name}"))  # noqa: E731
        assert setting("journal_mode") == "wal"
        assert setting("synchronous") == 2
        assert setting("foreign_keys") == 1
        assert setting("busy_timeout") > 0


def test_a_store_keeps_its_identity_and_epoch_when_opened_again(tmp_path):
    first = opened(server_store(tmp_path))
    again = opened(server_store(tmp_path))
    assert (first.store_id, first.epoch) == (again.store_id, again.epoch)
    fresh = again.begin_new_epoch()
    assert fresh != first.epoch
    assert opened(server_store(tmp_path)).epoch == fresh


def test_a_text_file_is_refused_as_no_database(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("a shopping list, and much else besides" * 50)
    assert refused(path).code == "not_a_database"


def test_another_programs_database_is_refused_and_left_alone(tmp_path):
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE songs (title TEXT)")
        connection.commit()
    assert refused(path).code == "not_a_stancebook_store"
    assert not path.with_name("other.sqlite-wal").exists()


def test_a_servers_store_is_refused_on_a_tablet(tmp_path):
    path = opened(server_store(tmp_path)).path
    refusal = refused(path)
    assert refusal.code == "store_of_other_side"
    assert refusal.figures == {"found": "server", "wanted": "tablet"}


def test_a_store_of_a_newer_program_is_refused_naming_both_versions(tmp_path):
    store = opened(tablet_store(tmp_path))
    with store.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0999'"))
        connection.execute(text("UPDATE about SET program = '9.8.7'"))
    store.close()
    refusal = refused(store.path)
    assert refusal.code == "store_made_by_newer_program"
    assert refusal.figures["store_program"] == "9.8.7"
    assert refusal.figures["store_schema"] == "0999"
    assert refusal.figures["this_program"] == program_version()
    assert refusal.figures["this_schema"] == Schema().newest


@pytest.mark.parametrize("page", range(1, 12))
def test_a_damaged_page_is_refused_on_opening_or_on_reading_the_entry(tmp_path, page):
    entry_store = tablet_store(tmp_path)
    chain = Chain().grown(60)
    entry_store.add_all(chain.entries)
    store = opened(entry_store)
    store.close()
    with closing(sqlite3.connect(store.path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    bytes_ = bytearray(store.path.read_bytes())
    start = page * 4096
    bytes_[start:start + 4096] = bytes(byte ^ 0x5A for byte in bytes_[start:start + 4096])
    store.path.write_bytes(bytes_)
    with pytest.raises(StoreRefusal) as caught:
        tablet_store(tmp_path).entries()
    assert caught.value.code in ("store_corrupt", "record_damaged")


def test_a_store_cut_short_is_refused_as_corrupt(tmp_path):
    store = opened(tablet_store(tmp_path))
    store.close()
    store.path.write_bytes(store.path.read_bytes()[:20_000])
    assert refused(store.path).code == "store_corrupt"


def test_an_empty_file_beside_a_full_log_is_not_taken_for_a_new_store(tmp_path):
    path = tmp_path / "tablet.sqlite"
    path.write_bytes(b"")
    log = tmp_path / "tablet.sqlite-wal"
    log.write_bytes(b"what was once recorded")
    assert refused(path).code == "store_corrupt"
    assert log.read_bytes() == b"what was once recorded"


def test_a_folder_that_is_missing_is_said(tmp_path):
    with pytest.raises(StoreRefusal) as caught:
        open_store(tmp_path / "nowhere" / "tablet.sqlite", "tablet")
    assert caught.value.code == "store_folder_missing"


def test_saving_to_a_store_that_may_not_be_written_is_refused(tmp_path):
    entry_store = tablet_store(tmp_path)
    chain = Chain().grown(2)
    entry_store.append(chain.entries[0])
    with opened(entry_store).writing() as connection:
        connection.exec_driver_sql("PRAGMA query_only = ON")
    with pytest.raises(NotSaved) as caught:
        entry_store.append(chain.entries[1])
    assert caught.value.code == "store_read_only"
    assert entry_store.count() == 1
    entry_store.append(chain.entries[1])  # the connection was opened afresh
    assert entry_store.count() == 2


def test_a_second_program_waits_for_its_turn_or_says_that_the_store_is_busy(tmp_path):
    entry_store = tablet_store(tmp_path)
    store = opened(entry_store)
    with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with store.engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA busy_timeout = 1")
        with pytest.raises(NotSaved) as caught:
            entry_store.append(Chain().add())
        assert caught.value.code == "store_busy"
        other.execute("ROLLBACK")
    entry_store.append(Chain().add())
