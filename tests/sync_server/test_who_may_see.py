"""Sessions, roles and clinics: who sees what, and what is written down of it."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from shared_models.ledger.accounts import Account, AccountRefusal, refuse_weak_password
from shared_models.exchange.answers import decode_receipt
from sync_server.services.staffing import NewLead, _open_account, add_lead, demo_lead, found_clinic
from tests.fitting_desk import CLINIC, LEAD, TECHNICIAN, Desk
from tests.sync_server.conftest import hidden
from tests.sync_server.test_deciding import PASSWORD

pytestmark = pytest.mark.both_stores

PAGES = [("GET", "/fittings"), ("GET", "/fittings/fitting-1"), ("POST", "/fittings/fitting-1/decision")]
EXCHANGE = [("GET", "standing"), ("GET", "entries"), ("POST", "entries"), ("GET", "verdicts/fitting-1")]


@pytest.fixture
def pushed(house, tablet):
    assert tablet.push().status_code == 200
    return tablet


def visitors(house):
    """Everybody who is not a lead clinician of the clinic."""
    nobody = house.lead(logged_in=False)
    technician = house.lead(logged_in=False)
    account = Account("login-technician", TECHNICIAN, CLINIC, ("technician",))
    _open_account(house.station, house.server.door.accounts, account, PASSWORD)
    technician.log_in("login-technician", PASSWORD)
    abroad = house.lead(logged_in=False)
    other = found_clinic(house.station, "Another clinic")
    add_lead(house.station, house.server.door.accounts, other, NewLead("other.lead", "Other Lead (invented)", PASSWORD))
    abroad.log_in("other.lead", PASSWORD)
    return {"nobody": nobody, "technician": technician, "lead of another clinic": abroad}


@pytest.mark.parametrize("method, path", PAGES)
def test_only_a_lead_of_the_clinic_gets_a_page_with_a_person_on_it(house, pushed, method, path):
    before = house.station.entries.count()
    seen = {}
    for who, visitor in visitors(house).items():
        own = visitor.client.get("/fittings")
        count = house.station.entries.count()
        answer = visitor.client.request(method, path, data={
            "csrf": hidden(own, "csrf"), "decision": "accepted", "password": PASSWORD,
            "seen": hidden(house.lead().open(), "seen"), "reviewed": "true",
        } if method == "POST" else None)
        assert "Ash" not in answer.text and house.station.entries.count() == count
        seen[who] = answer.status_code
    allowed = {"nobody": {303, 401}, "technician": {403},
               "lead of another clinic": {200} if path == "/fittings" else {404}}
    assert all(seen[who] in allowed[who] for who in allowed), seen
    assert before <= house.station.entries.count()


def test_each_refused_look_is_written_down(house, pushed):
    for visitor in visitors(house).values():
        visitor.open()
    refused = {r.outcome for r in house.audit() if r.outcome.startswith("refused")}
    assert {"refused: session_ended", "refused: role_missing", "refused: not_found"} <= refused


@pytest.mark.parametrize("method, path", EXCHANGE)
def test_a_tablet_reaches_only_its_own_clinic_and_only_with_its_token(house, pushed, method, path):
    other = found_clinic(house.station, "Another clinic")
    stranger = house.tablet(Desk("tablet-z"), enrolled=False)
    stranger.enrol(house.code(other))
    count = house.station.entries.count()

    def ask(headers):
        return pushed.client.request(method, f"/exchange/{CLINIC}/{path}", headers=headers,
                                     content=pushed.packed() if method == "POST" else None)

    assert ask({}).status_code == 401
    assert ask({"Authorization": "Bearer no-such-token"}).status_code == 401
    assert ask(stranger.headers).status_code == 403
    assert house.station.entries.count() == count
    house.server.gate.revoke(pushed.name)
    count = house.station.entries.count()
    revoked = ask(pushed.headers)
    if method == "POST":  # it may hand over what it has, which is held back: see test_holding
        assert revoked.status_code == 200 and decode_receipt(revoked.content).stored == 0
    else:
        assert revoked.status_code == 401 and revoked.json()["code"] == "access_revoked"
    assert house.station.entries.count() == count


def test_every_read_and_write_of_a_person_is_written_down(house, pushed):
    pushed.pull()
    lead = house.lead()
    lead.client.get("/fittings")
    lead.open()
    rows = {(r.who, r.what, r.subject, r.outcome) for r in house.audit(CLINIC)}
    login = demo_lead()["login"]
    assert {(pushed.name, "push", "fitting/fitting-1", "stored"),
            (pushed.name, "push", "person/person-1", "stored"),
            (pushed.name, "pull", "fitting/fitting-1", "given"),
            (login, "list", "fitting/fitting-1", "shown"),
            (login, "read", "fitting/fitting-1", "shown")} <= rows
    assert all(r.at.endswith("+00:00") and r.from_where for r in house.audit())


# Sessions ---------------------------------------------------------------------------

def test_a_form_without_its_token_is_refused(house, pushed):
    lead = house.lead()
    answer = lead.decide(lead.open(), "accepted", csrf="x")
    assert answer.status_code == 403
    assert lead.client.post("/log-out", data={"csrf": "x"}).status_code == 403
    assert lead.open().status_code == 200
    assert house.lead(logged_in=False).log_in(demo_lead()["login"], demo_lead()["password"], csrf="x").status_code == 403


def test_a_session_is_a_cookie_that_no_script_and_no_other_site_gets(house):
    lead = house.lead(logged_in=False)
    answer = lead.log_in(demo_lead()["login"], demo_lead()["password"])
    cookie = next(c for c in answer.headers.get_list("set-cookie") if "stancebook_session" in c)
    assert "HttpOnly" in cookie and "SameSite=strict" in cookie
    token = cookie.partition("=")[2].partition(";")[0]
    assert len(token) >= 43  # 256 random bits
    kept = house.kept_bytes()
    assert token.encode() not in kept and demo_lead()["password"].encode() not in kept


def test_logging_out_ends_the_session(house, pushed):
    lead = house.lead()
    page = lead.open()
    stolen = dict(lead.client.cookies)
    assert lead.client.post("/log-out", data={"csrf": hidden(page, "csrf")}).status_code == 303
    lead.client.cookies.update(stolen)
    assert lead.open().status_code == 303


def test_an_idle_session_ends_and_what_was_typed_stays_readable(house, pushed):
    lead = house.lead()
    page = lead.open()
    house.server.door._sessions._idle_ms = -1
    answer = lead.decide(page, "rejected", **{"remark-caps": "Front cap was loose."})
    assert answer.status_code == 401 and "Front cap was loose." in answer.text
    assert lead.open().status_code == 303


def test_taking_the_role_away_ends_what_a_session_can_see(house, pushed):
    lead = house.lead()
    assert lead.open().status_code == 200
    with house.station.writing(CLINIC) as reading:
        house.station.record_facts(reading, [("staff", Subject("staff", LEAD), {"name": "L", "roles": []})])
    assert lead.open().status_code == 403


def test_guessing_a_password_waits_longer_and_longer(house):
    lead = house.lead(logged_in=False)
    codes = [lead.log_in(demo_lead()["login"], "wrong").status_code for _ in range(5)]
    assert codes == [401, 401, 401, 401, 429]
    assert lead.log_in(demo_lead()["login"], demo_lead()["password"]).status_code == 429


def test_ten_wrong_passwords_lock_a_login_for_good(house):
    accounts, person = house.server.door.accounts, demo_lead()
    codes = []
    for _ in range(11):
        with pytest.raises(AccountRefusal) as refused:
            accounts.unlock(person["login"], "wrong")
        codes.append(refused.value.code)
    assert codes == ["wrong_login"] * 9 + ["login_locked"] * 2
    answer = house.lead(logged_in=False).log_in(person["login"], person["password"])
    assert answer.status_code == 401 and "locked" in answer.text


def test_an_unknown_login_is_answered_like_a_wrong_password(house):
    lead = house.lead(logged_in=False)
    texts = {lead.log_in(login, "wrong").text.replace(login, "") for login in ("no.such.one", demo_lead()["login"])}
    assert len(texts) == 1


@pytest.mark.parametrize("password, code", [
    ("short", "password_too_short"), ("x" * 300, "password_too_long"),
    ("aaaaaaaaaaaaaaaaaaaa", "password_too_common"), ("abcabcabcabcabcabc", "password_too_common"),
    ("password1234567", "password_too_common"), ("lior.ledger1234", "password_too_common"),
])
def test_a_password_that_is_easily_guessed_is_refused(password, code):
    with pytest.raises(AccountRefusal) as refused:
        refuse_weak_password(password, "lior.ledger")
    assert refused.value.code == code


# The way pages are sent ------------------------------------------------------------------

@pytest.mark.parametrize("path", ["/log-in", "/fittings", "/static/page.css", "/health", "/nothing",
                                  "/exchange/demo-clinic/standing"])
def test_every_answer_carries_the_strict_headers(house, path):
    headers = house.client().get(path).headers
    policy = [rule.strip() for rule in headers["content-security-policy"].split(";")]
    assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
    assert not any(rule.startswith("script-src") for rule in policy)
    assert headers["x-content-type-options"] == "nosniff"
    if not path.startswith("/exchange/"):
        assert "style-src 'self'" in policy
        assert headers["x-frame-options"] == "DENY" and headers["referrer-policy"] == "no-referrer"


def test_no_page_has_a_script_or_a_style_of_its_own(house, pushed):
    lead = house.lead()
    for page in (lead.client.get("/log-in"), lead.client.get("/fittings"), lead.open()):
        assert "<script" not in page.text and "style=" not in page.text and "onclick" not in page.text


def test_what_a_person_typed_never_becomes_markup(house, tablet):
    body = {**tablet.desk.record.head(tablet.desk.person, "identity").body, "family_name": "<b>Bold</b>"}
    tablet.desk.correct(tablet.desk.record.head(tablet.desk.person, "identity"), **body)
    assert tablet.push().status_code == 200
    lead = house.lead()
    for page in (lead.client.get("/fittings"), lead.open()):
        assert "<b>Bold" not in page.text and "&lt;b&gt;Bold" in page.text


def test_a_host_that_is_not_served_is_refused(house):
    assert house.client().get("/log-in", headers={"Host": "elsewhere.example"}).status_code == 421


def test_a_huge_form_is_refused(house, pushed):
    lead = house.lead()
    answer = lead.decide(lead.open(), "rejected", **{"remark-caps": "x" * 300_000})
    assert answer.status_code == 413


def test_health_says_ok_without_a_log_in(house):
    assert house.client().get("/health").json()["status"] == "ok"
