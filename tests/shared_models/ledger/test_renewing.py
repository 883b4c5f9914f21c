"""A fresh data key: the same record under another key, or nothing changed at all."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from sqlalchemy import text

from shared_models.entries.signatures import private_text
from shared_models.ledger import renewing
from shared_models.ledger.opening import open_store
from shared_models.ledger.faults_of_storage import StoreRefusal
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.pins import PinRefusal
from shared_models.ledger.recovery_slots import RecoverySlots
from shared_models.ledger.renewing import renew_data_key
from shared_models.ledger.sealing import SealingRefusal
from shared_models.ledger.store import EntryStore
from shared_models.ledger.sync_states import SyncState
from shared_models.ledger.tables import tables_of
from tests.shared_models.making import CHEAP, CLINIC, Chain, patience

LEAD, OTHER, THIRD = "481502", "730264", "905518"
PHOTO = b"the sole of a left shoe, " * 30_000


@pytest.fixture
def found(tmp_path):
    """A tablet's file with something sealed in each of its places; its slots, and the lead's keys."""
    store = open_store(tmp_path / "tablet.sqlite", "tablet")
    slots = KeySlots(store, CHEAP)
    slots.seconds = patience()
    lead = slots.begin("lead", LEAD)
    slots.add_person(lead, "technician", OTHER)
    slots.add_person(lead, "prosthetist", THIRD)
    RecoverySlots(store, slots, CHEAP).new_code(lead, "technician")
    entries, chain = EntryStore(store, lead.codec), Chain()
    chain.grown(70)
    entries.add_all(chain.entries, [chain.head()])
    entries.keep_draft("fitting/fitting-1/alignment/static", {"load_line_offset_mm": "-12"})
    entries.keep_attachment(PHOTO)
    entries.keep_device("tablet-a", chain.key)
    entries.keep_sync_state(SyncState(CLINIC, "epoch", 3, access={"token": "t"}))
    yield store, slots, lead
    store.close()


def read(store, codec):
    """Everything that an open store shows, in plain."""
    entries = EntryStore(store, codec)
    photo = next(iter(entries.attachments()))
    return (
        [e.digest for e in entries.chain(CLINIC, "tablet-a", 1)], entries.attachment(photo),
        entries.draft("fitting/fitting-1/alignment/static"), private_text(entries.device_key()),
        entries.sync_state(CLINIC), len(entries.signatures(CLINIC)),
    )


def sealed_rows(path):
    """What lies sealed in the file, column by column."""
    with closing(sqlite3.connect(path)) as connection:
        return {
            (table.name, column.name): connection.execute(f"SELECT {column.name} FROM {table.name}").fetchall()
            for table in tables_of("tablet") for column in table.columns
            if column.name in ("content", "sealed", "sealed_signing_key")
        }


def test_the_same_record_opens_with_the_same_pin_under_another_key(found):
    store, slots, lead = found
    before, sealed = read(store, lead.codec), sealed_rows(store.path)
    renew_data_key(store, slots, {"lead": LEAD})
    again = slots.unlock("lead", LEAD)
    assert again.data_key != lead.data_key
    assert private_text(again.signing_key) == private_text(lead.signing_key)
    assert read(store, again.codec) == before
    after = sealed_rows(store.path)
    assert {place: len(rows) for place, rows in after.items()} == {place: len(rows) for place, rows in sealed.items()}
    assert all(not set(after[place]) & {row for row in rows if row[0] is not None} for place, rows in sealed.items())


def test_who_knows_the_old_key_reads_nothing_that_lies_in_the_file(found):
    store, slots, lead = found
    renew_data_key(store, slots, {"lead": LEAD})
    with pytest.raises(StoreRefusal, match="record_damaged"):
        read(store, lead.codec)
    with pytest.raises(SealingRefusal):
        EntryStore(store, lead.codec).device_key()


def test_nothing_of_what_was_sealed_before_is_left_in_the_file(found):
    store, slots, _ = found
    old = [row[0] for rows in sealed_rows(store.path).values() for row in rows if row[0] is not None]
    assert renew_data_key(store, slots, {"lead": LEAD})
    store.close()
    files = b"".join(path.read_bytes() for path in store.path.parent.iterdir() if path.is_file())
    assert len(old) > 70 and not [sealed for sealed in old if sealed[:200] in files]


def test_whoever_gives_a_pin_beside_keeps_pin_and_key_and_everybody_else_gets_a_new_one(found):
    store, slots, _ = found
    before = slots.unlock("technician", OTHER)
    renew_data_key(store, slots, {"lead": LEAD, "technician": OTHER})
    kept = slots.unlock("technician", OTHER)
    assert private_text(kept.signing_key) == private_text(before.signing_key)
    with pytest.raises(PinRefusal, match="pin_locked"):
        slots.unlock("prosthetist", THIRD)
    slots.give_new_pin(kept, "prosthetist", "640917")
    assert slots.unlock("prosthetist", "640917").data_key == kept.data_key


def test_a_recovery_code_made_before_opens_nothing_any_more(found):
    store, slots, _ = found
    renew_data_key(store, slots, {"lead": LEAD})
    assert not RecoverySlots(store, slots, CHEAP).has_code("technician")


def test_a_wrong_pin_of_one_of_several_changes_nothing(found):
    store, slots, lead = found
    before, sealed = read(store, lead.codec), sealed_rows(store.path)
    with pytest.raises(PinRefusal, match="wrong_pin"):
        renew_data_key(store, slots, {"lead": LEAD, "technician": THIRD})
    assert (read(store, lead.codec), sealed_rows(store.path)) == (before, sealed)


@pytest.mark.parametrize("table, column", [
    ("entry", "content"), ("signature", "content"), ("draft", "content"), ("attachment_piece", "content"),
    ("sync_state", "sealed"), ("device", "sealed_signing_key"),
])
def test_a_row_that_does_not_open_leaves_every_row_as_it_was(found, table, column):
    store, slots, _ = found
    with store.writing() as connection:
        connection.execute(text(f"UPDATE {table} SET {column} = zeroblob(60) WHERE rowid = (SELECT max(rowid) FROM {table})"))
    sealed = sealed_rows(store.path)
    with pytest.raises(SealingRefusal, match="content_damaged"):
        renew_data_key(store, slots, {"lead": LEAD})
    assert sealed_rows(store.path) == sealed
    assert slots.unlock("prosthetist", THIRD).data_key == slots.unlock("lead", LEAD).data_key


def test_every_sealed_column_of_a_tablet_is_named():
    named = {(place.table.name, place.content) for place in renewing.SEALED} | {("attachment_piece", "content")}
    there = {
        (table.name, column.name) for table in tables_of("tablet") for column in table.columns
        if column.type.python_type is bytes and not column.name.startswith(("wrapped_", "salt"))
    }
    assert named == there
