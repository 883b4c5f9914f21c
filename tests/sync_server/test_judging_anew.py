"""A change that very many verdicts rest on is marked at once and followed in pieces."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import time

import httpx
import pytest
from sqlalchemy import select

from shared_models.entries.envelope import Subject
from shared_models.ledger import judging_anew, server_read_rows
from shared_models.ledger.judging_anew import PIECE, clinics_waiting, next_marked, waiting
from shared_models.ledger.read_tables import judge_anew, read_staff
from shared_models.ledger.tables import verdict as verdict_table
from sync_server.services.judging import JudgingAnew
from sync_server.services.staffing import demo_lead
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, TECHNICIAN
from tests.sync_server.conftest import JoinedDesk, Tablet
from tests.sync_server.server_process import ServerProcess
from tests.sync_server.test_people_page import act
from tests.sync_server.test_read_tables import disturb, rows

pytestmark = pytest.mark.both_stores
NEW_NAME = "Somebody Renamed (invented)"
MANY = 130


@pytest.fixture
def everything_is_many(monkeypatch):
    """However few fittings a change concerns, it is not followed at once."""
    monkeypatch.setattr(judging_anew, "AT_ONCE", 0)


def say(house, staff: str, **changed) -> None:
    """Change what the staff list says of somebody."""
    with house.station.writing(CLINIC) as reading:
        known = dict(reading.staff_record().staff_body(staff))
        house.station.record_facts(reading, [("staff", Subject("staff", staff), {**known, **changed})])


def marked(house) -> list[str]:
    with house.station.reading(CLINIC) as reading:
        return [id_ for _, id_ in next_marked(reading, 10_000)]


def work_off(house) -> int:
    return JudgingAnew(house.station).work_off()


def judged_with(house, name: str) -> set[str]:
    """The fittings whose kept verdict says a name."""
    with house.station.store.reading() as connection:
        return set(connection.scalars(select(verdict_table.c.fitting).where(verdict_table.c.detail.contains(name))))


def many_signed_off(tablet: Tablet, count: int = MANY) -> None:
    """Push fittings that hold little more than a technician's unsigned sign-off: its gap says their name."""
    for number in range(count):
        subject = Subject("fitting", f"thin-{number:04d}")
        tablet.desk.note("opened", {"person": f"p-{number}", "prosthetist": PROSTHETIST, "side": "left"}, subject=subject)
        tablet.desk.note("sign_off", {"technician": TECHNICIAN, "way": "witnessed"}, by=TECHNICIAN, subject=subject)
    assert tablet.push().status_code == 200


def test_a_new_name_marks_only_the_fittings_that_rest_on_that_person(house, tablet, everything_is_many):
    many_signed_off(tablet, 3)
    tablet.desk.note("opened", {"person": "p-x", "prosthetist": PROSTHETIST, "side": "left"}, subject=Subject("fitting", "bare"))
    tablet.push()
    say(house, TECHNICIAN, name=NEW_NAME)
    assert set(marked(house)) == {"thin-0000", "thin-0001", "thin-0002", "fitting-1"}
    assert judged_with(house, NEW_NAME) == set()
    assert work_off(house) == 1 and marked(house) == []
    assert judged_with(house, NEW_NAME) == {"thin-0000", "thin-0001", "thin-0002"}


def test_few_fittings_are_judged_with_the_change_itself(house, tablet):
    many_signed_off(tablet, 3)
    say(house, TECHNICIAN, name=NEW_NAME)
    assert marked(house) == [] and len(judged_with(house, NEW_NAME)) == 3


@pytest.mark.parametrize("staff", (PROSTHETIST, TECHNICIAN, LEAD))
@pytest.mark.parametrize("changed", ({"name": NEW_NAME}, {"roles": []}, {"roles": ["lead_clinician", "technician"]}))
def test_pieces_end_where_a_rebuild_ends_whoever_changes(house, tablet, everything_is_many, staff, changed):
    disturb(tablet.desk)
    many_signed_off(tablet, 2)
    say(house, staff, **changed)
    work_off(house)
    kept = rows(house)
    assert house.station.rebuild(CLINIC) == 4
    assert rows(house) == kept and marked(house) == []


def test_a_voucher_and_its_authors_role_concern_whoever_was_vouched_for(house, everything_is_many):
    """A key counts, ceases to count with the lead's role and counts again; each time the sign-off is judged anew."""
    tablet = house.tablet(JoinedDesk("tablet-x"), enrolled=False)
    tablet.enrol(house.server.gate.new_code(CLINIC))  # for nobody by name
    tablet.take_all()
    tablet.desk.staff().before_the_bench().on_the_bench().tune().close().hand_over()
    tablet.push()
    lead = house.lead()
    for digest in re.findall(r'name="key" value="([0-9a-f]{64})"', lead.client.get("/people").text):
        assert act(lead, "vouch", key=digest, password=demo_lead()["password"]).status_code == 303
    assert marked(house) == ["fitting-1"] and "signature_unvouched" in kept_detail(house)
    work_off(house)
    assert "signature_unvouched" not in kept_detail(house)
    for roles in ([], ["lead_clinician"]):
        say(house, demo_lead()["id"], roles=roles)
        assert marked(house) == ["fitting-1"]
        work_off(house)
        assert ("signature_unvouched" in kept_detail(house)) is not bool(roles)
        kept = rows(house)
        house.station.rebuild(CLINIC)
        assert rows(house) == kept


def kept_detail(house) -> str:
    with house.station.store.reading() as connection:
        return connection.scalar(select(verdict_table.c.detail).where(verdict_table.c.fitting == "fitting-1"))


def test_the_list_says_which_lines_wait_and_a_fitting_opened_is_judged_at_once(house, tablet, everything_is_many):
    tablet.push()
    lead = house.lead()
    said = "is being judged anew, since something changed"
    before = lead.client.get("/fittings").text
    assert said not in before and "being judged anew" not in before
    say(house, TECHNICIAN, roles=[])
    assert marked(house) == ["fitting-1"]
    page = lead.client.get("/fittings").text
    assert f"1 fitting {said}" in page and page.count("being judged anew") == 2
    assert "complete" not in page.split("<tbody>")[1].split("</tbody>")[0].lower()
    assert "technician" in lead.open().text and marked(house) == ["fitting-1"]
    work_off(house)
    after = lead.client.get("/fittings").text
    assert "being judged anew" not in after and "1 missing" in after


def test_a_push_that_touches_a_marked_fitting_takes_its_mark(house, tablet, everything_is_many):
    many_signed_off(tablet, 2)
    say(house, TECHNICIAN, name=NEW_NAME)
    assert set(marked(house)) == {"fitting-1", "thin-0000", "thin-0001"}
    tablet.desk.withdraw(tablet.desk.head("consent"))
    tablet.push()
    assert marked(house) == ["thin-0000", "thin-0001"]
    work_off(house)
    kept = rows(house)
    house.station.rebuild(CLINIC)
    assert rows(house) == kept


KILLED = """
import os, signal, sys
from pathlib import Path
from shared_models.ledger import server_read_rows
from shared_models.ledger.opening import open_store
from sync_server.services.judging import JudgingAnew
from sync_server.services.staffing import demo_lead
from sync_server.services.station import Station, signing_key_in

judge, seen = server_read_rows.judge, []

def judged(view, *more):
    seen.append(view.id)
    if len(seen) == int(sys.argv[3]):
        os.kill(os.getpid(), signal.SIGKILL)
    return judge(view, *more)

server_read_rows.judge = judged
JudgingAnew(Station(open_store(sys.argv[1], "server"), signing_key_in(Path(sys.argv[2])))).work_off()
"""


@pytest.mark.parametrize("at", (1, PIECE + 7, 3 * PIECE))
def test_killed_in_a_piece_the_piece_is_not_done_and_another_process_goes_on(house, tablet, at):
    many_signed_off(tablet)
    say(house, TECHNICIAN, name=NEW_NAME)
    whole = marked(house)
    assert len(whole) == MANY + 1
    ended = subprocess.run(
        [sys.executable, "-c", KILLED, house.settings.store, house.settings.key_file, str(at)], timeout=120,
    )
    assert ended.returncode == -signal.SIGKILL
    done = (at - 1) // PIECE * PIECE
    left = marked(house)
    assert left == whole[done:]  # the piece in which it was killed is whole again
    assert judged_with(house, NEW_NAME) == {f for f in whole[:done] if f.startswith("thin")}
    served = ServerProcess(house.settings.store, house.settings.key_file)
    try:
        with httpx.Client(base_url=served.address) as client:
            until = time.monotonic() + 60
            while "stancebook_to_judge_anew 0\n" not in client.get("/metrics").text:
                assert time.monotonic() < until, "the server does not go on"
    finally:
        served.stop()
    assert marked(house) == [] and len(judged_with(house, NEW_NAME)) == MANY
    kept = rows(house)
    house.station.rebuild(CLINIC)
    assert rows(house) == kept


def test_a_rebuild_that_was_killed_is_gone_on_with(house, tablet, monkeypatch):
    many_signed_off(tablet, 2 * PIECE)
    kept = rows(house)
    station, piece = house.station, house.station.judge_piece
    monkeypatch.setattr(station, "judge_piece", lambda *_: None)  # ended after marking
    station.rebuild(CLINIC)
    monkeypatch.setattr(station, "judge_piece", piece)
    assert len(piece(CLINIC)) == PIECE and len(marked(house)) > PIECE
    station.fill_lists()
    assert marked(house) == [] and rows(house) == kept


def test_a_rebuild_throws_away_what_no_entry_stands_behind(house, tablet):
    tablet.push()
    kept = rows(house)
    with house.station.store.writing() as connection:
        connection.execute(read_staff.insert().values(clinic=CLINIC, staff="nobody", fitting="no-fitting"))
        connection.execute(read_staff.insert().values(clinic=CLINIC, staff="nobody", fitting="fitting-1"))
    house.station.rebuild(CLINIC)
    assert rows(house) == kept


def test_a_fitting_that_cannot_be_judged_is_left_marked_and_the_rest_goes_on(house, tablet, monkeypatch, caplog):
    many_signed_off(tablet, 5)
    with house.station.writing(CLINIC) as reading:
        judging_anew.mark_all(reading.connection, CLINIC)
    judge = server_read_rows.judge

    def judged(view, *more):
        if view.id == "thin-0002":
            raise ValueError("a name that no log may hold")
        return judge(view, *more)

    monkeypatch.setattr(server_read_rows, "judge", judged)
    work_off(house)
    assert marked(house) == ["thin-0002"]
    assert '"event": "not_judged"' in caplog.text and "a name that" not in caplog.text
    monkeypatch.setattr(server_read_rows, "judge", judge)
    work_off(house)
    assert marked(house) == []


def test_marks_of_one_clinic_are_no_other_clinics(house, tablet, everything_is_many):
    tablet.push()
    say(house, TECHNICIAN, name=NEW_NAME)
    with house.station.store.reading() as connection:
        assert clinics_waiting(connection) == {CLINIC: 1} and waiting(connection, "another") == 0
        assert connection.scalars(select(judge_anew.c.sort)).all() == ["fitting"]
    with house.station.writing("another") as reading:
        assert judging_anew.judge_piece(reading, house.station.today()) == []
    assert marked(house) == ["fitting-1"]
