"""With no network: written to a stick and read back at the screen; and a clinic of one tablet joins a server."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import new_key, public_text
from shared_models.ledger.tablet_access import FOUNDER
from mobile.demo import demo_newcomers
from mobile.flows import carrying
from mobile.keeping.courier import Courier, SyncRefusal
from mobile.keeping.joining import JoiningRefusal, join_later
from mobile.keeping.tablet import Newcomer, Tablet
from sync_server.app import create_app, open_server
from sync_server.services.carried_in import take_in_folder
from sync_server.services.staffing import set_up_demo
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC
from tests.journeys.at_work import PROSTHETIST, open_fitting, record
from tests.shared_models.making import CHEAP
from tests.sync_server.conftest import CHEAP as SERVER_CHEAP
from tests.sync_server.conftest import House

pytestmark = pytest.mark.plain_way


@pytest.fixture
def house(tmp_path):
    """A server of this process with the invented clinic."""
    settings = Settings(store=str(tmp_path / "server.sqlite"), stretch=SERVER_CHEAP)
    server = open_server(settings)
    set_up_demo(server.station, server.door.accounts)
    yield House(server, create_app(settings, server), settings)
    server.station.store.close()


@pytest.fixture
def far(house, tmp_path, monkeypatch):
    """A tablet that was enrolled once, and a stick that is plugged in."""
    courier, key = Courier(house.client), new_key()
    enrolment = courier.enrol("http://127.0.0.1", house.code(), "far-away", public_text(key))
    tablet = Tablet(tmp_path / "far", CHEAP)
    first = next(n for n in demo_newcomers() if n.staff == PROSTHETIST)
    session = tablet.join(enrolment, courier.fetch_all(enrolment), key, first)
    fitting = open_fitting(session, "S-1")
    record(session, fitting, "body")
    stick = tmp_path / "media" / "GREEN"
    stick.mkdir(parents=True)
    monkeypatch.setattr(carrying.places, "__defaults__", ((str(tmp_path / "media" / "*"),),))
    yield SimpleNamespace(tablet=tablet, session=session, stick=stick, fitting=fitting)
    tablet.close()


def test_at_the_screen_the_record_goes_on_a_stick_and_the_receipt_comes_back(far, house, on_screen, finger):
    stage = on_screen(far.tablet, far.session)
    stage.go_sync()
    finger.settle()
    finger.tap("carry")
    assert finger.sees("Stick GREEN") and finger.sees("still to be carried")
    finger.tap("carry:back")
    finger.wait_for(lambda: finger.sees("no receipt for this tablet"), what="the refusal in words")
    finger.tap("carry:write")
    finger.wait_for(lambda: finger.sees("Take the stick to the server"), what="the writing")
    assert far.session.unsent()[0] > 0
    assert all(not line.code for line in take_in_folder(house.station, house.server.lane, far.stick))
    finger.tap("carry:back")
    finger.wait_for(lambda: finger.sees("The receipt is read"), what="the receipt")
    assert far.session.unsent() == (0, "") and finger.sees("nothing to carry")
    assert house.station.entries.chain_end(CLINIC, "far-away")[0] == far.session.author.end.number


def test_a_stick_pulled_out_is_said_in_words_and_nothing_is_lost(far, on_screen, finger):
    stage = on_screen(far.tablet, far.session)
    stage.go_sync()
    finger.settle()
    finger.tap("carry")
    far.stick.rmdir()
    finger.tap("carry:write")
    finger.wait_for(lambda: finger.sees("Put the stick in again"), what="the refusal")
    assert far.session.unsent()[0] > 0


def founded(folder):
    tablet = Tablet(folder, CHEAP)
    session = tablet.found("clinic-of-one", "Harbour clinic", [Newcomer(
        "p-lead-1", "Jon Berg", ("prosthetist", "lead_clinician"), "739154",
    )])
    fitting = open_fitting(session, "H-1")
    record(session, fitting, "body")
    return tablet, session, fitting


def test_a_clinic_that_began_on_a_tablet_goes_to_a_server_whole(house, tmp_path):
    tablet, session, fitting = founded(tmp_path / "alone")
    courier = Courier(house.client)
    with pytest.raises(SyncRefusal) as refused:
        join_later(session, courier, "http://127.0.0.1", house.code())
    assert "for another clinic" in refused.value.figures["sentence"] and not session.has_server
    join_later(session, courier, "http://127.0.0.1", house.server.gate.new_code("", FOUNDER))
    record(session, fitting, "activity")
    result = courier.sync(session, lambda *_: None, session.absorb, lambda: False)
    assert result.refused == () and session.unsent() == (0, "")
    assert house.station.clinics()["clinic-of-one"] == "Harbour clinic"
    with house.station.reading("clinic-of-one") as reading:
        assert reading.view(fitting) is not None
        assert reading.staff_record().name_of("p-lead-1") == "Jon Berg"
    with pytest.raises(JoiningRefusal):
        join_later(session, courier, "http://127.0.0.1", "CODE")
    tablet.close()


def test_once_it_has_joined_only_the_server_makes_staff(house, tmp_path):
    tablet, session, _ = founded(tmp_path / "alone")
    courier = Courier(house.client)
    join_later(session, courier, "http://127.0.0.1", house.server.gate.new_code("", FOUNDER))
    session.save("staff", Subject("staff", "p-later"), {"name": "Ada Lund", "roles": ["technician"]})
    result = courier.sync(session, lambda *_: None, session.absorb, lambda: False)
    assert {reason.code for reason in result.refused} == {"recorded_on_server_only"}
    tablet.close()


def test_at_the_screen_a_wrong_code_is_refused_in_words_and_what_was_typed_stays(house, tmp_path, on_screen, finger):
    tablet, session, _ = founded(tmp_path / "alone")
    stage = on_screen(tablet, session)
    stage._courier = Courier(house.client)
    stage.go_sync()
    finger.settle()
    finger.tap("join_server")
    stage.page.address.text, stage.page.code.text = "http://127.0.0.1", "ABCD-EFGH-JKLM-NPQR"
    finger.tap("main")
    finger.wait_for(lambda: finger.sees("code is not known"), what="the refusal")
    assert stage.page.code.text.startswith("ABCD")
    stage.page.code.text = house.server.gate.new_code("", FOUNDER)
    finger.tap("main")
    finger.wait_for(lambda: finger.is_there("carry"), what="the sending page, with a server now")
    with pytest.raises(SyncRefusal):
        stage.courier.enrol("http://clinic.example", "CODE", "t", "k")
    tablet.close()
