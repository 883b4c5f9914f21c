"""Roles changed on the server's page reach the tablet with the next sync, and hold there from then on."""

from __future__ import annotations

import httpx
import pytest

from shared_models.entries.envelope import Subject
from mobile.rehearsal.server_process import ServerProcess
from sync_server.services.staffing import demo_lead
from tests.journeys.at_work import (
    PINS,
    PROSTHETIST,
    TECHNICIAN,
    joined,
    open_fitting,
    record,
    server_digest,
    sync,
    to_the_bench,
)
from tests.journeys.conftest import enrolment_code
from tests.sync_server.conftest import Lead
from tests.sync_server.test_changing_roles import change


@pytest.fixture
def own_server(tmp_path):
    """A server of this journey alone: it changes the staff list."""
    process = ServerProcess(tmp_path / "server")
    yield process
    process.close()


@pytest.fixture
def lead(own_server):
    with httpx.Client(base_url=own_server.address, timeout=60) as client:
        found = Lead(client)
        assert found.log_in(demo_lead()["login"], demo_lead()["password"]).status_code == 303
        yield found


@pytest.fixture
def tablet(own_server, tmp_path):
    found, session = joined(tmp_path / "one", own_server.address, enrolment_code(own_server.store), "tablet-roles")
    sync(session)
    yield found, session
    found.close()


def to_the_sign_off(session, fitting: str) -> None:
    to_the_bench(session, fitting)
    for screw in session.fitting(fitting).screws():
        record(session, fitting, f"torque_final/{screw.key}")


def signed_off(found, session, fitting: str) -> None:
    """The technician's own PIN and key sign, as in the pane of the sign-off."""
    keys = found.unlock_beside(session, TECHNICIAN, PINS[TECHNICIAN])
    session.save("sign_off", Subject("fitting", fitting), {"technician": TECHNICIAN, "way": "witnessed"}, signed_with=keys)


def test_a_technician_who_becomes_a_prosthetist_fits_and_no_longer_signs_off(tablet, lead, on_screen, finger):
    found, session = tablet
    before, after = open_fitting(session, "D-9001"), open_fitting(session, "D-9002")
    for fitting in (before, after):
        to_the_sign_off(session, fitting)
    signed_off(found, session, before)
    assert session.verdict(before).step("sign_off").state == "met"
    sync(session)
    assert change(lead, TECHNICIAN, "prosthetist").status_code == 303
    sync(session)
    stage = on_screen(found, session)
    stage.go_fitting(after, "sign_off")
    finger.settle()
    assert finger.find_all("field:technician=") == [] and "technician's role" in finger.find("no_technician").text
    signed_off(found, session, after)  # past the screen, as an older program would
    sync(session)
    assert session.verdict(before).step("sign_off").state == "met"
    assert "not_a_technician" in {r.code for r in session.verdict(after).step("sign_off").remarks}
    for fitting in (before, after):
        assert server_digest(session, fitting) == session.verdict(fitting).digest, "the server says the same"
    own = found.unlock(TECHNICIAN, PINS[TECHNICIAN])
    assert own.roles == ("prosthetist",)
    fitting = open_fitting(own, "D-9003")
    requested = own.save("review_requested", Subject("fitting", fitting), {})
    sync(own)
    assert own.fitting(fitting).prosthetist == TECHNICIAN
    assert own.record.has_signed(requested, "requests_review")
    assert own.verdict(fitting).review == "requested" and server_digest(own, fitting) == own.verdict(fitting).digest


def test_a_prosthetist_who_becomes_a_technician_signs_off_a_colleagues_fitting(tablet, lead):
    found, session = tablet
    assert change(lead, TECHNICIAN, "prosthetist").status_code == 303
    assert change(lead, PROSTHETIST, "technician").status_code == 303
    sync(session)
    own = found.unlock(TECHNICIAN, PINS[TECHNICIAN])
    fitting = open_fitting(own, "D-9004")
    to_the_sign_off(own, fitting)
    keys = found.unlock_beside(own, PROSTHETIST, PINS[PROSTHETIST])
    own.save("sign_off", Subject("fitting", fitting), {"technician": PROSTHETIST, "way": "witnessed"}, signed_with=keys)
    sync(own)
    assert own.verdict(fitting).step("sign_off").state == "met"
    assert server_digest(own, fitting) == own.verdict(fitting).digest
