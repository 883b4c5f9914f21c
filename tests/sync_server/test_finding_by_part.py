"""On the day of a field safety notice: who carries the part, and who did."""

from __future__ import annotations

import csv
import io

import pytest
from sqlalchemy import select, text

from shared_models.entries.envelope import Subject
from shared_models.ledger.parts_carried import MOST
from shared_models.ledger.read_tables import judge_anew
from shared_models.ledger.schema import Schema, revision_of, upgrade
from shared_models.wording import finding_parts as words
from sync_server.services.judging import JudgingAnew
from tests.fitting_desk import CLINIC, PROSTHETIST
from tests.sync_server.test_timings_on_the_page import words_of

#: FDA, "UDI formats by FDA-accredited issuing agency" 1.3 (2017): the example of GS1.
UDI = "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"


def exchange_foot(desk, **numbers):
    """Another foot of the same sheet, with numbers of its own."""
    head = desk.head("component/foot")
    return desk.note("component", {**head.body, **numbers})


def search(house, text: str):
    answer = house.lead().client.get("/parts", params={"search": text})
    assert answer.status_code == 200
    return answer


def lines(house, text: str) -> list[dict[str, str]]:
    answer = house.lead().client.get("/parts.csv", params={"search": text})
    assert (answer.status_code, answer.headers["content-type"]) == (200, "text/csv; charset=utf-8")
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


@pytest.mark.both_stores
def test_a_lot_finds_who_carries_it_now_and_who_carried_it_before(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("component/foot"), serial="F-1", lot="L-77")
    exchange_foot(desk, serial="F-2", lot="L-78")
    assert tablet.push().status_code == 200
    before, = lines(house, "L-77")
    now, = lines(house, "l-78")
    assert (before["Carries"], before["Serial"], before["Name"]) == (words.BEFORE, "F-1", "Ash Example")
    assert (now["Carries"], now["Serial"], now["File number"]) == (words.NOW, "F-2", "D-2041")
    page = words_of(search(house, "L-77"))
    assert "Carried it before 1" in page and "Ash Example" in page and "Carries it now" not in page


def test_a_serial_that_was_mistyped_and_corrected_finds_nobody(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("component/foot"), serial="F-WRONG")
    desk.correct(desk.head("component/foot"), serial="F-RIGHT")
    assert tablet.push().status_code == 200
    assert lines(house, "F-WRONG") == []
    assert [line["Serial"] for line in lines(house, "F-RIGHT")] == ["F-RIGHT"]
    assert words.NOBODY in words_of(search(house, "F-WRONG"))


def test_a_scanned_code_finds_the_part_it_names(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("component/knee"), device_identifier="51022222233336", lot="A213B1", serial="1234")
    assert tablet.push().status_code == 200
    found, = lines(house, UDI)
    assert (found["Place"], found["Serial"]) == ("Knee", "1234")
    assert "Read as a code: device identifier 51022222233336, lot A213B1, serial 1234" in words_of(search(house, UDI))


def test_a_code_whose_check_digit_is_wrong_is_refused_with_the_right_one(house, tablet):
    assert tablet.push().status_code == 200
    page = words_of(search(house, UDI.replace("33336", "33337")))
    assert "is 7, and it should be 6" in page


def test_a_components_name_finds_everybody_who_carries_one(house, tablet):
    assert tablet.push().status_code == 200
    found, = lines(house, "Elm demo foot (invented)")
    assert found["Component"] == "Elm demo foot (invented)"


def test_a_name_that_begins_like_a_formula_stays_a_text_in_the_call_list(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("component/foot"), serial="=1+1")
    assert tablet.push().status_code == 200
    found, = lines(house, "=1+1")
    assert found["Serial"] == "'=1+1"


def test_each_persons_line_that_was_shown_is_in_the_audit_log(house, tablet):
    assert tablet.push().status_code == 200
    lines(house, "none marked")
    shown = [row for row in house.station.audit.rows() if row.what == "find by part"]
    assert [row.subject for row in shown] == ["fitting/fitting-1"]


def test_nobody_is_found_without_having_logged_in(house, tablet):
    assert tablet.push().status_code == 200
    for path in ("/parts", "/parts.csv"):
        answer = house.client().get(path, params={"search": "none marked"})
        assert answer.status_code in (303, 401) and "Ash" not in answer.text


@pytest.mark.both_stores
def test_a_page_shows_the_first_lines_and_the_call_list_has_everybody(house, tablet):
    desk, count = tablet.desk, MOST + 5
    whole = desk.head("component/foot").body
    for number in range(count):
        fitting = Subject("fitting", f"many-{number:04d}")
        desk.note("opened", {"person": f"p-{number:04d}", "prosthetist": PROSTHETIST, "side": "left"}, subject=fitting)
        desk.note("component", {**whole, "serial": f"M-{number:04d}", "lot": "L-MANY"}, subject=fitting)
        if number % 2:
            desk.note("component", {**whole, "serial": f"N-{number:04d}", "lot": "L-NEXT"}, subject=fitting)
    assert tablet.push().status_code == 200
    before = len(house.station.audit.rows())
    page = search(house, "L-MANY")
    now = (count + 1) // 2
    assert f"Carries it now {now}" in words_of(page) and f"Carried it before {count - now}" in words_of(page)
    assert f"{count} lines were found, and the first {MOST} are shown" in words_of(page)
    assert page.text.count("<tr>") == MOST + 2
    found = lines(house, "L-MANY")
    assert sorted(line["Serial"] for line in found) == [f"M-{n:04d}" for n in range(count)]
    assert [line["Carries"] for line in found] == [words.NOW] * now + [words.BEFORE] * (count - now)
    read = [r.subject for r in house.station.audit.rows()[before:] if r.what == "find by part"]
    assert len(read) == MOST + count and len(set(read)) == count


# Calling them -----------------------------------------------------------------------------


@pytest.mark.both_stores
def test_whoever_carries_the_part_can_be_called_from_the_list_and_from_the_fitting(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("identity"), telephone="+44 (0)1632 960-123")
    assert tablet.push().status_code == 200
    found, = lines(house, "Elm demo foot (invented)")
    assert found["Telephone"] == "Tel. +44 (0)1632 960-123"
    calls = '<a href="tel:+441632960123"><bdi dir="ltr">+44 (0)1632 960-123</bdi></a>'
    for page in (search(house, "Elm demo foot (invented)"), house.lead().open()):
        assert calls in page.text and "Telephone" in words_of(page)
    desk.correct(desk.head("identity"), telephone="01632 960124")
    assert tablet.push().status_code == 200
    found, = lines(house, "Elm demo foot (invented)")
    assert found["Telephone"] == "Tel. 01632 960124", "the number last noted is called"


@pytest.mark.both_stores
def test_a_person_without_a_number_is_said_to_have_none(house, tablet):
    assert tablet.push().status_code == 200
    found, = lines(house, "Elm demo foot (invented)")
    assert found["Telephone"] == "not recorded"
    cell = '<td class="figure" data-label="Telephone">not recorded</td>'
    assert cell in search(house, "Elm demo foot (invented)").text
    assert "Telephone: not recorded" in words_of(house.lead().open())


@pytest.mark.parametrize("written", [
    "+44 1632 960123", "-1632 960123", "=1632+960123", "@01632960123", "01632960123", "(01632)", "0163/2", '"01632","960123"',
    "01632\n960123", "\t01632 960123", "<b>01632 960123</b>",
])
def test_a_number_is_a_text_to_a_spreadsheet_with_every_sign_it_was_written_with(house, tablet, written):
    desk = tablet.desk
    desk.correct(desk.head("identity"), telephone=written)
    assert tablet.push().status_code == 200
    found, = lines(house, "Elm demo foot (invented)")
    assert found["Telephone"] == f"Tel. {written}", "a letter begins it: no formula, and no figure whose first nought is dropped"
    page = search(house, "Elm demo foot (invented)").text
    assert "<b>0" not in page and 'href="javascript' not in page


def test_a_number_that_is_not_surely_one_is_shown_and_calls_nobody(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("identity"), telephone="01632 960123, in the evening 01632 960124")
    assert tablet.push().status_code == 200
    for page in (search(house, "Elm demo foot (invented)"), house.lead().open()):
        assert "in the evening 01632 960124" in page.text and 'href="tel:' not in page.text


@pytest.mark.both_stores
def test_a_number_that_came_before_the_server_had_a_place_for_it_is_on_the_call_list_once_it_has(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("identity"), telephone="01632 960123")
    desk.note("identity", {"family_name": "Numberless", "given_name": "Bo"}, subject=Subject("person", "person-2"))
    assert tablet.push().status_code == 200
    with house.station.store.writing() as connection:
        connection.execute(text("ALTER TABLE read_person DROP COLUMN telephone"))
        connection.execute(text("UPDATE alembic_version SET version_num = '0010'"))
        upgrade(connection, "server", Schema())
        assert revision_of(connection) == "0011"
        assert connection.execute(select(judge_anew.c.clinic, judge_anew.c.sort, judge_anew.c.subject)).all() == [
            (CLINIC, "person", "person-1")], "of whom no number came nothing is read anew"
    assert lines(house, "Elm demo foot (invented)")[0]["Telephone"] == "not recorded"
    JudgingAnew(house.station).work_off()
    assert lines(house, "Elm demo foot (invented)")[0]["Telephone"] == "Tel. 01632 960123"
