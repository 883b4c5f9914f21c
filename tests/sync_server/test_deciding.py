"""When the lead clinician may accept or return a fitting, and what comes of it."""

from __future__ import annotations

import re
import threading

import pytest
from sqlalchemy import func, select

from shared_models.entries.envelope import Subject
from shared_models.ledger.accounts import Account
from shared_models.ledger.tables import entry, signature
from shared_models.wording.dates import moment_words
from sync_server.services.staffing import NewLead, _open_account, add_lead, demo_lead
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, TECHNICIAN
from tests.sync_server.conftest import Lead, hidden

pytestmark = pytest.mark.both_stores

PASSWORD = "four unrelated words here"


@pytest.fixture
def pushed(house, tablet):
    """A tablet whose whole fitting is on the server."""
    assert tablet.push().status_code == 200
    return tablet


def complaint(answer) -> str:
    """Return the sentence with which a page refuses."""
    return " ".join(re.findall(r'role="alert"[^>]*>([^<]*)', answer.text))


def decisions(house) -> int:
    return sum(e.kind == "review_decision" for e in house.station.entries.entries(CLINIC))


def person_with_account(house, staff: str, roles) -> Lead:
    """Let somebody of the staff log in, with these roles on the staff list."""
    with house.station.writing(CLINIC) as reading:
        name = reading.staff_record().name_of(staff)
        house.station.record_facts(reading, [("staff", Subject("staff", staff), {"name": name, "roles": roles})])
    account = Account(staff.replace("demo-", "login-"), staff, CLINIC, tuple(roles))
    _open_account(house.station, house.server.door.accounts, account, PASSWORD)
    lead = house.lead(logged_in=False)
    assert lead.log_in(account.login, PASSWORD).status_code == 303
    return lead


def test_an_accepted_fitting_comes_back_accepted_to_the_tablet(house, pushed):
    lead = house.lead()
    assert lead.decide(lead.open(), "accepted").status_code == 303
    pushed.take_all()
    verdict = pushed.desk.verdict()
    assert (verdict.review, verdict.changed_since_review) == ("accepted", False)
    decision = pushed.desk.head("review")
    signature = pushed.desk.record.has_signed(decision, "decides")
    assert decision.tablet == house.station.chain and decision.recorded_by == LEAD
    assert signature.printed_name == demo_lead()["name"] and decision.rests_on


def test_a_returned_fitting_brings_its_remarks_to_the_tablet(house, pushed):
    lead = house.lead()
    answer = lead.decide(lead.open(), "rejected", **{"remark-swing_flexion": " Add a fast walk. ", "remark-caps": "  "})
    assert answer.status_code == 303
    pushed.take_all()
    verdict = pushed.desk.verdict()
    assert verdict.review == "rejected"
    assert verdict.review_remarks == (("swing_flexion", "Add a fast walk."),)
    assert "Add a fast walk." in lead.open().text


def test_what_was_remarked_and_what_was_answered_stand_beside_the_verdict_when_it_waits_again(house, pushed):
    lead = house.lead()
    lead.decide(lead.open(), "rejected", **{"remark-swing_flexion": "Add a fast walk."})
    assert lead.open().text.count("Add a fast walk.</p>") == 1, "remarks that stand now are said once"
    pushed.take_all()
    desk = pushed.desk
    desk.note("review_requested", {"note": "Walked faster; the heel stays low."})
    assert pushed.push().status_code == 200
    top = re.search(r'<section class="verdict.*?</section>', lead.open().text, re.S)[0]
    remarked, answered = top.index("Add a fast walk."), top.index("Walked faster; the heel stays low.")
    assert remarked < answered and top.index("Swing flexion:") < remarked
    assert "Sent for review, " in top and desk.record.name_of(PROSTHETIST) in top


def test_the_page_asks_for_the_password_again(house, pushed):
    lead = house.lead()
    answer = lead.decide(lead.open(), "rejected", "not the password", **{"remark-caps": "Cap loose."})
    assert answer.status_code == 403 and "not your password" in complaint(answer)
    assert "Cap loose." in answer.text and decisions(house) == 0


def test_no_acceptance_without_the_technicians_sign_off(house, pushed):
    pushed.desk.withdraw(pushed.desk.head("sign_off"))
    pushed.push()
    lead = house.lead()
    answer = lead.decide(lead.open(), "accepted")
    assert answer.status_code == 422 and "sign-off" in complaint(answer) and decisions(house) == 0


def test_no_acceptance_while_something_is_missing(house, pushed):
    pushed.desk.withdraw(pushed.desk.head("handover"))
    pushed.push()
    lead = house.lead()
    answer = lead.decide(lead.open(), "accepted")
    assert answer.status_code == 422 and "still missing" in complaint(answer) and decisions(house) == 0


@pytest.mark.parametrize("remarks, says", [
    ({}, "say at one step"), ({"remark-caps": "   "}, "say at one step"),
    ({"remark-no_such_step": "x"}, "no step"),
])
def test_a_return_names_known_steps_and_says_something(house, pushed, remarks, says):
    lead = house.lead()
    answer = lead.decide(lead.open(), "rejected", **remarks)
    assert answer.status_code == 422 and says in complaint(answer) and decisions(house) == 0


def test_what_is_neither_accepting_nor_returning_is_refused(house, pushed):
    lead = house.lead()
    answer = lead.decide(lead.open(), "waived", reviewed="true")
    assert answer.status_code == 422 and decisions(house) == 0


def test_a_decision_on_a_page_that_is_out_of_date_is_refused(house, pushed):
    lead = house.lead()
    page = lead.open()
    pushed.desk.correct(pushed.desk.head("footwear"), shoe="another walking shoe")
    pushed.push()
    answer = lead.decide(page, "rejected", **{"remark-caps": "Cap loose."})
    assert answer.status_code == 409 and "Something changed" in complaint(answer)
    assert "Cap loose." in answer.text and decisions(house) == 0
    assert hidden(answer, "seen") != hidden(page, "seen")


def test_two_decide_at_once_and_exactly_one_wins(house, pushed):
    leads = [house.lead() for _ in range(3)]
    pages = [lead.open() for lead in leads]
    gate, answers = threading.Barrier(3), []

    def decide(lead, page, decision):
        gate.wait()
        answers.append(lead.decide(page, decision, **{"remark-caps": "Cap loose."}).status_code)

    threads = [threading.Thread(target=decide, args=(lead, page, decision)) for lead, page, decision
               in zip(leads, pages, ("accepted", "rejected", "accepted"))]
    [t.start() for t in threads]
    [t.join() for t in threads]
    assert sorted(answers) == [303, 409, 409] and decisions(house) == 1


def the_only(house, kind: str):
    """The one entry of a kind on the server."""
    found, = (e for e in house.station.entries.entries(CLINIC) if e.kind == kind)
    return found


def written(house) -> tuple[int, int]:
    """How many entries and signatures the server holds."""
    with house.station.store.reading() as connection:
        return tuple(connection.scalar(select(func.count()).select_from(table)) for table in (entry, signature))


@pytest.mark.parametrize("decision", ["accepted", "rejected"])
def test_a_remark_on_a_step_that_does_not_exist_decides_nothing_and_is_kept_to_be_written_elsewhere(
    house, pushed, decision,
):
    lead, before = house.lead(), written(house)
    answer = lead.decide(lead.open(), decision, **{"remark-no_such_step": "Heel <too> soft.", "remark-caps": "Cap loose."})
    assert answer.status_code == 422 and "Write the remark at one of the steps listed" in complaint(answer)
    kept = re.search(r'id="unsent">.*?</div>', answer.text, re.S)[0]
    assert "Heel &lt;too&gt; soft." in kept and "Cap loose." not in kept
    assert re.search(r'name="remark-caps"[^>]*>Cap loose\.</textarea>', answer.text)
    assert written(house) == before
    assert list(house.audit())[-2].outcome == "refused: remark_for_unknown_step"


def test_of_two_who_decide_at_once_the_later_one_is_told_so_and_keeps_what_they_typed(house, pushed):
    add_lead(house.station, house.server.door.accounts, CLINIC, NewLead("second.lead", "Second Lead (invented)", PASSWORD))
    first, second = house.lead(), house.lead(logged_in=False)
    assert second.log_in("second.lead", PASSWORD).status_code == 303
    own, theirs = first.open(), second.open()
    assert first.decide(own, "accepted").status_code == 303
    before = written(house)
    answer = second.decide(theirs, "rejected", PASSWORD, **{"remark-caps": "Cap <b>loose</b>."})
    name, moment = demo_lead()["name"], moment_words(the_only(house, "review_decision").recorded_at)
    assert answer.status_code == 409 and complaint(answer).startswith(f"{name} accepted this fitting on {moment}, after")
    assert "This fitting is decided" in answer.text and 'name="decision"' not in answer.text
    kept = re.search(r'id="unsent">.*?</div>', answer.text, re.S)[0]
    assert "Not sent." in kept and "<b>Caps:</b> Cap &lt;b&gt;loose&lt;/b&gt;." in kept
    assert written(house) == before and decisions(house) == 1
    pushed.take_all()
    assert pushed.desk.verdict().review == "accepted" and pushed.desk.verdict().review_remarks == ()


def test_whoever_comes_second_after_a_return_is_told_who_returned_it_and_what_they_typed_is_kept(house, pushed):
    first, second = house.lead(), house.lead()
    own, theirs = first.open(), second.open()
    assert first.decide(own, "rejected", **{"remark-caps": "Cap loose."}).status_code == 303
    before = written(house)
    answer = second.decide(theirs, "accepted", **{"remark-swing_flexion": "Walk it again."})
    assert answer.status_code == 409 and f"{demo_lead()['name']} returned this fitting on" in complaint(answer)
    assert "Walk it again." in answer.text and written(house) == before
    assert list(house.audit())[-2].outcome == "refused: returned_meanwhile"


def test_what_changed_after_a_decision_is_told_as_a_change_not_as_the_old_decision(house, pushed):
    lead = house.lead()
    lead.decide(lead.open(), "accepted")
    pushed.take_all()
    pushed.desk.turn("swing_flexion", "9")
    pushed.push()
    page = lead.open()
    pushed.desk.turn("swing_flexion", "10")
    pushed.push()
    answer = lead.decide(page, "rejected", **{"remark-caps": "Cap loose."})
    assert answer.status_code == 409 and "Something changed" in complaint(answer)


def test_a_remark_that_is_too_long_is_refused_beside_its_field_and_kept_whole(house, pushed):
    lead, before = house.lead(), written(house)
    text = "Cap loose.\n" + "x" * 4000
    answer = lead.decide(lead.open(), "rejected", **{"remark-caps": text})
    assert answer.status_code == 422 and "may have 4000 characters; one has 11 too many" in complaint(answer)
    assert re.search(rf'aria-describedby="long-caps">{text}</textarea>', answer.text), "not one letter is cut off"
    assert "11 characters too many" in re.search(r'id="long-caps">[^<]*', answer.text)[0]
    assert written(house) == before


def test_a_remark_of_the_greatest_length_counts_a_line_end_as_one_and_comes_whole_to_the_tablet(house, pushed):
    lead, lines = house.lead(), ["x" * 99] * 40
    text = "\r\n".join([*lines[:-1], "z" * 100])  # as a browser sends it
    assert len(text.replace("\r\n", "\n")) == 4000
    assert lead.decide(lead.open(), "rejected", **{"remark-caps": text}).status_code == 303
    pushed.take_all()
    assert pushed.desk.verdict().review_remarks == (("caps", text.replace("\r\n", "\n")),)


def test_a_decided_fitting_is_not_decided_again_until_something_changes(house, pushed):
    lead = house.lead()
    lead.decide(lead.open(), "accepted")
    page = lead.open()
    assert "This fitting is decided" in page.text and hidden(page, "seen") == ""
    pushed.take_all()
    pushed.desk.turn("swing_flexion", "9")
    pushed.push()
    page = lead.open()
    assert "changed since" in page.text and hidden(page, "seen")
    assert lead.decide(page, "rejected", **{"remark-swing_flexion": "Walk it again."}).status_code == 303


@pytest.mark.parametrize("staff, says", [
    (PROSTHETIST, "prosthetist of this fitting"), (TECHNICIAN, "signed off the screws"),
])
def test_nobody_decides_on_their_own_work(house, pushed, staff, says):
    roles = ["lead_clinician", "technician"] if staff == TECHNICIAN else ["lead_clinician", "prosthetist"]
    own = person_with_account(house, staff, roles)
    page = own.open()
    assert says in page.text and hidden(page, "seen") == ""
    seen = hidden(house.lead().open(), "seen")
    csrf = hidden(page, "csrf")
    answer = own.client.post("/fittings/fitting-1/decision", data={
        "csrf": csrf, "seen": seen, "decision": "accepted", "password": PASSWORD})
    assert answer.status_code == 403 and says in complaint(answer) and decisions(house) == 0


def test_a_second_lead_can_decide(house, pushed):
    add_lead(house.station, house.server.door.accounts, CLINIC, NewLead("second.lead", "Second Lead (invented)", PASSWORD))
    lead = house.lead(logged_in=False)
    lead.log_in("second.lead", PASSWORD)
    assert lead.decide(lead.open(), "accepted", PASSWORD).status_code == 303
    pushed.take_all()
    assert pushed.desk.verdict().review == "accepted"


def test_a_decision_is_in_the_audit_log_with_who_and_outcome(house, pushed):
    lead = house.lead()
    lead.decide(lead.open(), "rejected")
    lead.decide(lead.open(), "accepted")
    rows = [(r.who, r.subject, r.outcome) for r in house.audit(CLINIC) if r.what == "decide"]
    login = demo_lead()["login"]
    assert rows == [(login, "fitting/fitting-1", "refused: return_without_remark"),
                    (login, "fitting/fitting-1", "accepted")]
