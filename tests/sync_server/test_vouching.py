"""A sign-off with a key that nobody vouched for does not count, on server and tablet."""

from __future__ import annotations

from shared_models.entries.composing import Author, ChainEnd
from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.entries.signatures import new_key, public_text
from sync_server.services.staffing import begin_vouching
from tests.sync_server.conftest import JoinedDesk


def states_on_server(tablet) -> dict[str, str]:
    """What the server's verdict says of each step."""
    answer = tablet.client.get("/exchange/demo-clinic/verdicts/fitting-1", headers=tablet.headers)
    return {s["key"]: s["state"] for s in answer.json()["verdict"]["steps"]}


def test_a_tablet_enrolled_with_a_code_for_nobody_signs_off_nothing(house):
    tablet = house.tablet(JoinedDesk("tablet-x"), enrolled=False)
    assert tablet.enrol(house.server.gate.new_code("demo-clinic")).status_code == 200
    tablet.take_all()
    tablet.desk.staff().before_the_bench().on_the_bench().tune().close().hand_over()
    assert tablet.push().status_code == 200, "all is kept"
    tablet.take_all()
    here = tablet.desk.verdict()
    assert states_on_server(tablet)["sign_off"] == here.step("sign_off").state == "open"
    assert "signature_unvouched" in {r.code for r in here.step("sign_off").remarks}
    page = house.lead().open().text
    assert "nobody has vouched for" in page


def test_with_a_code_issued_for_the_technician_their_sign_off_counts(house, tablet):
    assert tablet.push().status_code == 200
    assert states_on_server(tablet)["sign_off"] == "met"


def test_a_clinic_from_before_the_rule_keeps_every_key_that_it_had(house):
    """As a store of the older program has it: the clinic doesn't ask yet."""
    station = house.station
    with station.writing("older") as reading:
        facts = [f for f in station.founding_facts("older", "Older clinic") if f[0] != "clinic"]
        subject = station.founding_facts("older", "Older clinic")[1][1]
        station.record_facts(reading, [*facts, ("clinic", subject, {"name": "Older clinic"})])
    known = new_key()
    entry = Author(Record(), ChainEnd("older", "tablet-old"), station.clock).record_fact(
        "staff_key", Subject("staff", "someone"),
        {"tablet": "tablet-old", "public_key": public_text(known)}, "someone",
    )
    station.entries.add_all([entry])
    begin_vouching(station)
    with station.reading("older") as reading:
        record = reading.staff_record()
    assert public_text(known) in record.vouched.of("someone")
    assert record.head(Subject("clinic", "older"), "clinic").body["keys_vouched"] is True
    before = station.entries.count()
    begin_vouching(station)
    assert station.entries.count() == before, "once"
