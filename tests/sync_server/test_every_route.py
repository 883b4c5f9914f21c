"""Every route the application has, asked by everybody who may not: a new one can't be forgotten."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import httpx
import pytest
from sqlalchemy import func, select
from starlette.routing import Mount

from shared_models.ledger.accounts import Account
from shared_models.ledger.columns import SERVER
from shared_models.ledger.tables import tables_of
from sync_server.services.staffing import NewLead, _open_account, add_lead, found_clinic
from tests.fitting_desk import CLINIC, TECHNICIAN, Desk
from tests.sync_server.conftest import BASE, hidden
from tests.sync_server.test_deciding import PASSWORD

#: What anybody may ask, since it shows nobody and changes nothing of anybody's.
PUBLIC = {
    ("GET", "/"), ("GET", "/log-in"), ("POST", "/log-in"), ("POST", "/log-out"),
    ("GET", "/health"), ("GET", "/metrics"), ("GET", "/language/{code}"), ("POST", "/exchange/enrol"),
}
#: Asked with a one-time code instead of a log-in or a token.
BY_CODE = {("POST", "/exchange/pin-reset")}
#: Tables that a refused request may add to; in all others nothing may change.
MAY_GROW = {"audit", "web_session", "wrong_try"}
SHOWS = re.compile(r"(?<![\w-])(Ash|Example|D-2041)(?![\w-])")  # a random token may hold the three letters


def routes_of(app) -> list[tuple[str, str]]:
    """Every method and path pattern; a mount serves files only."""
    found = []

    def walk(routes, before: str = "") -> None:
        for route in routes:
            if isinstance(route, Mount):
                assert route.path == "/static"
                continue
            inner = getattr(route, "routes", None) or getattr(getattr(route, "original_router", None), "routes", None)
            if inner and not getattr(route, "methods", None):
                walk(inner, before)
                continue
            for method in sorted((route.methods or {"GET"}) - {"HEAD", "OPTIONS"}):
                found.append((method, before + route.path))

    walk(app.routes)
    return found


def filled(path: str) -> str:
    """A path of a pattern, with our clinic and fitting in it."""
    names = {"clinic": CLINIC, "fitting": "fitting-1", "sha256": "ab" * 32, "digest": "ab" * 32,
             "person": "person-1", "tablet": "tablet-a", "staff": TECHNICIAN,
             "sheet": "demo-knee-alder"}
    return re.sub(r"{(\w+)(:\w+)?}", lambda m: names.get(m[1], "x"), path)


@dataclass
class Visitor:
    """Somebody with a cookie, a token, or nothing."""

    client: httpx.Client
    headers: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str) -> httpx.Response:
        form = {}
        if not path.startswith("/exchange/"):
            form = {"data": {"csrf": hidden(self.client.get("/fittings"), "csrf"), "decision": "accepted",
                             "reviewed": "true", "password": PASSWORD}} if method != "GET" else {}
        elif method not in ("GET", "HEAD"):
            form = {"content": b"x"}
        return self.client.request(method, path, headers=self.headers, **form)


@pytest.fixture
def pushed(house, tablet):
    assert tablet.push().status_code == 200
    return tablet


def strangers(house, pushed) -> dict[str, Visitor]:
    """Everybody to whom our clinic's record is closed."""
    technician, abroad = house.lead(logged_in=False), house.lead(logged_in=False)
    account = Account("login-technician", TECHNICIAN, CLINIC, ("technician",))
    _open_account(house.station, house.server.door.accounts, account, PASSWORD)
    assert technician.log_in("login-technician", PASSWORD).status_code == 303
    other = found_clinic(house.station, "Another clinic")
    add_lead(house.station, house.server.door.accounts, other, NewLead("other.lead", "Other Lead (invented)", PASSWORD))
    assert abroad.log_in("other.lead", PASSWORD).status_code == 303
    foreign = house.tablet(Desk("tablet-z"), enrolled=False)
    assert foreign.enrol(house.code(other)).status_code == 200
    revoked = house.tablet(Desk("tablet-y"))
    house.server.gate.revoke("tablet-y")
    return {
        "nobody": Visitor(house.client()),
        "a wrong token": Visitor(house.client(), {"Authorization": "Bearer no-such-token"}),
        "a token that is none": Visitor(house.client(), {"Authorization": "Basic eDp4"}),
        "another clinic's tablet": Visitor(house.client(), foreign.headers),
        "a revoked tablet": Visitor(house.client(), revoked.headers),
        "our technician": Visitor(technician.client), "another clinic's lead": Visitor(abroad.client),
        "a made-up cookie": Visitor(httpx.Client(
            transport=house.client()._transport, base_url=BASE, cookies={"stancebook_session": "x" * 43})),
    }


def counted(house) -> dict[str, int]:
    with house.station.store.reading() as connection:
        return {
            table.name: connection.scalar(select(func.count()).select_from(table))
            for table in tables_of(SERVER) if table.name not in MAY_GROW
        }


def test_nobody_gets_or_changes_anything_by_a_route_that_is_not_public(house, pushed):
    """Route by role by clinic: refused, nothing of a person shown, nothing written, and noted down."""
    visitors, asked, wrong = strangers(house, pushed), 0, []
    before = counted(house)
    for method, pattern in routes_of(house.app):
        if (method, pattern) in PUBLIC | BY_CODE:
            continue
        for who, visitor in visitors.items():
            noted = len(house.audit())
            answer = visitor.ask(method, filled(pattern))
            asked += 1
            own = who == "another clinic's lead" and "{" not in pattern  # their own clinic's page
            refused = answer.status_code in (401, 403, 404) or (
                answer.status_code == 303 and answer.headers["location"].startswith("/log-in"))
            held = who == "a revoked tablet" and answer.status_code == 400  # taken to be held back, if it were a batch
            if not (refused or own or held):
                wrong.append((method, pattern, who, answer.status_code))
            if SHOWS.search(answer.text):
                wrong.append((method, pattern, who, "shows a person"))
            if len(house.audit()) == noted and not own:
                wrong.append((method, pattern, who, "not noted"))
            if counted(house) != before:
                wrong.append((method, pattern, who, "wrote something"))
                before = counted(house)
    assert not wrong, "\n".join(map(str, wrong))
    assert asked >= 8 * 7


#: Shows no person: how far each chain has come.
NO_PERSON = {("GET", "/exchange/{clinic}/standing")}


def test_whoever_may_is_let_through_and_what_they_saw_of_a_person_is_noted(house, pushed):
    allowed = {True: Visitor(house.client(), pushed.headers), False: Visitor(house.lead().client)}
    wrong = []
    for method, pattern in routes_of(house.app):
        if method != "GET" or (method, pattern) in PUBLIC:
            continue
        noted = len(house.audit())
        answer = allowed[pattern.startswith("/exchange/")].ask(method, filled(pattern))
        if answer.status_code in (401, 403, 405, 500) or answer.status_code == 303:
            wrong.append((method, pattern, answer.status_code))
        shows = bool(SHOWS.search(answer.text)) or pattern.startswith("/exchange/")
        if shows and answer.status_code == 200 and len(house.audit()) == noted and (method, pattern) not in NO_PERSON:
            wrong.append((method, pattern, "not noted"))
    assert not wrong, "\n".join(map(str, wrong))


def test_a_public_route_shows_nobody(house, pushed):
    for method, pattern in sorted(PUBLIC):
        answer = Visitor(house.client()).ask(method, pattern)
        assert answer.status_code < 500 and not SHOWS.search(answer.text)


def test_the_matrix_sees_every_route(house):
    """Fails when the framework keeps its routes in a way that the walk does not know."""
    found = set(routes_of(house.app))
    assert PUBLIC <= found
    assert {("GET", "/exchange/{clinic}/entries"), ("POST", "/exchange/{clinic}/entries"),
            ("GET", "/fittings/{fitting}"), ("POST", "/fittings/{fitting}/decision")} <= found
    for method, pattern in found:
        answer = house.client().request(method, filled(pattern))
        assert answer.status_code != 405, (method, pattern)


def test_a_method_that_no_route_has_is_refused(house, pushed):
    for _, pattern in sorted(set(routes_of(house.app))):
        for method in ("TRACE", "PROPFIND", "DELETE"):
            answer = house.client().request(method, filled(pattern), headers=pushed.headers)
            assert answer.status_code in (401, 403, 404, 405), (method, pattern, answer.status_code)
