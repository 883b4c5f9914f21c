"""A photo's bytes: whole or not there, sealed, never overwritten, gone when nothing names them."""

from __future__ import annotations

import hashlib
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing

import pytest
from sqlalchemy import event, text

from shared_models.ledger.attachments import PIECE_BYTES
from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.ledger.sealing import Locked, SealingRefusal
from shared_models.ledger.store import EntryStore
from tests.shared_models.making import Chain, opened, tablet_store

SIZES = (0, 1, PIECE_BYTES - 1, PIECE_BYTES, PIECE_BYTES + 1, 3 * PIECE_BYTES + 17)


@pytest.fixture
def tablet(tmp_path):
    store = tablet_store(tmp_path)
    yield store
    opened(store).close()


@pytest.mark.parametrize("size", SIZES)
def test_a_photo_comes_back_byte_for_byte_under_its_digest(tablet, size):
    data = random.Random(size).randbytes(size)
    shares = []
    digest = tablet.keep_attachment(data, shares.append)
    assert digest == hashlib.sha256(data).hexdigest()
    assert tablet.attachment(digest) == data
    assert tablet.attachments() == {digest: size}
    assert shares[-1] == 1 and shares == sorted(shares)


def test_nothing_of_a_photo_can_be_read_in_the_file_or_before_unlocking(tablet, tmp_path):
    data = b"the sole of a left shoe, " * 20_000
    digest = tablet.keep_attachment(data)
    with pytest.raises(SealingRefusal):
        EntryStore(opened(tablet), Locked()).attachment(digest)
    opened(tablet).close()
    files = [path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()]
    assert files and not any(b"left shoe" in found for found in files)


def test_the_same_photo_twice_is_kept_once_and_stays_as_it_was(tablet):
    data = os.urandom(PIECE_BYTES + 5)
    digest = tablet.keep_attachment(data)
    with opened(tablet).reading() as connection:
        before = connection.execute(text("SELECT * FROM attachment_piece")).all()
    assert tablet.keep_attachment(data) == digest
    with opened(tablet).reading() as connection:
        assert connection.execute(text("SELECT * FROM attachment_piece")).all() == before


def test_an_entry_that_names_a_photo_is_saved_only_with_the_photo_whole(tablet):
    chain = Chain()
    entry, digest = chain.add(), hashlib.sha256(b"photo").hexdigest()
    with pytest.raises(NotSaved) as caught:
        tablet.append(entry, attached=[digest])
    assert caught.value.code == "attachment_not_whole" and tablet.count() == 0
    tablet.keep_attachment(b"photo")
    tablet.append(entry, attached=[digest])
    assert tablet.count() == 1


def test_a_cancelled_photo_leaves_nothing(tablet):
    asked = iter([False, False, True])
    with pytest.raises(NotSaved) as caught:
        tablet.keep_attachment(os.urandom(5 * PIECE_BYTES), is_cancelled=lambda: next(asked))
    assert caught.value.code == "attachment_cancelled"
    assert pieces_in(tablet) == set() and tablet.attachments() == {}


def test_a_piece_moved_to_another_place_or_changed_does_not_open(tablet):
    digest = tablet.keep_attachment(os.urandom(2 * PIECE_BYTES))
    path = opened(tablet).path
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE attachment_piece SET content = (SELECT content FROM attachment_piece WHERE number = 1) WHERE number = 0")
        connection.commit()
    with pytest.raises(SealingRefusal):
        tablet.attachment(digest)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DELETE FROM attachment_piece WHERE number = 0")
        connection.commit()
    with pytest.raises(StoreRefusal) as caught:
        tablet.attachment(digest)
    assert caught.value.code == "attachment_damaged"


def test_a_disk_full_of_a_photo_keeps_nothing_half_and_works_again_with_room(tablet):
    store, limit = opened(tablet), {"pages": 0}
    event.listen(store.engine, "connect", lambda connection, _: connection.execute(
        f"PRAGMA max_page_count = {limit['pages'] or 2**30}"
    ))
    with store.reading() as connection:
        limit["pages"] = connection.scalar(text("PRAGMA page_count")) + PIECE_BYTES * 2 // 4096
    store.close()
    data = os.urandom(4 * PIECE_BYTES)
    with pytest.raises(NotSaved) as caught:
        tablet.keep_attachment(data)
    assert caught.value.code == "not_saved_disk_full"
    assert pieces_in(tablet) == set() and tablet.attachments() == {}
    limit["pages"] = 0
    store.close()
    digest = tablet.keep_attachment(data)
    assert tablet.attachment(digest) == data


def test_what_nothing_names_is_taken_away_and_what_is_named_stays(tablet):
    named, drafted, loose = (tablet.keep_attachment(data) for data in (b"named", b"drafted", b"loose"))
    tablet.append(Chain().add(), attached=[named])
    assert tablet.drop_loose({drafted}) == 1
    assert tablet.attachment(named) == b"named" and tablet.attachment(drafted) == b"drafted"
    assert not tablet.has_attachment(loose)
    assert set(tablet.attachments(named=True)) == {named}


def test_tidying_up_while_a_photo_is_being_saved_never_leaves_half_of_it(tablet):
    def tidy(share: float) -> None:
        if share == 0.5:
            tablet.drop_loose()

    with pytest.raises(NotSaved) as caught:
        tablet.keep_attachment(os.urandom(4 * PIECE_BYTES), tidy)
    assert caught.value.code == "attachment_not_whole"
    assert pieces_in(tablet) == set() and tablet.attachments() == {}


def pieces_in(store) -> set[str]:
    """Return the digests that have any piece in the file."""
    with opened(store).reading() as connection:
        return set(connection.scalars(text("SELECT DISTINCT digest FROM attachment_piece")))


WRITER = """
import random, sys
from pathlib import Path
from shared_models.ledger.attachments import PIECE_BYTES
from tests.shared_models.making import Chain, tablet_store
store = tablet_store(Path(sys.argv[1]))
chain = Chain("tablet-a")
chain.entries = store.chain("clinic-north", "tablet-a")
chance = random.Random(int(sys.argv[2]))
print("ready", flush=True)
while True:
    digest = store.keep_attachment(chance.randbytes(8 * PIECE_BYTES))
    print("whole", digest, flush=True)
    store.append(chain.add(body={"sha256": digest}), attached=[digest])
    print("saved", digest, flush=True)
"""


@pytest.mark.parametrize("seed", [3, 29])
def test_a_tablet_killed_while_a_photo_is_saved_has_it_whole_or_not_at_all(tmp_path, seed):
    chance, saved, seen_cut_off = random.Random(seed), set(), 0
    for turn in range(5):
        child = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path), str(seed * 100 + turn)],
            stdout=subprocess.PIPE, text=True,
        )
        said = [child.stdout.readline() for _ in range(chance.randint(1, 6))]
        time.sleep(chance.random() / 20)
        child.send_signal(signal.SIGKILL)
        said += child.stdout.read().splitlines(keepends=True)
        child.wait()
        saved |= {line.split()[1] for line in said if line.startswith("saved") and line.endswith("\n")}
        store = tablet_store(tmp_path)
        named = {str(entry.body["sha256"]) for entry in store.entries()}
        assert saved <= named
        for digest in named:
            assert hashlib.sha256(store.attachment(digest)).hexdigest() == digest
        seen_cut_off += bool(pieces_in(store) - named)
        store.drop_loose()
        assert pieces_in(store) == named == set(store.attachments())
        with opened(store).reading() as connection:
            assert connection.scalar(text("PRAGMA integrity_check")) == "ok"
        opened(store).close()
    assert saved and seen_cut_off, "the test has to meet a save that was cut off"
