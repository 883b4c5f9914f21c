"""The lead clinician changes somebody's roles on the page; what was signed in the old ones stays signed."""

from __future__ import annotations

import html
import json
import re
import threading

import pytest
from sqlalchemy import select

from shared_models.entries.envelope import Subject
from shared_models.entries.roles import roles_in
from shared_models.ledger.accounts import Account
from shared_models.ledger.tables import verdict as verdict_table
from shared_models.wording.server_sentences import server_sentence
from shared_models.quantities.refusals import Refusal
from sync_server.services.staffing import NewLead, _open_account, add_lead, demo_lead, found_clinic
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, TECHNICIAN
from tests.sync_server.conftest import JoinedDesk, Lead, hidden

pytestmark = pytest.mark.both_stores
PASSWORD = demo_lead()["password"]
OTHER, OTHERS_PASSWORD = "other.lead", "four unrelated words here"


def form_of(lead: Lead, staff: str) -> dict[str, str]:
    """The form of somebody's roles as the page shows it, to be sent as it is."""
    page = lead.client.get("/people")
    form = re.search(rf'<form method="post" action="/people/roles">((?:(?!</form>).)*value="{staff}".*?)</form>', page.text, re.S)[1]
    ticked = re.findall(r'name="(role-[a-z_]+)" value="yes" checked', form)
    seen = re.search(r'name="seen" value="([^"]*)"', form)[1]
    return {"csrf": hidden(page, "csrf"), "staff": staff, "seen": seen, **{name: "yes" for name in ticked}}


def send(lead: Lead, form: dict[str, str], *roles: str, reason: str = "moves to the bench", password: str = PASSWORD):
    """Send a form with these roles ticked and no others."""
    kept = {name: value for name, value in form.items() if not name.startswith("role-")}
    chosen = {f"role-{role}": "yes" for role in roles}
    return lead.client.post("/people/roles", data={**kept, **chosen, "reason": reason, "password": password})


def change(lead: Lead, staff: str, *roles: str, **more: str):
    return send(lead, form_of(lead, staff), *roles, **more)


def said(answer) -> str:
    return html.unescape(" ".join(re.findall(r'role="alert"[^>]*>([^<]*)', answer.text)))


def staff_list(house, staff: str) -> list:
    """What the staff list ever said of somebody, in the order it was recorded."""
    with house.station.reading(CLINIC) as reading:
        return sorted((e for e in reading.of_kinds("staff") if e.subject.id == staff), key=lambda e: e.order)


def roles_of(house, staff: str) -> tuple[str, ...]:
    with house.station.reading(CLINIC) as reading:
        return roles_in(reading.staff_record().staff_body(staff))


def kept_state(house, step: str = "sign_off", fitting: str = "fitting-1") -> str:
    """State of a step in the verdict that the server keeps."""
    with house.station.store.reading() as connection:
        detail = connection.scalar(select(verdict_table.c.detail).where(verdict_table.c.fitting == fitting))
    return next(s["state"] for s in json.loads(detail)["steps"] if s["key"] == step)


@pytest.fixture
def other(house) -> Lead:
    """A second lead clinician of the clinic, logged in."""
    add_lead(house.station, house.server.door.accounts, CLINIC, NewLead(OTHER, "Second Lead (invented)", OTHERS_PASSWORD))
    found = house.lead(logged_in=False)
    assert found.log_in(OTHER, OTHERS_PASSWORD).status_code == 303
    return found


def id_of(house, login: str) -> str:
    return next(a.staff_id for a in house.server.door.accounts.all() if a.login == login)


def test_the_lead_changes_roles_and_the_old_ones_stay_as_history_signed_by_who_changed_them(house, tablet):
    lead = house.lead()
    before = staff_list(house, TECHNICIAN)
    assert change(lead, TECHNICIAN, "prosthetist", reason="passed the exam").status_code == 303
    old, new = staff_list(house, TECHNICIAN)
    assert [old] == before and new.replaces == (old.digest,) and new.body["roles"] == ["prosthetist"]
    assert new.recorded_by == LEAD and new.tablet == house.station.chain and new.body["name"] == old.body["name"]
    tablet.take_all()
    record = tablet.desk.record
    signature = record.has_signed(record.entries[new.digest], "changes_roles")
    assert signature and signature.printed_name == demo_lead()["name"], "and the tablet can check who it was"
    page = html.unescape(lead.client.get("/people").text)
    line = re.search(r"<li>Until [^<]*: technician\. Changed by ([^<]*)</li>", page)[1]
    assert line == f"{demo_lead()['name']}: passed the exam"
    noted = {(row.what, row.subject, row.outcome) for row in house.audit(CLINIC)}
    assert ("people: roles", f"staff/{TECHNICIAN}", "prosthetist") in noted


def test_what_the_technician_signed_stands_and_what_is_signed_from_then_on_does_not(house, tablet):
    assert tablet.push().status_code == 200
    assert kept_state(house) == "met"
    assert change(house.lead(), TECHNICIAN, "prosthetist").status_code == 303
    assert kept_state(house) == "met"
    tablet.take_all()
    assert tablet.desk.verdict().step("sign_off").state == "met", "on the tablet too"
    signed_again(tablet)
    step = tablet.desk.verdict().step("sign_off")
    assert (step.state, [r.code for r in step.remarks if r.blocks]) == ("open", ["not_a_technician"])
    assert tablet.push().status_code == 200 and kept_state(house) == "open"
    kept = kept_detail(house)
    house.station.rebuild(CLINIC)
    assert kept_detail(house) == kept
    assert change(house.lead(), TECHNICIAN, "prosthetist", "technician").status_code == 303
    assert kept_state(house) == "met", "with the role again it counts"


def signed_again(tablet) -> None:
    desk = tablet.desk
    desk.sign(desk.note("sign_off", dict(desk.head("sign_off").body), by=TECHNICIAN), TECHNICIAN, "signs_off")


def kept_detail(house) -> str:
    with house.station.store.reading() as connection:
        return connection.scalar(select(verdict_table.c.detail))


def test_a_sign_off_that_no_tablet_had_sent_yet_counts_by_the_new_roles(house, tablet):
    assert change(house.lead(), TECHNICIAN, "prosthetist").status_code == 303
    assert tablet.push().status_code == 200, "nothing of it is refused or lost"
    tablet.take_all()
    assert kept_state(house) == tablet.desk.verdict().step("sign_off").state == "open"


def test_roles_lost_twice_count_for_what_was_signed_while_they_were_held(house, tablet):
    tablet.push()
    lead = house.lead()
    for roles in (("prosthetist",), ("prosthetist", "lead_clinician"), ("prosthetist",)):
        assert change(lead, TECHNICIAN, *roles).status_code == 303
    tablet.take_all()
    assert kept_state(house) == tablet.desk.verdict().step("sign_off").state == "met"
    signed_again(tablet)
    tablet.push()
    assert change(lead, TECHNICIAN, "lead_clinician").status_code == 303
    tablet.take_all()
    assert kept_state(house) == tablet.desk.verdict().step("sign_off").state == "open", "it was no technician's when signed"


def test_a_decision_and_a_voucher_of_a_former_lead_still_count_and_new_ones_do_not(house, tablet, other):
    newcomer = house.tablet(JoinedDesk("tablet-x"), enrolled=False)
    newcomer.enrol(house.server.gate.new_code(CLINIC))
    newcomer.take_all()
    newcomer.desk.staff()
    newcomer.push()
    tablet.push()
    first = house.lead()
    page = first.client.get("/people")
    for digest in re.findall(r'name="key" value="([0-9a-f]{64})"', page.text):
        answer = first.client.post("/people/vouch", data={"csrf": hidden(page, "csrf"), "key": digest, "password": PASSWORD})
        assert answer.status_code == 303
    assert first.decide(first.open(), "accepted").status_code == 303
    assert change(other, LEAD, "prosthetist", password=OTHERS_PASSWORD).status_code == 303
    assert first.open().status_code == 403 and first.client.get("/people").status_code == 403
    tablet.take_all()
    assert tablet.desk.verdict().review == "accepted"
    with house.station.reading(CLINIC) as reading:
        assert not reading.staff_record().vouched.without
    assert not tablet.desk.record.vouched.without


@pytest.mark.parametrize("roles, more, code, status", [
    ((), {}, "roles_missing", 422),
    (("technician",), {}, "roles_unchanged", 422),
    (("prosthetist",), {"reason": "  "}, "reason_missing", 422),
    (("prosthetist",), {"password": "not the password, no"}, "password_wrong_for_decision", 403),
])
def test_a_refused_change_says_why_beside_the_field_and_keeps_what_was_typed(house, roles, more, code, status):
    lead = house.lead()
    answer = change(lead, TECHNICIAN, *roles, **{"reason": 'because of "this"', **more})
    sentence = server_sentence(Refusal(code))
    assert answer.status_code == status and said(answer) == sentence
    assert len(staff_list(house, TECHNICIAN)) == 1
    opened = re.findall(r'<details class="why" open>.*?</details>', answer.text, re.S)
    assert len(opened) == 1 and sentence in html.unescape(opened[0])
    assert tuple(re.findall(r'name="role-([a-z_]+)" value="yes" checked', opened[0])) == roles
    assert 'because of &#34;this&#34;' in opened[0] or "reason" in more
    assert "not the password" not in answer.text


def test_a_reason_that_is_too_long_is_refused_and_not_cut(house):
    answer = change(house.lead(), TECHNICIAN, "prosthetist", reason="x" * 1003)
    assert answer.status_code == 422 and " 3 too many" in said(answer) and "x" * 1003 in answer.text
    assert len(staff_list(house, TECHNICIAN)) == 1


def test_the_last_lead_keeps_the_role_until_another_who_can_log_in_has_it(house, other):
    lead, second = house.lead(), id_of(house, OTHER)
    sentence = server_sentence(Refusal("last_lead"))
    assert change(lead, second, "prosthetist").status_code == 303
    assert said(change(lead, LEAD, "prosthetist")) == sentence
    assert change(lead, TECHNICIAN, "lead_clinician").status_code == 303
    assert said(change(lead, LEAD, "prosthetist")) == sentence, "a lead without a log-in could not mend anything here"
    assert change(lead, second, "prosthetist", "lead_clinician").status_code == 303
    page = lead.client.get("/people")
    lead.client.post("/people/end", data={"csrf": hidden(page, "csrf"), "staff": second, "reason": "left"})
    assert said(change(lead, LEAD, "prosthetist")) == sentence, "nor could one who left"
    assert roles_of(house, LEAD) == ("lead_clinician",)


def test_of_two_leads_who_give_up_the_role_one_after_another_the_second_keeps_it(house, other):
    second = id_of(house, OTHER)
    mine, theirs = form_of(house.lead(), LEAD), form_of(other, second)
    lead = house.lead()
    mine["csrf"] = hidden(lead.client.get("/people"), "csrf")
    assert send(lead, mine, "technician").status_code == 303
    answer = send(other, theirs, "technician", password=OTHERS_PASSWORD)
    assert said(answer) == server_sentence(Refusal("last_lead")) and roles_of(house, second) == ("lead_clinician",)


def test_two_leads_who_change_the_same_person_from_pages_of_before_the_second_is_told(house, other):
    lead = house.lead()
    mine, theirs = form_of(lead, TECHNICIAN), form_of(other, TECHNICIAN)
    assert send(lead, mine, "prosthetist").status_code == 303
    answer = send(other, theirs, "technician", "prosthetist", reason="needs both", password=OTHERS_PASSWORD)
    assert answer.status_code == 409
    assert demo_lead()["name"] in said(answer) and "Nothing of yours was recorded" in said(answer)
    assert "needs both" in answer.text and roles_of(house, TECHNICIAN) == ("prosthetist",)
    again = re.search(r'name="seen" value="([^"]*)"', re.search(r'<details class="why" open>.*?</details>', answer.text, re.S)[0])[1]
    assert again != theirs["seen"]
    sent = send(other, {**theirs, "seen": again}, "technician", "prosthetist", password=OTHERS_PASSWORD)
    assert sent.status_code == 303 and len(staff_list(house, TECHNICIAN)) == 3


def test_two_leads_who_take_the_role_from_each_other_at_the_same_moment_leave_one(house, other):
    first, second = house.lead(), id_of(house, OTHER)
    forms = [(first, form_of(first, second), PASSWORD), (other, form_of(other, LEAD), OTHERS_PASSWORD)]
    start, answers = threading.Barrier(2), []

    def take(lead, form, password):
        start.wait(30)
        answers.append(send(lead, form, "prosthetist", password=password).status_code)

    both = [threading.Thread(target=take, args=one) for one in forms]
    for one in both:
        one.start()
    for one in both:
        one.join(60)
    assert sorted(answers) == [303, 403]
    assert sorted([roles_of(house, LEAD), roles_of(house, second)]) == [("lead_clinician",), ("prosthetist",)]


def test_a_lead_whose_role_was_taken_while_their_form_was_under_way_changes_nothing(house, other, monkeypatch):
    lead, door = house.lead(), house.server.door
    form, real = form_of(lead, TECHNICIAN), door.unlock_again

    def slowly(reviewer, password, where):
        key = real(reviewer, password, where)
        if reviewer.account.staff_id == LEAD:
            assert change(other, LEAD, "prosthetist", password=OTHERS_PASSWORD).status_code == 303
        return key

    monkeypatch.setattr(door, "unlock_again", slowly)
    assert send(lead, form, "prosthetist").status_code == 403
    assert roles_of(house, TECHNICIAN) == ("technician",)


def test_a_lead_of_another_clinic_changes_nobodys_roles_here(house):
    clinic = found_clinic(house.station, "Another clinic")
    add_lead(house.station, house.server.door.accounts, clinic, NewLead("abroad.lead", "Lead Abroad (invented)", OTHERS_PASSWORD))
    seen = form_of(house.lead(), TECHNICIAN)["seen"]
    abroad = house.lead(logged_in=False)
    abroad.log_in("abroad.lead", OTHERS_PASSWORD)
    page = abroad.client.get("/people")
    assert TECHNICIAN not in page.text
    form = {"csrf": hidden(page, "csrf"), "staff": TECHNICIAN, "seen": seen}
    answer = send(abroad, form, "lead_clinician", password=OTHERS_PASSWORD)
    assert answer.status_code == 422 and said(answer) == server_sentence(Refusal("staff_unknown"))
    assert roles_of(house, TECHNICIAN) == ("technician",)
    with house.station.reading(clinic) as reading:
        assert not reading.staff_record().staff_body(TECHNICIAN)


def test_roles_of_somebody_who_left_wait_until_they_are_back(house):
    lead = house.lead()
    form = form_of(lead, TECHNICIAN)
    lead.client.post("/people/end", data={"csrf": form["csrf"], "staff": TECHNICIAN, "reason": "left"})
    assert TECHNICIAN not in [f for f in re.findall(r'action="/people/roles">.*?name="staff" value="([^"]*)"', lead.client.get("/people").text, re.S)]
    answer = send(lead, form, "prosthetist")
    assert said(answer) == server_sentence(Refusal("staff_ended")) and roles_of(house, TECHNICIAN) == ("technician",)


def test_roles_that_two_servers_changed_apart_are_shown_and_settled_by_a_choice(house):
    lead = house.lead()
    with house.station.writing(CLINIC) as reading:  # as a server in the field that did not know of the first one
        record = reading.staff_record()
        first = house.station.author(reading, record).record_fact(
            "staff", Subject("staff", TECHNICIAN), {"name": "T", "roles": ["prosthetist"]}, LEAD, settles=True)
        house.station.keep(reading, [first], [house.station.sign_head(first)])
        second = house.station.author(reading, record).record_fact(
            "staff", Subject("staff", TECHNICIAN), {"name": "T", "roles": ["technician"]}, LEAD, settles=True)
        house.station.keep(reading, [second], [house.station.sign_head(second)])
    assert roles_of(house, TECHNICIAN) == ()
    assert "changed apart by two servers" in lead.client.get("/people").text
    answer = lead.client.post("/people/code", data={"csrf": hidden(lead.client.get("/people"), "csrf"), f"for-{TECHNICIAN}": "yes"})
    assert answer.status_code == 200, "everything else on the page works for them"
    form = form_of(lead, TECHNICIAN)
    assert {"role-prosthetist", "role-technician"} <= set(form)
    assert send(lead, form, "technician").status_code == 303 and roles_of(house, TECHNICIAN) == ("technician",)


def test_a_colleague_made_lead_who_has_a_log_in_may_decide(house, tablet):
    tablet.push()
    _open_account(house.station, house.server.door.accounts, Account("tam.thread", TECHNICIAN, CLINIC, ("lead_clinician",)), OTHERS_PASSWORD)
    second = house.lead(logged_in=False)
    second.log_in("tam.thread", OTHERS_PASSWORD)
    assert second.client.get("/people").status_code == 403
    assert change(house.lead(), TECHNICIAN, "technician", "lead_clinician").status_code == 303
    assert second.client.get("/people").status_code == 200
    assert roles_of(house, PROSTHETIST) == ("prosthetist",)
