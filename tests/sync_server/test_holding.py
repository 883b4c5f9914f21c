"""A tablet or person whose access was taken away loses nothing, and changes nothing unasked."""

from __future__ import annotations

import pytest
from sqlalchemy import delete, select, update

from shared_models.entries.envelope import Subject
from shared_models.entries.vouching import has_ended
from shared_models.exchange import batch as batches
from shared_models.exchange.answers import decode_receipt
from shared_models.ledger.holding import Holding, HoldingRefusal
from shared_models.ledger.tables import metadata
from sync_server.services.holding import decide_held, end_person
from sync_server.services.people import LISTED
from sync_server.services.signing_in import SessionRefusal
from sync_server.services.staffing import NewLead, add_lead
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, TECHNICIAN
from tests.sync_server.conftest import copy_of

pytestmark = pytest.mark.both_stores
LEADS = (LEAD, "lead")


def held(house):
    with house.station.reading(CLINIC) as reading:
        return Holding(reading.connection, CLINIC).items()


def stored(house, tablet) -> list[str]:
    """Digests of the tablet's chain in the clinic's sequence, in order."""
    return [e.digest for e in house.station.entries.chain(CLINIC, tablet.name)]


def half_sent(tablet) -> list:
    own = tablet.own()
    assert tablet.push(own[:20]).status_code == 200
    return own


@pytest.mark.parametrize("days", [0, -400, 400])
def test_what_a_tablet_had_not_sent_when_its_access_was_taken_is_held_whatever_its_clock_says(house, tablet, days):
    own = half_sent(tablet)
    tablet.desk.author.clock = type(tablet.desk.author.clock)(lambda: 1_790_000_000_000 + days * 86_400_000)
    house.server.gate.revoke(tablet.name, "lost on the way")
    before = house.station.entries.last_sequence(CLINIC)
    tablet.desk.note("body", {"body_mass_kg": "80", "carried_load_kg": "0"})
    answer = tablet.push(tablet.own()[20:])
    assert answer.status_code == 200
    receipt = decode_receipt(answer.content)
    assert receipt.stored == 0 and receipt.held >= len(own) - 20 + 1
    assert house.station.entries.last_sequence(CLINIC) == before, "nothing of it is in the sequence"
    items = [i for i in held(house) if hasattr(i.item, "envelope")]
    assert [i.item for i in items] == tablet.own()[20:], "and all of it is held, unharmed"
    assert {i.who for i in items} <= {PROSTHETIST, TECHNICIAN, LEAD}


def test_a_tablet_whose_access_was_taken_reads_nothing_more(house, tablet):
    half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    assert tablet.pull().status_code == 401
    assert tablet.client.get(f"/exchange/{CLINIC}/standing", headers=tablet.headers).status_code == 401


def test_it_may_bring_the_rest_in_pieces_and_again_and_each_item_is_held_once(house, tablet):
    own = half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    for first, last in ((20, 30), (30, len(own)), (20, 30), (20, len(own))):
        assert tablet.push(own[first:last]).status_code == 200
    assert [i.digest for i in held(house) if hasattr(i.item, "envelope")] == [e.digest for e in own[20:]]


def test_taken_in_by_the_lead_it_is_the_same_entries_with_their_signatures(house, tablet):
    own = half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    tablet.push(own[20:])
    count = decide_held(house.station, CLINIC, tablet.name, True, "I know this work", LEADS, "here")
    assert count > len(own) - 20 and not held(house)
    assert stored(house, tablet) == [e.digest for e in own]
    with house.station.reading(CLINIC) as reading:
        view = reading.view("fitting-1")
        decided = [e for e in reading.of_kinds("held_decided") if e.body["taken_in"]]
    sign_off = view.head("sign_off")
    assert view.record.has_signed(sign_off, "signs_off"), "the technician's signature came with it"
    assert decided[0].recorded_by == LEAD and decided[0].body["reason"] == "I know this work"


def test_the_lead_takes_in_a_part_and_leaves_the_rest_held(house, tablet):
    own = half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    tablet.push(own[20:])
    decide_held(house.station, CLINIC, tablet.name, True, "up to here", LEADS, "here", up_to=own[24].digest)
    assert stored(house, tablet) == [e.digest for e in own[:25]]
    decide_held(house.station, CLINIC, tablet.name, False, "not sure of the rest", LEADS, "here")
    assert stored(house, tablet) == [e.digest for e in own[:25]]
    left = held(house)
    assert {i.decision for i in left} == {"left"} and len([i for i in left if i.number]) == len(own) - 25
    decide_held(house.station, CLINIC, tablet.name, True, "asked the technician", LEADS, "here")
    assert stored(house, tablet) == [e.digest for e in own]


def test_a_decision_without_a_reason_or_over_nothing_is_refused(house, tablet):
    for about, reason, code in ((tablet.name, " ", "reason_missing"), ("nobody", "why", "held_not_there")):
        with pytest.raises(HoldingRefusal) as refused:
            decide_held(house.station, CLINIC, about, True, reason, LEADS, "here")
        assert refused.value.code == code


def test_a_hub_that_brings_a_taken_tablets_entries_has_them_held_and_its_own_stored(house, tablet):
    own = half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    hub = house.tablet(copy_of(tablet.desk).beside("tablet-hub"))
    hub.desk.note("body", {"body_mass_kg": "79", "carried_load_kg": "0"})
    mine = hub.own()
    both = batches.batch_of(CLINIC, [*own[20:], *mine], [
        hub.head_signature(mine[-1]), tablet.head_signature(own[-1]),
    ])
    answer = hub.push(data=batches.encode(both))
    assert answer.status_code == 200, answer.text
    assert stored(house, hub) == [e.digest for e in mine]
    assert stored(house, tablet) == [e.digest for e in own[:20]]
    assert {i.about for i in held(house)} == {tablet.name} and {i.brought_by for i in held(house)} == {hub.name}


def test_a_taken_tablet_comes_back_only_as_another(house, tablet):
    half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    again = tablet.enrol(house.code())
    assert again.status_code == 409 and again.json()["code"] == "tablet_id_taken"


def test_forged_entries_under_a_taken_tablets_name_are_refused_not_held(house, tablet):
    own = half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    from shared_models.entries.signatures import new_key

    tablet.key = new_key()
    assert tablet.push(own[20:]).status_code == 422
    assert not held(house)


def test_the_signature_of_somebody_who_no_longer_works_here_is_held_and_their_entries_are_not(house, tablet):
    end_person(house.station, CLINIC, TECHNICIAN, True, "left the clinic", LEAD)
    answer = tablet.push()
    assert answer.status_code == 200 and decode_receipt(answer.content).held == 1
    assert stored(house, tablet) == [e.digest for e in tablet.own()], "no entry waits"
    with house.station.reading(CLINIC) as reading:
        view = reading.view("fitting-1")
    assert not view.record.has_signed(view.head("sign_off"), "signs_off"), "no new signature counts"
    one = held(house)[0]
    assert one.about == TECHNICIAN
    decide_held(house.station, CLINIC, TECHNICIAN, True, "signed before leaving", LEADS, "here", up_to=one.digest)
    with house.station.reading(CLINIC) as reading:
        view = reading.view("fitting-1")
    assert view.record.has_signed(view.head("sign_off"), "signs_off")


def test_what_somebody_signed_before_they_left_still_counts(house, tablet):
    assert tablet.push().status_code == 200
    end_person(house.station, CLINIC, TECHNICIAN, True, "left the clinic", LEAD)
    with house.station.reading(CLINIC) as reading:
        view = reading.view("fitting-1")
        assert view.record.head(Subject("staff", TECHNICIAN), "access").body["ended"] is True
    assert view.record.has_signed(view.head("sign_off"), "signs_off")


def test_two_leads_who_end_each_other_at_once_leave_one(house):
    second = add_lead(house.station, house.server.door.accounts, CLINIC, NewLead("second.lead", "Second", "four unrelated words")).staff_id
    end_person(house.station, CLINIC, second, True, "left", LEAD)
    with pytest.raises(SessionRefusal) as refused:
        end_person(house.station, CLINIC, LEAD, True, "left", second)
    assert refused.value.code == "role_missing"
    with house.station.reading(CLINIC) as reading:
        assert not has_ended(reading.staff_record(), LEAD)


def test_a_restored_server_that_forgot_it_took_an_access_away_learns_it_again_from_another_tablet(house, tablet):
    half_sent(tablet)
    other = house.tablet(copy_of(tablet.desk).beside("tablet-other"))
    before = {table: rows(house, table) for table in ("tablet_access", "entry", "signature", "clinic_sequence")}
    house.server.gate.revoke(tablet.name, "lost")
    page = other.take_all()
    put_back(house, before)
    assert tablet.pull().status_code == 200, "the older copy lets it in again"
    news = [e for e in page.entries if e.body.get("revoked")]
    signed = [s for s in page.signatures if s.signs in {e.digest for e in news}]
    assert other.push(data=batches.encode(batches.batch_of(CLINIC, news, signed))).status_code == 200
    assert tablet.pull().status_code == 401


def rows(house, table: str) -> list:
    with house.station.store.reading() as connection:
        return [tuple(r) for r in connection.execute(select(metadata.tables[table]))]


def put_back(house, kept: dict) -> None:
    with house.station.store.writing() as connection:
        for table, found in kept.items():
            connection.execute(delete(metadata.tables[table]))
            names = [c.name for c in metadata.tables[table].columns]
            for row in found:
                connection.execute(metadata.tables[table].insert().values(dict(zip(names, row))))


def test_the_page_counts_what_is_held_and_reads_no_more_of_it_than_it_lists(house, tablet):
    own = half_sent(tablet)
    for number in range(LISTED):
        tablet.desk.note("body", {"body_mass_kg": "80", "carried_load_kg": str(number % 40)})
    house.server.gate.revoke(tablet.name, "lost")
    all_of_it = tablet.own()[20:]
    assert tablet.push(all_of_it).status_code == 200 and len(all_of_it) > len(own) - 20 + LISTED - 1
    with house.station.store.writing() as connection:  # read, this one would be refused as damaged
        table = metadata.tables["held"]
        connection.execute(update(table).where(table.c.digest == all_of_it[-1].digest).values(content=b"{}"))
    page = house.lead().client.get("/people")
    assert page.status_code == 200 and f"{len(all_of_it)} items" in page.text
    names = [e.digest for e in all_of_it if f'value="{e.digest}"' in page.text]
    assert names == [e.digest for e in all_of_it[:LISTED]]


def test_the_page_says_of_whom_how_much_is_held_by_whom_it_was_brought_and_why_it_was_left(house, tablet):
    own = half_sent(tablet)
    house.server.gate.revoke(tablet.name, "lost")
    tablet.push(own[20:])
    with house.station.reading(CLINIC) as reading:
        group, = Holding(reading.connection, CLINIC).groups()
    waiting = [i for i in held(house) if hasattr(i.item, "envelope")]
    assert group.count == len(waiting) == sum(group.by.values()) and group.of_entries
    assert dict(group.by) == {who: sum(i.who == who for i in waiting) for who in {i.who for i in waiting}}
    assert (group.about, group.brought_by, group.left, group.reason) == (tablet.name, (tablet.name,), False, "")
    assert group.held_at == min(i.held_at for i in held(house))
    decide_held(house.station, CLINIC, tablet.name, False, "not sure", LEADS, "here")
    decide_held(house.station, CLINIC, tablet.name, False, "asked, still not sure", LEADS, "here")
    with house.station.reading(CLINIC) as reading:
        group, = Holding(reading.connection, CLINIC).groups()
    assert group.left and group.reason == "asked, still not sure"
