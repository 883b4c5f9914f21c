"""A tablet's file that is damaged: what was not sent yet comes out of it and reaches the server."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing

import pytest

from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.rescuing import rescue
from shared_models.quantities.refusals import Refusal
from shared_models.verify_command import main
from tests.faults import moves
from tests.faults.invariants import heal, look, sound_file
from tests.faults.rows_struck import PHOTO
from tests.faults.world import FITTING, PIN, STAFF, opened


def by_pin(store):
    return KeySlots(store).unlock(STAFF, PIN).codec


@pytest.fixture
def path(world):
    """The closed file of a tablet with entries that were sent, a photo, and eleven that were not."""
    tablet = world.tablets[0]
    for _ in range(30):
        moves.record(world, tablet)
    world.sync(tablet)
    world.sync(world.tablets[1])
    with world.clocks.turn_of("a"):
        digest = tablet.session.entries.keep_attachment(PHOTO)
        world.told_saved(tablet.session.save("photo", FITTING, {
            "photo": "photo-1", "shows": "other", "sha256": digest, "media_type": "image/jpeg",
            "size_kb": "640", "width_px": "800", "height_px": "600",
        }), tablet)
    for _ in range(10):
        moves.record(world, tablet)
    tablet.session.keep_draft("fitting/f/body", {"body_mass_kg": "8"})
    tablet.tablet.close()
    return tablet.tablet.path


def put_in_place(world, fresh):
    tablet = world.tablets[0]
    for tail in ("", "-wal", "-shm"):
        (tablet.folder / f"{tablet.tablet.path.name}{tail}").unlink(missing_ok=True)
    shutil.move(fresh, tablet.tablet.path)
    with world.clocks.turn_of("a"):
        tablet.tablet, tablet.session = opened(tablet.folder)


def rowids(path, where):
    with closing(sqlite3.connect(path)) as raw:
        return [row[0] for row in raw.execute(f"SELECT rowid FROM entry WHERE {where} ORDER BY number")]


def test_a_sound_file_comes_out_whole(world, path):
    found = rescue(path, path.with_name("fresh"), by_pin)
    assert (found.unreadable, found.aside, found.photos, found.unsent) == (0, (), 1, 11)
    assert found.entries == len(rowids(path, "true"))
    put_in_place(world, path.with_name("fresh"))
    session = world.tablets[0].session
    assert session.draft("fitting/f/body") == {"body_mass_kg": "8"}
    assert look(world, heal(world)).broken == []


def test_what_was_sent_and_is_gone_comes_back_and_what_was_not_sent_goes_up(world, path):
    """Pages with entries that the server has are wiped: file and chain are broken, nothing is lost."""
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        raw.execute("UPDATE entry SET content = zeroblob(40) WHERE tablet = 'tablet-a' AND number BETWEEN 12 AND 20")
        raw.execute("DELETE FROM entry WHERE tablet = 'tablet-a' AND number BETWEEN 21 AND 24")
        raw.commit()
    with pytest.raises(Refusal):
        opened(path.parent)[1].fitting(FITTING.id)
    found = rescue(path, path.with_name("fresh"), by_pin)
    assert found.aside == () and found.unsent == 11 and found.unreadable == 9
    put_in_place(world, path.with_name("fresh"))
    assert look(world, heal(world)).broken == []


def test_pages_turned_to_noise_are_passed_over_and_the_rest_comes_out(world, path):
    chance = world.chance
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        size = raw.execute("PRAGMA page_size").fetchone()[0]
    whole, before = path.read_bytes(), {e.digest for e in _entries(path)}
    outcomes = set()
    for page in range(1, len(whole) // size, 4):
        path.write_bytes(whole[:page * size] + chance.randbytes(size) + whole[(page + 1) * size:])
        try:
            found = rescue(path, path.with_name("fresh"), by_pin)
        except Refusal as refusal:
            outcomes.add(refusal.code)
            assert not path.with_name("fresh").exists()
            continue
        outcomes.add("rescued")
        assert sound_file(path.with_name("fresh")) == ""
        there = {e.digest for e in _entries(path.with_name("fresh"))}
        assert there <= before and len(there) == found.entries
        path.with_name("fresh").unlink()
    assert "rescued" in outcomes and outcomes <= {"rescued", "rescue_no_keys", "no_pin_here", "wrong_pin"}
    path.with_name("fresh").write_bytes(whole)
    put_in_place(world, path.with_name("fresh"))


def _entries(path):
    from shared_models.ledger.opening import open_store
    from shared_models.ledger.store import EntryStore

    store = open_store(path, "tablet")
    try:
        return EntryStore(store, by_pin(store)).entries()
    finally:
        store.close()


def test_a_file_that_is_not_there_or_no_tablets_is_refused_in_words(world, path, tmp_path, capsys):
    for strange in (tmp_path / "none", world.server.path):
        assert main([str(strange), "--rescue-to", str(tmp_path / "fresh")]) == 1
        assert "no tablet's store" in (said := capsys.readouterr().err) or "no Stancebook store" in said
        assert not (tmp_path / "fresh").exists()
    put_in_place(world, path.rename(path.with_name("fresh")))


def test_what_lies_behind_a_hole_is_set_aside_and_named(world, path, tmp_path, capsys):
    """A chain goes up without holes; what can't go any more is written out, to be recorded again."""
    with closing(sqlite3.connect(path)) as raw:
        last = raw.execute("SELECT max(number) FROM entry WHERE tablet = 'tablet-a'").fetchone()[0]
        raw.execute("DELETE FROM entry WHERE tablet = 'tablet-a' AND number = ?", (last - 3,))
        raw.commit()
    pin = tmp_path / "pin"
    pin.write_text(PIN)
    fresh, aside = path.with_name("fresh"), tmp_path / "aside.jsonl"
    told = [str(path), "--rescue-to", str(fresh), "--staff", STAFF, "--pin-file", str(pin), "--set-aside", str(aside)]
    assert main(told) == 3
    said = capsys.readouterr().out
    assert "7 own entries wait to be sent" in said and "3 own entries lie behind one that is gone" in said
    assert len(aside.read_text().splitlines()) == 3 and aside.stat().st_mode & 0o77 == 0
    assert main(told) == 1 and "already" in capsys.readouterr().err
    put_in_place(world, fresh)
    heal(world)
    gone = [s.entry.number for s in world.saved if s.entry.digest not in world.on_server()]
    assert gone == [last - 3, last - 2, last - 1, last]
