"""What somebody tries who may not: another clinic's doors, made-up headers, names that are ways out."""

from __future__ import annotations

import re
import socket
import sys
from pathlib import Path

import pytest

import sync_server
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import public_text
from shared_models.exchange import batch as batches
from shared_models.exports.csv_text import csv_bytes
from shared_models.ledger.tablet_access import HUB
from shared_models.wording import finding_parts
from sync_server.app import create_app
from sync_server.routes import requests as reading_requests
from sync_server.routes.pages import cookie_in
from sync_server.services import staffing
from sync_server.services.above import join_above, send_up
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, TECHNICIAN, Desk
from tests.sync_server.conftest import CHEAP, House, hidden
from tests.sync_server.photos import png, sha256
from tests.sync_server.test_attachments import named, offset, url
from tests.sync_server.test_deciding import PASSWORD
from tests.sync_server.test_every_route import SHOWS, filled, routes_of
from tests.sync_server.test_hub import line_to, server_in
from tests.sync_server.test_operating import served

pytestmark = pytest.mark.both_stores


@pytest.fixture
def pushed(house, tablet):
    assert tablet.push().status_code == 200
    return tablet


@pytest.fixture
def abroad(house):
    """The lead clinician of another clinic on the same server, logged in."""
    other = staffing.found_clinic(house.station, "Another clinic")
    lead = staffing.NewLead("other.lead", "Other Lead (invented)", PASSWORD)
    staffing.add_lead(house.station, house.server.door.accounts, other, lead)
    found = house.lead(logged_in=False)
    assert found.log_in("other.lead", PASSWORD).status_code == 303
    found.clinic = other
    return found


def posted(lead, act: str, **form: str):
    """Post one of the people page's forms with its token."""
    return lead.client.post(f"/people/{act}", data={"csrf": hidden(lead.client.get("/people"), "csrf"), **form})


# Another clinic -------------------------------------------------------------------------

def test_a_lead_takes_no_access_away_in_another_clinic_by_having_its_tablets_name_recorded(house, pushed, abroad):
    accomplice = house.tablet(Desk("tablet-z"), enrolled=False)
    assert accomplice.enrol(house.code(abroad.clinic)).status_code == 200
    accomplice.desk.author.end.clinic = abroad.clinic
    claim = {"name": "ours", "public_key": public_text(accomplice.key)}
    accomplice.desk.note("tablet", claim, subject=Subject("tablet", pushed.name))
    own = accomplice.own()
    batch = batches.encode(batches.batch_of(abroad.clinic, own, [accomplice.head_signature(own[-1])]))
    assert accomplice.push(data=batch, clinic=abroad.clinic).status_code == 200
    posted(abroad, "revoke", tablet=pushed.name, reason="ours")
    answer = pushed.client.get(f"/exchange/{CLINIC}/standing", headers=pushed.headers)
    assert answer.status_code == 200, "our tablet still has its access"
    pushed.desk.turn("swing_flexion", "9")
    assert pushed.push().json()["stored"] > 0, "and nothing of it is held back"


def test_a_field_server_takes_no_access_away_but_in_its_own_clinic(house, pushed, tmp_path):
    hub = server_in(tmp_path / "field")
    try:
        clinic = staffing.found_clinic(hub.station, "Field clinic")
        join_above(hub.station, "http://127.0.0.1", house.server.gate.new_code("", HUB), clinic, web=line_to(house))
        with hub.station.writing(clinic) as reading:
            hub.station.record_facts(reading, [(
                "tablet", Subject("tablet", pushed.name), {"name": "x", "public_key": "", "revoked": True})])
        assert send_up(hub.station, hub.server.lane, clinic, line_to(house)).refused == []
    finally:
        hub.station.store.close()
    answer = pushed.client.get(f"/exchange/{CLINIC}/standing", headers=pushed.headers)
    assert answer.status_code == 200


def test_somebody_who_leaves_one_clinic_keeps_the_log_in_of_another_clinics_person_of_that_name(house, pushed, abroad):
    ours = house.lead()
    with house.station.writing(abroad.clinic) as reading:  # as a field server of that clinic may name its staff
        house.station.record_facts(reading, [(
            "staff", Subject("staff", LEAD), {"name": "Somebody else", "roles": ["technician"]})])
    assert posted(abroad, "end", staff=LEAD, reason="moved away").status_code == 303
    assert ours.open().status_code == 200
    assert house.lead().open().status_code == 200


def test_no_page_file_or_search_shows_a_lead_anything_of_another_clinic(house, pushed, abroad):
    ours = house.lead()
    pushed.desk.correct(pushed.desk.head("identity"), telephone="01632 960123")
    assert pushed.push().status_code == 200 and "01632 960123" in ours.open().text
    assert "D-2041" in ours.client.get("/fittings", params={"search": "Example"}).text, "there is somebody to be found"
    asked = 0
    for method, pattern in routes_of(house.app):
        if method != "GET" or pattern.startswith(("/exchange/", "/language", "/log-in")):
            continue
        for query in ("", *(f"?search={word}" for word in ("Ash", "Example", "D-2041", "demo-knee-alder", "Alder")), "?show=fitting-1", "?by=name"):
            answer = abroad.client.get(filled(pattern) + query)
            asked += 1
            shown = {*SHOWS.findall(answer.text), *(word for word in ("fitting-1", "01632 960123") if word in answer.text)}
            assert not {word for word in shown if word not in query and word not in filled(pattern)}, (pattern, query)
            assert answer.status_code < 500, (pattern, query)
    assert asked > 60


def test_another_clinics_tablet_gets_nothing_of_a_fitting_by_its_id(house, pushed):
    other = staffing.found_clinic(house.station, "Another clinic")
    stranger = house.tablet(Desk("tablet-z"), enrolled=False)
    assert stranger.enrol(house.code(other)).status_code == 200
    for path in ("verdicts/fitting-1", f"attachments/{'ab' * 32}"):
        answer = stranger.client.get(f"/exchange/{other}/{path}", headers=stranger.headers)
        assert answer.status_code == 404 and not SHOWS.search(answer.text)
    standing = stranger.client.get(f"/exchange/{other}/standing", params={"chain": pushed.name}, headers=stranger.headers)
    assert pushed.name not in standing.json()["chains"]


@pytest.mark.parametrize("person, roles", [
    (PROSTHETIST, ("prosthetist",)), (TECHNICIAN, ("technician",)),
    (TECHNICIAN, ("technician", "lead_clinician")),  # an account that says more than the staff list does
])
def test_a_log_in_that_the_staff_list_does_not_name_as_lead_opens_no_page(house, pushed, person, roles):
    account = staffing.Account("some.login", person, CLINIC, roles)
    staffing._open_account(house.station, house.server.door.accounts, account, PASSWORD)
    found = house.lead(logged_in=False)
    assert found.log_in("some.login", PASSWORD).status_code == 303
    before = house.station.entries.count()
    for method, pattern in routes_of(house.app):
        if pattern.startswith(("/exchange/", "/language", "/log-", "/health", "/metrics")) or pattern == "/":
            continue
        answer = found.client.request(method, filled(pattern), **({"data": {"csrf": "x"}} if method == "POST" else {}))
        assert answer.status_code == 403, (method, pattern)
        assert not SHOWS.search(answer.text)
    assert house.station.entries.count() == before


# Forms and what is noted ----------------------------------------------------------------

def test_no_form_of_any_page_does_anything_without_its_token(house, pushed):
    lead, before = house.lead(), house.station.entries.count()
    asked = 0
    for method, pattern in routes_of(house.app):
        if method == "GET" or pattern.startswith(("/exchange/", "/log-")):
            continue
        for act in ("revoke", "looked", "end", "roles", "vouch", "code", "reset", "held") if "{act}" in pattern else ("",):
            for token in (None, "", "x", "ü"):
                form = {"decision": "accepted", "password": staffing.demo_lead()["password"], "reason": "x",
                        "tablet": pushed.name, "staff": TECHNICIAN, "about": pushed.name, "act": "leave"}
                form |= {} if token is None else {"csrf": token}
                answer = lead.client.post(filled(pattern.replace("{act}", act)), data=form, params={"part": "knee"})
                asked += 1
                assert answer.status_code == 403, (pattern, act, token)
    assert asked >= 36 and house.station.entries.count() == before
    assert pushed.pull().status_code == 200


@pytest.mark.parametrize("act, form, noted", [
    ("code", {f"for-{TECHNICIAN}": "yes"}, ("people: code", f"staff/{TECHNICIAN}", "code for a tablet")),
    ("end", {"staff": TECHNICIAN, "reason": "moved"}, ("people: end", f"staff/{TECHNICIAN}", "ended")),
    ("end", {"staff": TECHNICIAN, "reason": "back", "ended": "no"}, ("people: end", f"staff/{TECHNICIAN}", "works again")),
    ("looked", {"tablet": "tablet-a", "reason": "found"}, ("people: looked", "tablet/tablet-a", "looked into")),
    ("revoke", {"tablet": "tablet-a", "reason": "lost"}, ("revoke", "tablet/tablet-a", "taken away")),
    ("revoke", {"tablet": "tablet-a", "reason": " "}, ("people: revoke", "", "refused: reason_missing")),
    ("looked", {"tablet": "none", "reason": "x"}, ("people: looked", "", "refused: tablet_unknown")),
    ("roles", {"staff": TECHNICIAN, "reason": "x"}, ("people: roles", "", "refused: roles_missing")),
    ("end", {"staff": LEAD, "reason": "x"}, ("people: end", "", "refused: not_yourself")),
])
def test_whatever_a_lead_does_on_the_people_page_is_noted_and_so_is_what_was_refused(house, pushed, act, form, noted):
    posted(house.lead(), act, **form)
    assert noted in {(row.what, row.subject, row.outcome) for row in house.audit(CLINIC)}


# Headers --------------------------------------------------------------------------------

def test_every_cookie_is_hidden_from_scripts_and_over_tls_bound_to_the_host(house, pushed):
    settings = Settings(store=house.settings.store, key_file=house.settings.key_file, stretch=CHEAP, tls_in_front=True)
    behind = House(house.server, create_app(settings, reading_requests.Server(
        house.station, house.server.gate, house.server.door, True, house.server.lane)), settings)
    client = behind.client()
    client.headers["x-forwarded-proto"] = "https"
    client._transport._client._transport.client = ("127.0.0.1", 1)
    answers = [client.get("/log-in"), client.get("/language/de")]
    said = [line for answer in answers for line in answer.headers.get_list("set-cookie")]
    assert len(said) == 2
    for line in said:
        assert line.startswith("__Host-") and "Secure" in line and "HttpOnly" in line and "Path=/" in line
        assert "SameSite=" in line and "Domain" not in line
    chosen = client.get("/log-in", headers={"cookie": "__Host-stancebook_language=de"})
    assert '<html lang="de"' in chosen.text
    assert '<html lang="en"' in client.get("/log-in", headers={"cookie": "stancebook_language=de"}).text


@pytest.mark.parametrize("header", [
    'a="' + "\\" * 60_000 + '"', 'a="' + '\\"' * 30_000 + '"', ";" * 60_000, "=" * 60_000, "a=" + "\\101" * 15_000,
])
def test_a_cookie_header_made_to_be_slow_is_read_by_cutting_alone(house, header):
    """What takes quotes off with the square of its length ran ten seconds on these; counted here, not timed."""
    steps = 0

    def count(_frame, what, _about):
        nonlocal steps
        steps += what in ("call", "c_call")

    sys.setprofile(count)
    try:
        assert cookie_in(header, "stancebook_session") is None
    finally:
        sys.setprofile(None)
    assert steps < 4 * len(header)
    assert house.client().get("/log-in", headers={"cookie": header}).status_code == 200


def test_cookies_are_read_in_one_way_alone():
    found = [path.name for path in Path(sync_server.__file__).parent.rglob("*.py")
             if re.search(r"http\.cookies|request\.cookies", path.read_text(encoding="utf-8"))]
    assert found == []


@pytest.mark.parametrize("code", ["%0d%0aSet-Cookie:%20x=y", "xx", "..%2f..", "de;%20Domain=evil.example", "DE", "%00"])
def test_a_language_that_is_not_spoken_here_sets_nothing_and_leads_nowhere_else(house, code):
    answer = house.client().get(f"/language/{code}")
    assert answer.status_code in (303, 404)
    assert "set-cookie" not in answer.headers and answer.headers.get("location", "/fittings") == "/fittings"


@pytest.mark.parametrize("then", [
    "//evil.example", "/\\evil.example", "https://evil.example", "/fittings//evil.example", "/fittings/x%0d%0aSet-Cookie:x=y",
    "/fittings/../log-out", "javascript:alert(1)", "/fittings?x=//evil.example", "\t//evil.example", "/fittings/x\r\nX: y",
])
def test_logging_in_leads_to_a_page_of_ours_whatever_the_link_said(house, pushed, then):
    lead = house.lead(logged_in=False)
    person = staffing.demo_lead()
    page = lead.client.get("/log-in", params={"then": then})
    assert hidden(page, "then") == "/fittings"
    answer = lead.log_in(person["login"], person["password"], then=then)
    assert answer.headers["location"] == "/fittings"


@pytest.mark.parametrize("path", [
    "/fittings/fitting-1/files/..%2f..%2fserver.sqlite", "/fittings/fitting-1/files/record.pdf%0d%0aX:%20y",
    "/fittings/fitting-1/files/record.pdf%00.csv", "/fittings/..%2f..%2fetc/files/record.pdf",
    "/fittings/fitting-1/photos/..%2f..%2fserver.sqlite", "/static/..%2fapp.py", "/static/%2e%2e/app.py",
    "/sheets/..%2f..", "/fittings/%00", "/sheets/%00/enter",
])
def test_a_name_that_is_a_way_out_is_nothing_here(house, pushed, path):
    answer = house.lead().client.get(path)
    assert answer.status_code == 404 and "content-disposition" not in answer.headers


@pytest.mark.parametrize("language", ["", "de", "xx", "de%0d%0aX:%20y", '";x="', "..%2f"])
def test_a_files_name_is_made_by_the_server_alone(house, pushed, language):
    answer = house.lead().client.get(f"/fittings/fitting-1/files/record.pdf?language={language}")
    told = answer.headers["content-disposition"]
    assert re.fullmatch(r'attachment; filename="\d{4}-\d\d-\d\d-(de-)?record\.pdf"', told)


def test_a_call_list_is_no_formula_to_a_spreadsheet(house, pushed):
    for start in "=+-@\t\r\n":
        assert csv_bytes(finding_parts.COLUMNS[:1], [(f"{start}cmd",)]).decode().splitlines()[1].lstrip('"').startswith("'")


@pytest.mark.parametrize("path", [
    "/fittings?after=garbage", "/fittings?after=%00%ff", "/fittings?show=%00&by=%00&search=%00", "/fittings?search=%25%5f%5c",
    "/parts?search=%00", "/parts?search=%ff%fe", "/parts.csv?search=%1d%00", "/parts?search=" + "(01)" * 90,
    "/fittings?search=" + "%F0%9F%98%80" * 80, "/log-in?then=" + "a" * 9000, "/log-in?left=%00",
])
def test_a_query_of_any_form_is_answered_in_words(house, pushed, path):
    answer = house.lead().client.get(path)
    assert answer.status_code in (200, 400) and "Something went wrong" not in answer.text


@pytest.mark.parametrize("login", ["a" * 5000, "a\x00b", "ü" * 100, "\U0001f600" * 30, "'; DROP TABLE account; --"])
def test_a_log_in_of_any_form_is_refused_and_noted(house, login):
    noted = len(house.audit())
    assert house.lead(logged_in=False).log_in(login, "x").status_code == 401
    assert len(house.audit()) == noted + 1


def test_a_password_typed_into_the_field_of_the_name_is_kept_nowhere(house):
    lead, password = house.lead(logged_in=False), "four unrelated words in a row"
    assert lead.log_in(password, "").status_code == 401
    assert lead.log_in(staffing.demo_lead()["login"], "wrong").status_code == 401
    tried = [row.who for row in house.audit() if row.what == "log in" and row.outcome == "refused: wrong_login"]
    assert tried == ["-", staffing.demo_lead()["login"]]
    assert password.encode() not in house.kept_bytes()


# Limits ---------------------------------------------------------------------------------

def test_a_photos_sender_that_falls_silent_is_let_go_and_what_came_stays(house, tablet, monkeypatch):
    picture = png(50_000, seed=12)
    named(tablet, picture)
    monkeypatch.setattr(reading_requests, "LONGEST_SILENCE_S", 0.05)
    address, stop = served(house.app)
    try:
        with socket.create_connection(address, timeout=10) as line:
            line.sendall((f"PATCH {url(sha256(picture))} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {tablet.token}\r\n"
                          "Content-Type: application/partial-upload\r\nUpload-Offset: 0\r\nUpload-Complete: ?1\r\n"
                          "Content-Length: 50000\r\n\r\n").encode() + picture[:1000])
            answer = line.recv(4000)
        assert b" 204 " in answer.split(b"\r\n")[0] and b"upload-complete: ?0" in answer.lower()
    finally:
        stop()
    assert offset(tablet, sha256(picture)) == 1000


def test_counts_are_shown_to_nobody_without_the_token_where_a_proxy_stands_in_front(house):
    """A proxy on this machine that says nothing of its client would make everybody look like this machine."""
    settings = Settings(store=house.settings.store, key_file=house.settings.key_file, stretch=CHEAP, tls_in_front=True)
    client = House(house.server, create_app(settings, house.server), settings).client()
    client._transport._client._transport.client = ("127.0.0.1", 1)
    assert client.get("/health").status_code == 200
    assert client.get("/metrics").status_code == 404
