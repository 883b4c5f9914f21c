"""Verdicts and read tables follow the entries, and can be made from them alone."""

from __future__ import annotations

import pytest

from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.envelope import Subject
from shared_models.exchange import batch as batches
from shared_models.ledger.lead_queries import Wanted, lines
from shared_models.ledger.server_read_rows import read_rows
from tests.fitting_desk import CLINIC, LEAD, TECHNICIAN
from tests.sync_server.photos import photo_of
from tests.sync_server.conftest import JoinedDesk

pytestmark = pytest.mark.both_stores


def listed(house):
    """Every fitting of the lead's list, whichever of its four groups it stands in."""
    with house.station.store.reading() as connection:
        wanted = Wanted(CLINIC, house.station.today())
        return [line for part in ("waiting", "returned", "in_progress", "accepted")
                for line in lines(connection, wanted, part, 100)]


def rows(house):
    with house.station.store.reading() as connection:
        return read_rows(connection, CLINIC)


def disturb(desk) -> None:
    """Turn, correct, withdraw; open a second fitting of the same person."""
    desk.turn("swing_flexion", "9")
    desk.correct(desk.head("body"), body_mass_kg="83.0")
    desk.withdraw(desk.head("skin/end"))
    second = Subject("fitting", "fitting-2")
    desk.note("opened", {"person": "person-1", "prosthetist": LEAD, "side": "right"}, subject=second)
    desk.note("body", {"body_mass_kg": "90.0", "carried_load_kg": "0"}, subject=second)
    desk.note("photo", photo_of("ab" * 32), subject=second)


def test_read_tables_made_anew_are_the_same_row_for_row(house, tablet):
    disturb(tablet.desk)
    own = tablet.own()
    for start in range(0, len(own), 11):
        assert tablet.push(own[start:start + 11]).status_code == 200
    kept = rows(house)
    assert all(kept[name] for name in kept)
    assert house.station.rebuild(CLINIC) == 2
    assert rows(house) == kept


def test_it_does_not_matter_in_which_pieces_the_entries_came(house, tablet, tmp_path, begun):
    disturb(tablet.desk)
    tablet.push()
    kept = rows(house)
    house.station.rebuild(CLINIC)
    tablet.push()
    assert rows(house) == kept


def test_a_component_can_be_found_by_its_serial(house, tablet):
    desk = tablet.desk
    knee = desk.head("component/knee")
    desk.correct(knee, serial="K-7731", lot="L-9")
    tablet.push()
    found = [row for row in rows(house)["read_component"] if "K-7731" in row]
    assert len(found) == 1 and "L-9" in found[0] and "person-1" in found[0]


def test_a_part_exchanged_at_a_later_visit_is_carried_now_and_the_one_before_was(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("component/foot"), serial="F-100")
    sheet = desk.record.entries[desk.head("component/foot").body["sheet_digest"]]
    tablet.push()
    desk.visit().component("foot", sheet, "F-200")

    def feet():
        found = [row for row in rows(house)["read_component"] if "F-100" in row or "F-200" in row]
        return {next(v for v in row if v in ("F-100", "F-200")): next(v for v in row if isinstance(v, bool)) for row in found}

    tablet.push()
    assert feet() == {"F-100": False, "F-200": True}
    kept = rows(house)
    assert house.station.rebuild(CLINIC) == 2 and rows(house) == kept
    desk.withdraw(desk.head("component/foot"))
    tablet.push()
    assert feet() == {"F-100": True}
    house.station.rebuild(CLINIC)
    assert feet() == {"F-100": True}


def test_a_visit_is_judged_anew_when_the_fitting_it_starts_from_changes(house, tablet):
    desk = tablet.desk
    desk.visit().asked()
    desk.compared()
    tablet.push()
    before = rows(house)["verdict"] if "verdict" in rows(house) else None
    desk.fitting = Subject("fitting", "fitting-1")
    desk.withdraw(desk.head("component/foot"))
    tablet.push()
    kept = rows(house)
    house.station.rebuild(CLINIC)
    assert rows(house) == kept and kept.get("verdict") != before


def test_the_list_counts_what_is_missing(house, tablet):
    tablet.push()
    assert [row.missing for row in listed(house)] == [0]
    tablet.desk.withdraw(tablet.desk.head("handover"))
    tablet.desk.withdraw(tablet.desk.head("consent"))
    tablet.push()
    assert [row.missing for row in listed(house)] == [2]


def test_a_signature_that_arrives_later_counts_from_then_on(house, tablet):
    own, desk = tablet.own(), tablet.desk
    bare = batches.batch_of(CLINIC, own, [tablet.head_signature(own[-1])])
    tablet.push(data=batches.encode(bare))
    assert state_of(house) == "incomplete"
    alone = batches.batch_of(CLINIC, [], list(desk.record.signatures.values()))
    assert tablet.push(data=batches.encode(alone)).status_code == 200
    assert state_of(house) == "complete"


def state_of(house) -> str:
    return listed(house)[0].state


def test_a_change_of_the_staff_list_reaches_every_verdict(house, tablet):
    tablet.push()
    assert state_of(house) == "complete"
    with house.station.writing(CLINIC) as reading:
        house.station.record_facts(reading, [
            ("staff", Subject("staff", TECHNICIAN), {"name": "Tamsin Thread", "roles": ["prosthetist"]})])
    assert state_of(house) == "incomplete"


def test_a_sheet_that_arrives_after_its_component_is_taken_up(house, tablet):
    tablet.push()
    body = {**demo_sheet("knee_alder"), "version": "2"}
    subject = Subject("component_sheet", body["sheet"])
    sheet = tablet.desk.author.record_fact("component_sheet", subject, body, LEAD)
    tablet.desk.author.accepted(sheet)
    component = tablet.desk.component("knee", sheet)
    tablet.desk.record.add([sheet])
    tablet.push()
    versions = {row[6] for row in rows(house)["read_component"] if row[2] == "knee"}
    assert component.digest and versions == {"2"}


@pytest.mark.parametrize("show, search, found", [
    ("", "", True), ("", "ash d-2041", True), ("", "Prosper", True), ("", "somebody else", False),
    ("waiting", "", True), ("accepted", "", False), ("no such group", "ASH", True),
])
def test_the_list_is_filtered_and_searched(house, tablet, show, search, found):
    tablet.push()
    page = house.lead().client.get("/fittings", params={"show": show, "search": search})
    assert ("Ash Example" in page.text) is found


def test_the_list_moves_a_fitting_from_group_to_group(house, tablet):
    desk, lead, seen = tablet.desk, house.lead(), []

    def look() -> None:
        seen.append(listed(house)[0].standing)

    tablet.push(), look()
    lead.decide(lead.open(), "rejected", **{"remark-caps": "Cap loose."}), look()
    tablet.take_all(), desk.caps(), desk.walk("final_walk"), desk.request_review()
    tablet.push(), look()
    assert lead.decide(lead.open(), "accepted").status_code == 303
    look()
    tablet.take_all(), desk.turn("swing_flexion", "9"), tablet.push(), look()
    assert seen == ["waiting", "returned", "waiting", "accepted", "waiting"]


def test_a_component_is_judged_anew_when_its_sheet_arrives_after_it(house, tablet):
    tablet.push()
    second = house.tablet(JoinedDesk("tablet-b"))
    second.take_all()
    body = {**demo_sheet("knee_alder"), "version": "2"}
    sheet = second.desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", body["sheet"]))
    tablet.desk.component("knee", sheet)
    tablet.push()
    assert knee_version(house) is None
    second.push()
    assert knee_version(house) == "2"


def knee_version(house):
    return next(row[6] for row in rows(house)["read_component"] if row[2] == "knee")
