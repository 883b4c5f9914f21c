"""What the lead clinician takes away of a fitting, over HTTP."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from shared_models.exports.fitting_tables import fitting_table
from shared_models.papers.fitting_record import fitting_record, record_digest
from shared_models.papers.record_pdf import record_pdf
from tests.shared_models.exports.fhir_checks import troubles


def text_of(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def test_the_servers_paper_is_the_tablets_paper(house, tablet):
    assert tablet.push().status_code == 200
    answer = house.lead().client.get("/fittings/fitting-1/files/record.pdf")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    assert "attachment" in answer.headers["content-disposition"] and answer.headers["cache-control"] == "no-store"
    view, verdict = tablet.desk.view, tablet.desk.verdict()
    assert text_of(answer.content) == text_of(record_pdf(fitting_record(view, verdict)))
    assert record_digest(view.entries()) in text_of(answer.content).replace("\n", "")


def test_the_bundle_for_another_system_holds_the_sheet_and_meets_the_published_definitions(house, tablet):
    assert tablet.push().status_code == 200
    answer = house.lead().client.get("/fittings/fitting-1/files/fhir.json")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/fhir+json")
    bundle = answer.json()
    assert troubles(bundle) == []
    assert "DocumentReference" in {e["resource"]["resourceType"] for e in bundle["entry"]}


def test_nobody_takes_anything_without_having_logged_in(house, tablet):
    assert tablet.push().status_code == 200
    answer = house.client().get("/fittings/fitting-1/files/record.pdf")
    assert answer.status_code in (303, 401) and b"%PDF" not in answer.content


def test_a_file_or_a_fitting_that_is_not_there_is_said_to_be_not_there(house, tablet):
    assert tablet.push().status_code == 200
    lead = house.lead()
    for path in ("/fittings/fitting-1/files/everything.zip", "/fittings/nobody/files/record.pdf"):
        assert lead.client.get(path).status_code == 404


@pytest.mark.parametrize("table", ["trials", "settings", "torques"])
def test_a_table_of_the_fitting_is_taken_as_csv_and_the_page_leads_to_it(house, tablet, table):
    assert tablet.push().status_code == 200
    lead = house.lead()
    path = f"/fittings/fitting-1/files/{table}.csv"
    assert f'href="{path}"' in lead.client.get("/fittings/fitting-1").text
    answer = lead.client.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "text/csv; charset=utf-8")
    assert answer.content == fitting_table(tablet.desk.view, table)
