"""What is practised can't reach a server by any way that there is."""

from __future__ import annotations

import shutil
from dataclasses import replace

import httpx
import pytest

from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange.batch import batch_of, encode
from shared_models.exchange.packing import FORMAT, pack
from shared_models.exchange.practice import PracticeRefusal, is_practice
from shared_models.quantities.refusals import Refusal
from mobile.demo import PRACTICE_FOLDER, found_demo, open_practice, practise
from mobile.keeping.courier import Courier
from mobile.keeping.tablet import STORE_NAME, Tablet
from tests.journeys.at_work import (
    PINS,
    PROSTHETIST,
    address_of,
    alone,
    ask_server,
    joined,
    on_the_server,
    open_fitting,
    record,
    sync,
)
from tests.shared_models.making import CHEAP


class NoWire:
    """A client that must never be asked; what was asked is told by the test that fails."""

    def __enter__(self):
        raise AssertionError("practice was on its way to a server")

    def __exit__(self, *_):
        return False


@pytest.fixture
def practice(tmp_path):
    """A practice tablet beside a real one, with a person's weight recorded."""
    tablet = open_practice(tmp_path / "tablet" / PRACTICE_FOLDER, CHEAP)
    session = practise(tablet)
    fitting = open_fitting(session, "P-1")
    record(session, fitting, "body")
    yield tablet, session
    tablet.close()


def test_practice_is_kept_apart_from_the_record_of_people(tmp_path, practice):
    real, session = alone(tmp_path / "tablet")
    assert session.fittings() == []
    assert not real.is_practice and not session.is_practice
    assert practice[0].path.parent == tmp_path / "tablet" / PRACTICE_FOLDER
    assert practice[1].is_practice and is_practice(practice[1].clinic)
    real.close()


def test_every_entry_of_practice_says_itself_that_it_is_practice(practice):
    entries = practice[1].record.entries.values()
    assert entries and all(is_practice(entry.clinic) for entry in entries)


def test_the_courier_refuses_practice_before_it_asks_anybody(practice):
    session = practice[1]
    with pytest.raises(PracticeRefusal) as refused:
        sync(session, Courier(NoWire))
    assert refused.value.code == "practice_never_sent"
    # Given a server's address by hand, it is refused all the same.
    state = session.entries.sync_state(session.clinic)
    access = {"address": "http://127.0.0.1:1", "token": "t", "server": "s", "server_key": "k"}
    session.entries.keep_sync_state(replace(state, access=access))
    with pytest.raises(PracticeRefusal):
        sync(session, Courier(NoWire))
    assert session.unsent() == (0, "")


def test_a_practice_tablet_joins_no_clinic(tmp_path, practice, server, new_code):
    courier, key = Courier(), new_key()
    enrolment = courier.enrol(server.address, new_code(), "tablet-practising", public_text(key))
    pages = courier.fetch_all(enrolment)
    from mobile.demo import demo_newcomers

    prosthetist = demo_newcomers()[0]
    with pytest.raises(PracticeRefusal) as refused:
        practice[0].join(enrolment, pages, key, prosthetist)
    assert refused.value.code == "practice_never_joins"
    fresh = Tablet(tmp_path / "fresh practice", CHEAP, practice=True)
    with pytest.raises(PracticeRefusal):
        fresh.join(enrolment, pages, key, prosthetist)
    assert fresh.people() == ()
    fresh.close()


def test_a_practice_store_copied_over_a_tablets_own_stays_practice(tmp_path, practice):
    tablet, _ = practice
    tablet.close()
    elsewhere = tmp_path / "real tablet"
    elsewhere.mkdir()
    shutil.copy(tablet.path, elsewhere / STORE_NAME)
    copied = Tablet(elsewhere, CHEAP)
    assert copied.is_practice, "told while it is still locked"
    session = copied.unlock(PROSTHETIST, PINS[PROSTHETIST])
    assert session.is_practice
    with pytest.raises(PracticeRefusal):
        sync(session, Courier(NoWire))
    copied.close()


def test_a_practice_store_whose_clinic_was_renamed_stays_practice(tmp_path, practice):
    tablet, session = practice
    state = session.entries.sync_state(session.clinic)
    session.entries.keep_sync_state(replace(state, clinic="clinic-of-people"))
    with tablet.store.writing() as connection:
        connection.exec_driver_sql("DELETE FROM sync_state WHERE clinic LIKE 'practice-%'")
    again = tablet.unlock(PROSTHETIST, PINS[PROSTHETIST])
    assert again.clinic == "clinic-of-people" and again.is_practice and tablet.is_practice
    with pytest.raises(PracticeRefusal):
        sync(again, Courier(NoWire))


def test_practice_is_not_opened_on_a_record_of_people(tmp_path):
    real, session = alone(tmp_path / PRACTICE_FOLDER)
    before = len(session.record.entries)
    real.close()
    with pytest.raises(PracticeRefusal) as refused:
        open_practice(tmp_path / PRACTICE_FOLDER, CHEAP)
    assert refused.value.code == "practice_holds_real_record"
    again = Tablet(tmp_path / PRACTICE_FOLDER, CHEAP)
    assert not again.is_practice
    assert len(again.unlock(PROSTHETIST, PINS[PROSTHETIST]).record.entries) == before
    again.close()


def test_a_clinic_of_people_is_never_founded_as_practice_nor_practice_as_one(tmp_path):
    from mobile.demo import demo_newcomers

    ordinary = Tablet(tmp_path / "a", CHEAP)
    with pytest.raises(PracticeRefusal):
        ordinary.found("practice-0011", "?", demo_newcomers())
    for_practice = Tablet(tmp_path / "b", CHEAP, practice=True)
    with pytest.raises(PracticeRefusal):
        found_demo(for_practice)
    assert ordinary.people() == for_practice.people() == ()
    ordinary.close(), for_practice.close()


def test_practice_is_not_even_packed(practice):
    session = practice[1]
    chain = session.entries.chain(session.clinic, session.tablet)
    for clinic in (session.clinic, "demo-clinic"):
        with pytest.raises(PracticeRefusal):
            encode(batch_of(clinic, chain, [session.sign_head(chain[-1])]))


def test_the_server_takes_no_entry_of_practice_however_it_is_handed_over(tmp_path, practice, server, new_code):
    own = practice[1]
    real, session = joined(tmp_path / "joined", server.address, new_code(), "tablet-beside-practice")
    sync(session)
    before = len(on_the_server(session))
    chain = own.entries.chain(own.clinic, own.tablet)
    for clinic in (own.clinic, session.clinic):
        packed = pack({
            "format": FORMAT, "clinic": clinic,
            "entries": [{"digest": e.digest, "envelope": dict(e.envelope)} for e in chain],
            "signatures": [own.sign_head(chain[-1]).as_record()],
        })
        access = session.entries.sync_state(session.clinic).access
        for path in (clinic, session.clinic):
            answer = httpx.post(
                f"{address_of(session)}/exchange/{path}/entries", content=packed, timeout=20,
                headers={"Authorization": f"Bearer {access['token']}", "Content-Encoding": "gzip", "Content-Type": "application/json"},
            )
            assert answer.status_code >= 400, (clinic, path, answer.text)
        if clinic == session.clinic:
            reasons = answer.json()["reasons"]
            assert {r["code"] for r in reasons if r["place"].startswith("entries/")} == {"practice_entry"}
            assert "nothing of practice is taken" in reasons[0]["sentence"]
    assert len(on_the_server(session)) == before
    assert ask_server(session, "entries", after=0, limit=500).status_code == 200
    real.close()


def test_a_server_gives_no_code_for_a_clinic_of_practice(tmp_path):
    from shared_models.ledger.opening import open_store
    from sync_server.services.access import Gate
    from sync_server.services.station import Station

    store = open_store(tmp_path / "server.store", "server")
    with pytest.raises(Refusal) as refused:
        Gate(Station(store, new_key())).new_code("practice-0011")
    assert refused.value.code == "practice_never_sent"
    store.close()
