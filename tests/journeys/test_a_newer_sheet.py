"""A sheet published on the page, over real HTTP: the tablet fetches and offers it; a fitting under way keeps its own."""

from __future__ import annotations

import httpx
import pytest

from mobile.flows.forms import SlotForm
from mobile.flows.sheet_notes import sheet_notes
from mobile.rehearsal.server_process import ServerProcess
from sync_server.services.staffing import demo_lead
from tests.journeys.at_work import joined, must_be_sound, open_fitting, record, server_digest, sync, to_the_bench
from tests.journeys.conftest import enrolment_code
from tests.sync_server.conftest import Lead
from tests.sync_server.form_as_shown import form_as_shown

PASSWORD = demo_lead()["password"]
KNEE = "/sheets/demo-knee-alder/enter"


@pytest.fixture
def clinic(tmp_path):
    """A server of its own, a tablet that joined it, a lead clinician at the page; and a fitting at the bench."""
    server = ServerProcess(tmp_path / "server")
    tablet, session = joined(tmp_path / "tablet", server.address, enrolment_code(server.store), "tablet-sheets")
    fitting = open_fitting(session, "D-7001")
    to_the_bench(session, fitting)
    sync(session)
    lead = Lead(httpx.Client(base_url=server.address, timeout=20))
    assert lead.log_in(demo_lead()["login"], PASSWORD).status_code == 303
    yield session, fitting, lead.client
    lead.client.close()
    tablet.close()
    server.close()


def publish(client: httpx.Client, path: str, **typed: str) -> None:
    form = form_as_shown(client.get(path).text, path)
    answer = client.post(path, data={**form, **{k.replace("__", "-"): v for k, v in typed.items()}, "password": PASSWORD})
    assert answer.status_code == 303, answer.text


def offered(session, fitting: str, place: str) -> list[str]:
    return [words for _, words in SlotForm(session, fitting, f"component/{place}", fresh=True).sheet_choices()]


def test_a_published_version_is_offered_and_a_fitting_under_way_keeps_its_own_and_says_so(clinic):
    session, fitting, client = clinic
    before = session.verdict(fitting).digest
    publish(client, KNEE, version="1.9", mass_limit_kg="105", screws__0__final_nm="12 N·m")
    assert sheet_notes(session.fitting(fitting)) == []
    sync(session)
    assert offered(session, fitting, "knee") == ["Alder demo knee (invented), version 1.9"]
    view = session.fitting(fitting)
    assert view.sheets()["knee"].version == "1.2" and session.verdict(fitting).digest == before == server_digest(session, fitting)
    (note,) = sheet_notes(view)
    assert "version 1.9" in note and "118 → 105" in note and "11 N·m → 12 N·m" in note and "keeps version 1.2" in note
    steps = {step.key: sheet_notes(view, step) for step in view.edition.steps}
    assert sum(map(bool, steps.values())) == 2, "said where parts and limits are looked at"
    page = client.get(f"/fittings/{fitting}").text
    assert "118 → 105" in page, "and on the page"

    record(session, fitting, "component/knee")
    assert session.fitting(fitting).sheets()["knee"].version == "1.9" and sheet_notes(session.fitting(fitting)) == []
    sync(session)
    assert server_digest(session, fitting) == session.verdict(fitting).digest
    used = client.get("/sheets/demo-knee-alder").text
    newest, older = used.split("<h3>Version 1.9")[1].split("<h3>Version 1.2")
    assert f"/fittings/{fitting}" in newest
    must_be_sound(session)


def test_a_new_component_is_offered_on_the_tablet_after_its_sync(clinic):
    session, fitting, client = clinic
    publish(client, "/new-sheet?part=foot", name="Fern foot (invented)", version="1", mass_limit_kg="240 lb",
            mass_basis="bare", lowest_level="2", highest_level="4")
    assert "Fern foot (invented), version 1" not in offered(session, fitting, "foot")
    sync(session)
    assert "Fern foot (invented), version 1" in offered(session, fitting, "foot")
    assert "Fern foot (invented), version 1" not in offered(session, fitting, "knee")
