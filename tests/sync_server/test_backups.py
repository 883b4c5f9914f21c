"""Backups: made while the server runs, checked, put back with a new epoch, never over a store."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from shared_models.exchange import answers
from shared_models.ledger.columns import SERVER
from shared_models.ledger.opening import open_store
from shared_models.quantities.refusals import Refusal
from shared_models.wording.server_sentences import server_sentence
from sync_server.main import main
from sync_server.services import backing_up
from sync_server.services.soundness import UnsoundRefusal, check
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import CHEAP, Tablet, make_house


@pytest.fixture
def pushed(house, tablet):
    assert tablet.push().status_code == 200
    return tablet


def elsewhere(tmp_path: Path) -> Settings:
    (tmp_path / "new").mkdir(exist_ok=True)
    return Settings(store=str(tmp_path / "new" / "server.sqlite"), stretch=CHEAP)


def house_settings(house) -> Settings:
    return Settings(store=str(house.station.store.path), stretch=CHEAP)


def test_a_backup_made_while_tablets_push_is_one_moment_of_the_record(house, tablet, tmp_path):
    """Every push is there whole or not at all, whenever the copy was made."""
    own, made, refused = tablet.own(), [], []

    def push() -> None:
        for start in range(0, len(own), 5):
            if tablet.push(own[start:start + 5]).status_code != 200:
                refused.append(start)

    pushing = threading.Thread(target=push)
    pushing.start()
    while pushing.is_alive() and len(made) < 4:
        made.append(backing_up.back_up(house_settings(house), tmp_path / f"backup-{len(made)}"))
    pushing.join()
    assert made and not refused
    counts = [found[CLINIC].entries for found in made]
    assert counts == sorted(counts)
    for place in range(len(made)):
        store = open_store(tmp_path / f"backup-{place}" / backing_up.STORE, SERVER)
        assert check(store) == made[place]
        store.close()


def test_a_restored_server_has_a_new_epoch_and_takes_again_what_came_after_the_backup(house, pushed, tmp_path):
    backing_up.back_up(house_settings(house), tmp_path / "backup")
    pushed.desk.turn("swing_flexion", "9")
    assert pushed.push().status_code == 200
    later, epoch = house.station.entries.fingerprint(CLINIC), house.station.entries.epoch
    lead = house.lead()
    settings = elsewhere(tmp_path)
    counts, aside = backing_up.restore(settings, tmp_path / "backup", replace=False)
    assert counts[CLINIC].entries < house.station.entries.count(CLINIC) and aside == []
    restored = make_house(Path(settings.store).parent)
    try:
        again = Tablet(restored.client(), pushed.desk, pushed.key, pushed.token, pushed.enrolment)
        standing = answers.decode_standing(
            again.client.get(f"/exchange/{CLINIC}/standing", headers=again.headers).content)
        assert standing.epoch not in ("", epoch)
        assert restored.station.chain == house.station.chain, "the same server: its key came along"
        assert again.push().status_code == 200
        assert restored.station.entries.fingerprint(CLINIC) == later
        stranger = restored.lead(logged_in=False)
        stranger.client.cookies.update(dict(lead.client.cookies))
        assert stranger.client.get("/fittings").status_code == 303, "sessions of before have ended"
    finally:
        restored.station.store.close()


def test_a_store_that_is_there_is_set_aside_only_when_told_and_never_lost(house, pushed, tmp_path):
    settings = house_settings(house)
    backing_up.back_up(settings, tmp_path / "backup")
    pushed.desk.turn("swing_flexion", "9")
    pushed.push()
    wanted = house.station.entries.fingerprint(CLINIC)
    with pytest.raises(backing_up.BackupRefusal, match="restore_over_store"):
        backing_up.restore(settings, tmp_path / "backup", replace=False)
    with pytest.raises(backing_up.BackupRefusal, match="store_in_use"):
        backing_up.restore(settings, tmp_path / "backup", replace=True)
    house.station.store.close()
    _, aside = backing_up.restore(settings, tmp_path / "backup", replace=True)
    old = next(path for path in aside if path.name.startswith("server.sqlite.set-aside"))
    store = open_store(old, SERVER)
    assert check(store)[CLINIC].fingerprint == wanted
    store.close()


@pytest.mark.parametrize("damage", ["flip", "cut", "drop", "add", "list", "key"])
def test_a_damaged_backup_is_refused_in_words_and_nothing_changes(house, pushed, tmp_path, damage):
    folder = tmp_path / "backup"
    backing_up.back_up(house_settings(house), folder)
    store = folder / backing_up.STORE
    data = bytearray(store.read_bytes())
    if damage == "flip":
        data[len(data) // 2] ^= 1
        store.write_bytes(data)
    elif damage == "cut":
        store.write_bytes(data[:-4096])
    elif damage == "drop":
        store.unlink()
    elif damage == "add":
        (folder / "more").write_text("x")
    elif damage == "list":
        (folder / backing_up.LIST).write_text("{")
    else:
        (folder / backing_up.KEY).write_text("other")
    settings = elsewhere(tmp_path)
    with pytest.raises(Refusal) as refused:
        backing_up.restore(settings, folder, replace=False)
    assert refused.value.code == "backup_damaged"
    assert "Nothing was changed" in server_sentence(refused.value)
    assert list(Path(settings.store).parent.iterdir()) == []


@pytest.mark.both_stores
@pytest.mark.parametrize("change, says", [
    ("UPDATE entry SET content = {zero} WHERE number = 5 AND tablet = 'tablet-a'", "damaged"),
    ("UPDATE entry SET kind = 'cap' WHERE kind = 'body'", "columns beside"),
    ("DELETE FROM entry WHERE number = 7 AND tablet = 'tablet-a'", "chain_broken|row_missing"),
    ("DELETE FROM signature WHERE signer_type = 'staff'", "gap"),
    ("UPDATE entry SET server_sequence = server_sequence + 1 WHERE number = 3", "gap"),
    ("UPDATE clinic_sequence SET last = last + 1", "gap or ends early"),
])
def test_whatever_was_changed_behind_the_servers_back_is_found(house, pushed, change, says):
    store = house.station.store
    assert check(store)[CLINIC].entries == house.station.entries.count(CLINIC)
    zero = "x'00'" if store.in_a_file else "'\\x00'::bytea"
    with store.writing() as connection:
        connection.execute(text(change.format(zero=zero).replace(":", "\\:")))
    with pytest.raises(UnsoundRefusal, match="store_unsound") as found:
        check(store)
    assert any(word in found.value.figures["finding"] for word in says.split("|"))


def test_the_commands_say_what_they_did(house, pushed, tmp_path, capsys, monkeypatch):
    path = str(house.station.store.path)
    assert main(["--store", path, "--check"]) == 0
    assert "demo-clinic" in capsys.readouterr().out
    assert main(["--store", path, "--backup", str(tmp_path / "b")]) == 0
    assert "signing key" in capsys.readouterr().out
    assert main(["--store", path, "--backup", str(tmp_path / "b")]) == 1
    assert "there already" in capsys.readouterr().err
    assert main(["--store", path, "--restore", str(tmp_path / "b")]) == 1
    assert "--replace" in capsys.readouterr().err
    assert main(["--store", str(tmp_path / "none"), "--check"]) == 1
    assert "There is no store" in capsys.readouterr().err and not (tmp_path / "none").exists()
    assert main(["--store", "postgresql://nobody@127.0.0.1:1/x", "--backup", str(tmp_path / "c")]) == 1
    assert "pg_dump" in capsys.readouterr().err


def test_a_backup_is_for_its_owner_only(house, pushed, tmp_path):
    backing_up.back_up(house_settings(house), tmp_path / "b")
    assert (tmp_path / "b").stat().st_mode & 0o077 == 0
    assert (tmp_path / "b" / backing_up.KEY).stat().st_mode & 0o077 == 0
    with closing(sqlite3.connect(tmp_path / "b" / backing_up.STORE)) as copy:
        assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
