"""A PostgreSQL dumped and put back by its own tools, as docs/running-a-server.md says: tablets go on."""

from __future__ import annotations

import shutil
import subprocess

import pytest
from sqlalchemy import text

from shared_models.exchange import lane
from shared_models.ledger.columns import SERVER
from shared_models.ledger.opening import open_store
from shared_models.verify_command import main as verify
from sync_server.main import main
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import Tablet, copy_of, make_house
from tests.sync_server.photos import png, sha256
from tests.sync_server.test_attachments import asking, named

PICTURE = png(300_000, seed=8)


def ran(*command: object) -> None:
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


@pytest.fixture
def served(begun, postgres, begun_template, tmp_path):
    """A house over a database of its own, whose key and photos lie in a folder; and a tablet that has sent all."""
    folder = tmp_path / "server"
    shutil.copytree(begun.folder, folder)
    name = postgres.database(begun_template)
    house = make_house(folder, postgres.url(name))
    old = begun.tablet
    tablet = Tablet(house.client(), copy_of(old.desk), old.key, old.token, old.enrolment)
    named(tablet, PICTURE)
    lane.send(asking(tablet), sha256(PICTURE), len(PICTURE), lambda at, most: PICTURE[at:at + most])
    yield house, tablet, folder
    house.station.store.close()
    postgres.drop(name)


@pytest.fixture
def put_back(served, postgres, tmp_path, monkeypatch):
    """Dump what is served, lose the server, and put dump, key and photos back: the new database and its folder."""
    house, tablet, folder = served
    dump, fresh = tmp_path / "dump", postgres.database()

    def act():
        ran(postgres.tool("pg_dump"), "--format=custom", f"--file={dump}", f"--dbname={house.settings.store}")
        copied = shutil.copytree(folder, tmp_path / "put-back")  # after it: bytes of a photo never change
        return dump, copied

    def restore(dump, copied) -> str:
        house.station.store.close()
        url = postgres.url(fresh)
        ran(postgres.tool("pg_restore"), "--no-owner", f"--dbname={url}", dump)
        monkeypatch.setenv("STANCEBOOK_KEY_FILE", str(copied / "server.sqlite.signing-key"))
        monkeypatch.setenv("STANCEBOOK_ATTACHMENTS", str(copied / "server.sqlite.signing-key.attachments"))
        return url

    yield act, restore
    postgres.drop(fresh)


def test_a_dump_put_back_is_whole_and_tablets_go_on_with_its_new_epoch(served, put_back, capsys):
    house, tablet, _folder = served
    dump, restore = put_back
    kept = dump()
    tablet.desk.turn("swing_flexion", "9")
    assert tablet.push().status_code == 200, "sent after the dump: the restored server lacks it"
    lead = house.lead()
    held, epoch = house.station.entries.fingerprint(CLINIC), house.station.entries.epoch
    url = restore(*kept)
    assert main(["--store", url, "--check"]) == 0
    assert main(["--store", url, "--begin-epoch"]) == 0
    assert "a new epoch has begun" in capsys.readouterr().out
    photos = str(kept[1] / "server.sqlite.signing-key.attachments")
    assert verify([url, "--attachments", photos]) == 0, capsys.readouterr().out
    again = make_house(kept[1], url)
    try:
        assert again.station.entries.epoch != epoch
        browser = again.client()
        browser.cookies.update(lead.client.cookies)
        assert browser.get("/fittings").status_code == 303, "sessions ended"
        tablet.client = again.client()
        standing = tablet.client.get(f"/exchange/{CLINIC}/standing", headers=tablet.headers).json()
        assert standing["epoch"] == again.station.entries.epoch
        behind = standing["chains"][tablet.name]["number"]
        assert behind < tablet.desk.author.end.number
        answer = tablet.push([e for e in tablet.own() if e.number > behind])
        assert answer.status_code == 200 and answer.json()["stored"] > 0
        assert again.station.entries.fingerprint(CLINIC) == held, "nothing that a tablet holds is lost"
        asked: list = []
        lane.send(asking(tablet, asked), sha256(PICTURE), len(PICTURE), lambda *_: b"")
        assert asked == [("HEAD", 204, 0)], "the photo is there"
        tablet.desk.turn("swing_flexion", "8")
        assert tablet.push().status_code == 200
    finally:
        again.station.store.close()
    assert verify([url, "--attachments", photos]) == 0


def test_a_row_that_was_changed_in_the_database_is_named_by_verify(served, put_back, capsys):
    dump, restore = put_back
    url = restore(*dump())
    store = open_store(url, SERVER)
    with store.writing() as connection:
        connection.execute(text("UPDATE entry SET kind = 'cap' WHERE tablet = 'tablet-a' AND number = 7"))
    store.close()
    assert verify([url]) == 3
    assert "Entry 7 of tablet-a" in capsys.readouterr().out
    assert main(["--store", url, "--check"]) == 1
    assert "columns beside" in capsys.readouterr().err


def test_verify_changes_nothing_in_a_database_and_makes_no_tables_in_an_empty_one(postgres, served, capsys):
    house, *_ = served
    empty = postgres.database()
    try:
        assert verify([postgres.url(empty)]) == 1
        assert "is no Stancebook store" in capsys.readouterr().err
        store = house.station.store
        with store.writing() as connection:
            connection.execute(text("UPDATE alembic_version SET version_num = '0001'"))
        assert verify([house.settings.store]) == 1
        assert "another form" in capsys.readouterr().err
        with store.reading() as connection:
            assert connection.scalar(text("SELECT version_num FROM alembic_version")) == "0001"
    finally:
        postgres.drop(empty)


def test_verify_sees_one_moment_while_tablets_go_on_sending(served, monkeypatch, capsys):
    house, tablet, _ = served
    from shared_models import verify_command

    tablet.desk.turn("swing_flexion", "9")
    whole, sent = verify_command.raw_entries, []

    def meanwhile(store, codec):
        found = whole(store, codec)
        yield next(found)
        sent.append(tablet.push().status_code)
        yield from found

    monkeypatch.setattr(verify_command, "raw_entries", meanwhile)
    assert verify([house.settings.store]) == 0, capsys.readouterr().out
    assert sent == [200]
