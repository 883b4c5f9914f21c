"""``stancebook verify`` finds every row that was edited, taken away or cut off, and names it."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from shared_models.entries.signatures import public_text
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.sealing import Plain
from shared_models.ledger.store import EntryStore
from shared_models.verify_command import main
from shared_models.wording import verifying
from tests.shared_models.making import CHEAP, CLINIC, Chain
from tests.sync_server.conftest import copy_rows

ROWS = 1000
#: Every row: STANCEBOOK_EVERY_ROW=1. Otherwise first, last and some between, by a seed.
EVERY = os.environ.get("STANCEBOOK_EVERY_ROW") == "1"
PIN = "481502"


def sampled(count: int) -> list[int]:
    if EVERY:
        return list(range(1, ROWS + 1))
    return sorted({1, 2, ROWS // 2, ROWS - 1, ROWS, *random.Random(20).sample(range(1, ROWS), count)})


def first(said: str) -> str:
    return said.partition("The first:\n")[2].partition("\n")[0]


def a_clinic(store: EntryStore) -> Chain:
    """A server's chain with clinic, staff and tablet, and a tablet's of 1 000 entries."""
    server = Chain("server-1")
    server.add("clinic", subject={"type": "clinic", "id": CLINIC}, body={"name": "Example"})
    tablet = Chain("tablet-a")
    for chain in (server, tablet):
        server.add("tablet", subject={"type": "tablet", "id": chain.tablet},
                   body={"name": chain.tablet, "public_key": public_text(chain.key)})
    tablet.add_staff_key()
    tablet.grown(ROWS - 1)
    heads = [tablet.head(tablet.entries[n]) for n in (*range(99, ROWS - 1, 100), ROWS - 1)]
    store.add_all(server.entries, [server.head()])
    store.add_all(tablet.entries, [*heads, tablet.signed_off(tablet.entries[500])])
    return tablet


@pytest.fixture(scope="module")
def sound(tmp_path_factory) -> tuple[Path, Chain]:
    path = tmp_path_factory.mktemp("sound") / "server.sqlite"
    store = open_store(path, "server")
    chain = a_clinic(EntryStore(store, Plain()))
    store.close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path, chain


@pytest.fixture(scope="module")
def sound_database(sound, postgres):
    """The same store in a PostgreSQL, copied for each test."""
    name = postgres.database()
    copy_rows(open_store(sound[0], "server"), open_store(postgres.url(name), "server"))
    yield name
    postgres.drop(name)


def in_postgresql(words: str) -> str:
    """Say a change in the words of a PostgreSQL."""
    edited = r"CAST\(replace\(content, ('[^']*'), ('[^']*')\) AS BLOB\)"
    return re.sub(edited, r"convert_to(replace(convert_from(content, 'UTF8'), \1, \2), 'UTF8')", words).replace("?", "%s")


@pytest.fixture
def tamper(sound, tmp_path, capsys, store_kind, request):
    """Change a copy by SQL; return exit code and what was said."""
    made: list[str] = []

    def in_a_file(statements) -> str:
        copy = tmp_path / "copy.sqlite"
        shutil.copy(sound[0], copy)
        with closing(sqlite3.connect(copy)) as connection, connection:
            for words, values in statements:
                assert connection.execute(words, values).rowcount > 0, words
        return str(copy)

    def in_a_database(statements) -> str:
        import psycopg

        postgres = request.getfixturevalue("postgres")
        made.append(postgres.database(request.getfixturevalue("sound_database")))
        with psycopg.connect(postgres.url(made[-1])) as connection:
            for words, values in statements:
                assert connection.execute(in_postgresql(words), values).rowcount > 0, words
        return postgres.url(made[-1])

    def act(*statements: tuple[str, tuple], more: tuple[str, ...] = ()) -> tuple[int, str]:
        where = in_a_database(statements) if store_kind == "postgresql" else in_a_file(statements)
        code = main([where, *more])
        return code, capsys.readouterr().out

    yield act
    for name in made:
        request.getfixturevalue("postgres").drop(name)


def test_a_sound_store_is_said_to_be_sound(sound, capsys):
    before = sound[0].read_bytes()
    assert main([str(sound[0])]) == 0
    assert "1003 entries in 2 chains and 12 signatures" in capsys.readouterr().out
    assert sound[0].read_bytes() == before, "looking changes nothing"


@pytest.mark.both_stores
def test_a_sound_store_is_said_to_be_sound_on_either_kind_of_store(tamper):
    code, said = tamper()
    assert code == 0 and "1003 entries in 2 chains and 12 signatures" in said


@pytest.mark.both_stores
@pytest.mark.parametrize("number", sampled(1))
def test_an_edited_row_is_found_and_named(tamper, number):
    code, said = tamper((
        "UPDATE entry SET content = CAST(replace(content, 'entry', 'Entry') AS BLOB) WHERE tablet = 'tablet-a' AND number = ?"
        if number > 1 else
        "UPDATE entry SET content = CAST(replace(content, 'staff-1', 'staff-2') AS BLOB) WHERE tablet = 'tablet-a' AND number = ?",
        (number,),
    ))
    assert code == 3 and f"Entry {number} of tablet-a" in first(said), said


@pytest.mark.both_stores
@pytest.mark.parametrize("number", sampled(1))
def test_a_removed_row_is_found_and_named(tamper, number):
    code, said = tamper(("DELETE FROM entry WHERE tablet = 'tablet-a' AND number = ?", (number,)))
    assert code == 3
    if number < ROWS:
        assert f"Entry {number} of tablet-a" in first(said), said
    else:  # the tail: what signed it is left behind
        assert "signature" in said.lower(), said


@pytest.mark.both_stores
@pytest.mark.parametrize("number", sampled(1))
def test_a_tail_cut_off_with_all_its_signatures_is_found_by_a_head_that_a_server_holds(sound, tamper, tmp_path, number):
    _, chain = sound
    last = chain.entries[-1]
    heads = tmp_path / "standing.json"
    heads.write_text(json.dumps({
        "format": 1, "clinic": CLINIC, "epoch": "e", "program": "0", "last": 0, "branches": [],
        "chains": {"tablet-a": {"number": last.number, "digest": last.digest}},
    }))
    cut = (
        ("DELETE FROM signature WHERE signs IN (SELECT digest FROM entry WHERE tablet = 'tablet-a' AND number >= ?)", (number,)),
        ("DELETE FROM entry WHERE tablet = 'tablet-a' AND number >= ?", (number,)),
    )
    code, said = tamper(*cut, more=("--heads", str(heads)))
    assert code == 3 and f"Entry {ROWS} of tablet-a" in said and "cut off" in said


@pytest.mark.both_stores
@pytest.mark.parametrize("column, value", [
    ("subject_id", "'fitting-2'"), ("kind", "'other'"), ("clock", "'0'"), ("entry_id", "'x'"),
    ("previous", "digest"), ("number", "5000"), ("tablet", "'tablet-b'"), ("clinic", "'elsewhere'"),
    ("server_sequence", "server_sequence + 5000"), ("digest", "replace(digest, 'a', 'b')"),
])
def test_a_readable_column_that_was_edited_is_found(tamper, column, value):
    code, said = tamper((f"UPDATE entry SET {column} = {value} WHERE tablet = 'tablet-a' AND number = 700", ()))
    assert code == 3 and ("700" in said or "704" in said), said


@pytest.mark.both_stores
@pytest.mark.parametrize("change", [
    "UPDATE signature SET content = CAST(replace(content, 'Ansa', 'Anna') AS BLOB) WHERE signer_type = 'staff'",
    "UPDATE signature SET signer = 'staff-9' WHERE signer_type = 'staff'",
    "DELETE FROM signature WHERE signer_type = 'staff'",
    "DELETE FROM signature WHERE signer = 'tablet-a' AND server_sequence = (SELECT max(server_sequence) FROM signature WHERE signer = 'tablet-a' AND signer_type = 'tablet')",
    "UPDATE clinic_sequence SET last = last - 1",
])
def test_a_signature_that_was_edited_moved_or_taken_away_is_found(tamper, change):
    code, said = tamper((change, ()))
    assert code == 3, said


def test_a_page_damaged_on_the_disk_is_a_clean_refusal_or_a_finding(sound, tmp_path, capsys):
    data = bytearray(sound[0].read_bytes())
    for offset in range(4096 * 20, 4096 * 20 + 400):
        data[offset] ^= 0xFF
    path = tmp_path / "damaged.sqlite"
    path.write_bytes(data)
    assert main([str(path)]) in (1, 3)
    said = capsys.readouterr()
    assert "Traceback" not in said.out + said.err


def test_a_tablets_store_is_looked_over_with_a_pin_and_counts_no_wrong_try(tmp_path, capsys):
    path = tmp_path / "tablet.sqlite"
    store = open_store(path, "tablet")
    keys = KeySlots(store, CHEAP).begin("staff-1", PIN)
    entries = EntryStore(store, keys.codec)
    chain = a_clinic(entries)
    entries.keep_device("tablet-a", chain.key)
    entries.keep_draft("fitting/fitting-1/note", {"text": "half a word"})
    photo = entries.keep_attachment(b"picture" * 100)
    store.close()
    right, wrong = tmp_path / "right", tmp_path / "wrong"
    right.write_text(PIN)
    wrong.write_text("739164")
    assert main([str(path), "--pin-file", str(wrong)]) == 1
    assert main([str(path), "--pin-file", str(right)]) == 0, capsys.readouterr()
    with closing(sqlite3.connect(path)) as connection, connection:
        assert connection.execute("SELECT wrong_tries FROM key_slot").fetchone() == (0,)
        connection.execute("UPDATE entry SET content = zeroblob(200) WHERE number = 30 AND tablet = 'tablet-a'")
        connection.execute("UPDATE draft SET content = zeroblob(60)")
        connection.execute("UPDATE attachment_piece SET content = zeroblob(60)")
    capsys.readouterr()
    assert main([str(path), "--pin-file", str(right)]) == 3
    said = capsys.readouterr().out
    assert "Entry 30 of tablet-a" in first(said)
    assert "draft" in said and photo[:12] in said


def test_what_is_no_store_is_refused_with_a_sentence(tmp_path, capsys):
    path = tmp_path / "no"
    path.write_text("no store")
    assert main([str(path)]) == 1 and main([str(tmp_path / "nowhere")]) == 1
    assert "no Stancebook store" in capsys.readouterr().err


def test_every_finding_is_worded():
    assert all(words and not words.endswith(".") for words in verifying.SENTENCES.values())
