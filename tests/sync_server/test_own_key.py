"""The server's signing key: a strange one is refused, a renewed one is named by the old one."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from sync_server.app import open_server
from sync_server.main import main
from sync_server.services.own_key import KeyRefusal
from sync_server.services.soundness import check
from tests.fitting_desk import CLINIC, Desk
from tests.sync_server.conftest import Tablet, make_house
from tests.sync_server.test_deciding import decisions


@pytest.fixture
def pushed(house, tablet):
    assert tablet.push().status_code == 200
    return tablet


def again(house, tablet):
    """The same server opened anew, and the tablet at its door."""
    opened = make_house(house.station.store.path.parent)
    return opened, Tablet(opened.client(), tablet.desk, tablet.key, tablet.token, tablet.enrolment)


def run(house, act: str, monkeypatch) -> int:
    house.station.store.close()
    monkeypatch.setenv("STANCEBOOK_KEY_FILE", house.settings.key_file)
    return main(["--store", str(house.station.store.path), act])


def test_with_a_key_of_another_server_it_does_not_start(house, pushed):
    key = house.settings.signing_key_file
    house.station.store.close()
    key.unlink()
    with pytest.raises(KeyRefusal):
        open_server(house.settings)


def test_after_renewing_the_old_chain_names_the_new_key_and_all_goes_on(house, pushed, monkeypatch):
    old = house.station.chain
    assert run(house, "--renew-key", monkeypatch) == 0
    opened, tablet = again(house, pushed)
    try:
        assert opened.station.chain != old
        tablet.take_all()
        named = tablet.desk.record.head(Subject("tablet", opened.station.chain), "tablet")
        assert named.tablet == old and named.body["public_key"] == opened.station.public_key
        tablet.desk.turn("swing_flexion", "9")
        assert tablet.push().status_code == 200
        newcomer = opened.tablet(Desk("tablet-n"))
        assert newcomer.enrolment["server_key"] == opened.station.public_key
        newcomer.take_all()
        lead = opened.lead()
        before = decisions(opened)
        lead.decide(lead.open(), "rejected", **{"remark-caps": "Look again."})
        assert decisions(opened) == before + 1
        assert check(opened.station.store)[CLINIC].entries == opened.station.entries.count()
        kept = [p.name for p in house.settings.signing_key_file.parent.iterdir() if "set-aside" in p.name]
        assert len(kept) == 1, "the old key is kept"
    finally:
        opened.station.store.close()


def test_a_lost_key_is_gone_on_without_only_when_told(house, pushed, monkeypatch):
    house.settings.signing_key_file.unlink()
    assert run(house, "--check", monkeypatch) == 0
    assert run(house, "--accept-new-key", monkeypatch) == 0
    opened, tablet = again(house, pushed)
    try:
        tablet.desk.turn("swing_flexion", "9")
        assert tablet.push().status_code == 200
        tablet.take_all()
        assert tablet.desk.record.head(Subject("tablet", opened.station.chain), "tablet").tablet == opened.station.chain
    finally:
        opened.station.store.close()
