"""The lead clinician's page of tablets and people: revoke, vouch, take in what was held."""

from __future__ import annotations

import json
import re

import pytest
from sqlalchemy import select

from shared_models.catalogue.sheets import demo_people
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import new_key, public_text
from shared_models.entries.vouching import VOUCHES, key_mark
from shared_models.exchange import batch as batches
from shared_models.ledger.tables import verdict
from sync_server.services.roles import seen_roles
from sync_server.services.staffing import demo_lead
from tests.fitting_desk import CLINIC, PROSTHETIST, TECHNICIAN
from tests.sync_server.conftest import JoinedDesk, hidden

PASSWORD = demo_lead()["password"]


@pytest.fixture
def lead(house):
    return house.lead()


def shown_of(house, staff: str) -> str:
    """What a page just made says that the staff list says of somebody."""
    with house.station.reading(CLINIC) as reading:
        return seen_roles(reading.staff_record(), staff)


def act(lead, name: str, **fields: str):
    page = lead.client.get("/people")
    return lead.client.post(f"/people/{name}", data={"csrf": hidden(page, "csrf"), **fields})


def test_the_lead_takes_a_tablets_access_away_and_sees_by_whom_and_how_much_came_after(house, tablet, lead):
    own = tablet.own()
    tablet.push(own[:20])
    assert act(lead, "revoke", tablet=tablet.name, reason="left in a taxi").status_code == 303
    tablet.push(own[20:])
    page = lead.client.get("/people").text
    name = next(p["name"] for p in demo_people()["staff"] if p["id"] == PROSTHETIST)
    assert "left in a taxi" in page and f"{len(own) - 20} items" in page and f"{name} (" in page
    for entry in own[20:]:
        assert entry.digest in page
    assert act(lead, "held", about=tablet.name, act="take in", reason="").status_code == 422
    assert act(lead, "held", about=tablet.name, act="take in", reason="I was there").status_code == 303
    assert len(house.station.entries.chain(CLINIC, tablet.name)) == len(own)
    assert "Held back" not in lead.client.get("/people").text
    assert {("decide held", "taken in")} <= {(r.what, r.outcome.partition(":")[0]) for r in house.audit(CLINIC)}


def test_the_lead_vouches_for_a_key_by_its_mark_and_the_sign_off_counts(house, lead):
    tablet = house.tablet(JoinedDesk("tablet-x"), enrolled=False)
    tablet.enrol(house.server.gate.new_code(CLINIC))
    tablet.take_all()
    tablet.desk.staff().before_the_bench().on_the_bench().tune().close().hand_over()
    tablet.push()

    def state() -> str:
        answer = tablet.client.get(f"/exchange/{CLINIC}/verdicts/fitting-1", headers=tablet.headers)
        return next(s["state"] for s in answer.json()["verdict"]["steps"] if s["key"] == "sign_off")

    page = lead.client.get("/people").text
    assert key_mark(public_text(tablet.desk.keys[TECHNICIAN])) in page and state() == "open"
    digests = re.findall(r'name="key" value="([0-9a-f]{64})"', page)
    assert len(digests) == 2
    assert act(lead, "vouch", key=digests[0], password="not the password, no").status_code == 403
    for digest in digests:
        assert act(lead, "vouch", key=digest, password=PASSWORD).status_code == 303
    assert state() == "met", "also what was signed before"
    assert act(lead, "vouch", key=digests[0], password=PASSWORD).status_code == 409
    tablet.take_all()
    assert tablet.desk.verdict().step("sign_off").state == "met", "and on the tablet"


def test_a_code_made_for_somebody_names_them_and_a_made_up_person_is_refused(house, lead):
    answer = act(lead, "code", **{f"for-{TECHNICIAN}": "yes"})
    code = re.search(r"shown once: <[^>]*>([A-Z2-9-]{19})<", answer.text)[1]
    tablet = house.tablet(JoinedDesk("tablet-y"), enrolled=False)
    assert tablet.enrol(code).status_code == 200
    tablet.take_all()
    tablet.desk.staff()
    vouched = tablet.desk.record.vouched
    assert public_text(tablet.desk.keys[TECHNICIAN]) in vouched.of(TECHNICIAN)
    assert public_text(tablet.desk.keys[PROSTHETIST]) not in vouched.of(PROSTHETIST)
    assert act(lead, "code", **{"for-nobody": "yes"}).status_code == 422


def test_somebody_who_leaves_is_ended_on_the_page_and_no_lead_ends_themself(house, lead):
    assert act(lead, "end", staff=TECHNICIAN, ended="yes", reason="moved away").status_code == 303
    assert "moved away" in lead.client.get("/people").text
    assert act(lead, "end", staff=demo_lead()["id"], ended="yes", reason="x").status_code == 422


@pytest.mark.parametrize("name", ["revoke", "end", "roles", "vouch", "code", "reset", "held"])
def test_nothing_is_done_without_a_session_or_by_another_sites_form(house, tablet, lead, name):
    before = house.station.entries.count()
    fields = {"tablet": tablet.name, "staff": TECHNICIAN, "reason": "x", "about": tablet.name, "key": "x",
              "role-prosthetist": "yes", "password": PASSWORD, "seen": shown_of(house, TECHNICIAN)}
    assert house.client().post(f"/people/{name}", data=fields).status_code in (303, 401, 403)
    assert lead.client.post(f"/people/{name}", data={**fields, "csrf": "guessed"}).status_code == 403
    assert house.station.entries.count() == before


def test_a_pin_is_reset_once_by_the_leads_code_on_that_tablet_only(house, tablet, lead):
    share = json.dumps({"format": 1, "share": "random text of the tablet"})
    assert act(lead, "reset", tablet=tablet.name, staff=PROSTHETIST).status_code == 422, "nothing left here yet"
    put = tablet.client.put(f"/exchange/{CLINIC}/recovery", headers=tablet.headers, content=share)
    assert put.status_code == 200
    assert tablet.client.put(f"/exchange/{CLINIC}/recovery", content=share).status_code == 401
    answer = act(lead, "reset", tablet=tablet.name, staff=PROSTHETIST)
    code = re.search(r"nobody else: <[^>]*>([A-Z2-9-]{19})<", answer.text)[1]
    fresh = public_text(new_key())

    def ask(**changed: str):
        body = {"format": 1, "code": code, "tablet": tablet.name, "staff_key": fresh, **changed}
        return tablet.client.post("/exchange/pin-reset", content=json.dumps(body))

    assert ask(tablet="another").status_code == 403
    assert ask(code="AAAA-AAAA-AAAA-AAAA").status_code == 403
    assert ask(staff_key="no key").status_code == 400
    right = ask()
    assert right.status_code == 200 and right.json()["share"] == "random text of the tablet"
    assert ask().json()["code"] == "code_used"
    with house.station.reading(CLINIC) as reading:
        assert fresh in reading.staff_record().vouched.of(PROSTHETIST)


def test_a_reset_code_is_of_no_use_to_a_tablet_whose_access_was_taken_away(house, tablet, lead):
    tablet.client.put(f"/exchange/{CLINIC}/recovery", headers=tablet.headers, content='{"format":1,"share":"s"}')
    code = re.search(r"else: <[^>]*>([A-Z2-9-]{19})<", act(lead, "reset", tablet=tablet.name, staff=PROSTHETIST).text)[1]
    act(lead, "revoke", tablet=tablet.name, reason="stolen")
    body = {"format": 1, "code": code, "tablet": tablet.name, "staff_key": public_text(new_key())}
    assert tablet.client.post("/exchange/pin-reset", content=json.dumps(body)).status_code == 403


def test_a_voucher_whose_signature_comes_later_counts_from_then_on(house, lead):
    tablet = house.tablet(JoinedDesk("tablet-z"), enrolled=False)
    tablet.enrol(house.server.gate.new_code(CLINIC, people=[PROSTHETIST]))
    tablet.take_all()
    tablet.desk.staff().before_the_bench().on_the_bench().tune().close().hand_over()
    tablet.push()
    # The technician's key waits; another tablet of theirs vouches in two pieces
    second = house.tablet(JoinedDesk("tablet-w"), enrolled=False)
    second.enrol(house.server.gate.new_code(CLINIC, people=[TECHNICIAN]))
    second.take_all()
    second.desk.staff()
    waiting = next(e for e in second.desk.record.vouched.without if e.subject.id == TECHNICIAN)
    body = {"tablet": waiting.body["tablet"], "public_key": waiting.body["public_key"]}
    entry = second.desk.note("key_vouched", body, by=TECHNICIAN, subject=Subject("staff", TECHNICIAN), settles=True)
    second.push()
    signature = second.desk.sign(entry, TECHNICIAN, VOUCHES)

    def state() -> str:
        with house.station.store.reading() as connection:
            detail = connection.execute(select(verdict.c.detail)).scalar_one()
        return next(s["state"] for s in json.loads(detail)["steps"] if s["key"] == "sign_off")

    assert state() == "open"
    answer = second.push(data=batches.encode(batches.batch_of(CLINIC, (), [signature])))
    assert answer.status_code == 200 and state() == "met", answer.text
