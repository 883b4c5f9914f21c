"""A real server over a real file, and tablets that speak the protocol to it."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest
from sqlalchemy import delete, insert, select

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import CHAIN_HEAD, Signature, new_key, public_text, sign
from shared_models.exchange import batch as batches
from shared_models.exchange import pull as pulls
from shared_models.ledger.columns import SERVER
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import Stretch
from shared_models.ledger.tables import tables_of
from sync_server.app import create_app, open_server
from sync_server.services.staffing import demo_lead, set_up_demo
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC, PROSTHETIST, TECHNICIAN, Desk

#: Stretching that costs next to nothing, so that tests are quick.
CHEAP = Stretch(memory_kib=64, passes=1, lanes=1)
BASE = "http://127.0.0.1"


class InThread(httpx.BaseTransport):
    """Carries requests to the application without a socket, one loop for all."""

    def __init__(self, app) -> None:
        from fastapi.testclient import TestClient

        self._client = TestClient(app, base_url=BASE, raise_server_exceptions=False)

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        return self._client._transport.handle_request(request)


@dataclass
class Tablet:
    """A tablet at the server's door: a desk's chain, its key, its token."""

    client: httpx.Client
    desk: Desk
    key: object = field(default_factory=new_key)
    token: str = ""
    enrolment: dict = field(default_factory=dict)

    @property
    def name(self) -> str:
        return self.desk.author.end.tablet

    def enrol(self, code: str) -> httpx.Response:
        answer = self.client.post("/exchange/enrol", content=json.dumps({
            "format": 1, "code": code, "tablet": self.name,
            "public_key": public_text(self.key), "program": "0.1.0",
        }))
        if answer.status_code == 200:
            self.enrolment = answer.json()
            self.token = self.enrolment["token"]
        return answer

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.token}"}

    def own(self) -> list[Entry]:
        mine = [e for e in self.desk.record.entries.values() if e.tablet == self.name]
        return sorted(mine, key=lambda e: e.number)

    def head_signature(self, entry: Entry) -> Signature:
        return sign(self.key, clinic=entry.clinic, signs=entry.digest, signer_type="tablet",
                    signer=self.name, printed_name=self.name, meaning=CHAIN_HEAD,
                    signed_at=entry.recorded_at)

    def packed(self, entries=None) -> bytes:
        entries = self.own() if entries is None else entries
        mine = {e.digest for e in entries}
        signatures = [s for s in self.desk.record.signatures.values() if s.signs in mine]
        signatures.append(self.head_signature(entries[-1]))
        return batches.encode(batches.batch_of(CLINIC, entries, signatures))

    def push(self, entries=None, data: bytes | None = None, clinic: str = CLINIC) -> httpx.Response:
        return self.client.post(f"/exchange/{clinic}/entries", headers=self.headers,
                                content=data if data is not None else self.packed(entries))

    def pull(self, after: int = 0, limit: int = 2000, clinic: str = CLINIC) -> httpx.Response:
        return self.client.get(f"/exchange/{clinic}/entries", headers=self.headers,
                               params={"after": after, "limit": limit})

    def take_all(self, after: int = 0) -> pulls.Pull:
        found = pulls.decode(self.pull(after).content)
        self.desk.record.add(found.entries, found.signatures)
        return found


@dataclass
class Lead:
    """A lead clinician at a browser without scripts."""

    client: httpx.Client

    def log_in(self, login: str, password: str, **changed: str) -> httpx.Response:
        page = self.client.get("/log-in")
        form = {"csrf": hidden(page, "csrf"), "then": "/fittings", "login": login,
                "password": password, **changed}
        return self.client.post("/log-in", data=form)

    def open(self, fitting: str = "fitting-1") -> httpx.Response:
        return self.client.get(f"/fittings/{fitting}")

    def decide(self, page: httpx.Response, decision: str, password: str = "",
               fitting: str = "fitting-1", **changed: str) -> httpx.Response:
        form = {"csrf": hidden(page, "csrf"), "seen": hidden(page, "seen"),
                "decision": decision, "password": password or demo_lead()["password"], **changed}
        return self.client.post(f"/fittings/{fitting}/decision", data=form)


def hidden(page: httpx.Response, name: str) -> str:
    """Return the value of a hidden field of a page, "" where there is none."""
    found = re.search(rf'name="{name}" value="([^"]*)"', page.text)
    return found[1] if found else ""


@dataclass
class House:
    """A server with the demo clinic, its application, and clients of it."""

    server: object
    app: object
    settings: Settings

    @property
    def station(self):
        return self.server.station

    def client(self) -> httpx.Client:
        return httpx.Client(transport=InThread(self.app), base_url=BASE)

    def code(self, clinic: str = CLINIC) -> str:
        return self.server.gate.new_code(clinic, people=(PROSTHETIST, TECHNICIAN))

    def tablet(self, desk: Desk | None = None, enrolled: bool = True) -> Tablet:
        found = Tablet(self.client(), desk or Desk())
        if enrolled:
            answer = found.enrol(self.code())
            assert answer.status_code == 200, answer.text
        return found

    def lead(self, logged_in: bool = True) -> Lead:
        found = Lead(self.client())
        if logged_in:
            person = demo_lead()
            answer = found.log_in(person["login"], person["password"])
            assert answer.status_code == 303, answer.text
        return found

    def kept_bytes(self) -> bytes:
        """Everything that the store keeps: its files' bytes, or every row of its database."""
        store = self.station.store
        if store.path is not None:
            store.close()
            return b"".join(p.read_bytes() for p in store.path.parent.iterdir())
        with store.reading() as connection:
            return b"\n".join(
                part if isinstance(part, bytes) else str(part).encode()
                for table in tables_of(SERVER) for row in connection.execute(select(table)) for part in row
            )

    def audit(self, clinic: str | None = None):
        return self.station.audit.rows(clinic)


class JoinedDesk(Desk):
    """A desk that joined a clinic: the staff are known, it adds its own keys."""

    def staff(self) -> "JoinedDesk":
        for person in (PROSTHETIST, TECHNICIAN):
            self.keys[person] = new_key()
            body = {"tablet": self.author.end.tablet, "public_key": public_text(self.keys[person])}
            self.note("staff_key", body, by=person, subject=Subject("staff", person))
        return self


def make_house(folder: Path, store: str = "") -> House:
    """Open the server of a folder; make the demo clinic where there is none."""
    key_file = str(folder / "server.sqlite.signing-key")
    settings = Settings(store=store or str(folder / "server.sqlite"), key_file=key_file, stretch=CHEAP)
    server = open_server(settings)
    set_up_demo(server.station, server.door.accounts)
    return House(server, create_app(settings, server), settings)


@dataclass
class Begun:
    """A server's folder and a tablet with a whole fitting that it has not sent."""

    folder: Path
    tablet: Tablet


@pytest.fixture(scope="session")
def begun(tmp_path_factory) -> Begun:
    """Made once, copied for each test."""
    folder = tmp_path_factory.mktemp("begun")
    house = make_house(folder)
    tablet = house.tablet(JoinedDesk())
    tablet.take_all()
    tablet.desk.staff().before_the_bench().on_the_bench().tune().close().hand_over()
    tablet.desk.request_review()
    house.station.store.close()
    return Begun(folder, tablet)


@pytest.fixture(scope="session")
def begun_template(begun, postgres) -> str:
    """The begun server's rows in a PostgreSQL database, copied for each test."""
    name = postgres.database()
    copy_rows(open_store(begun.folder / "server.sqlite", SERVER), open_store(postgres.url(name), SERVER))
    return name


def copy_rows(source, target) -> None:
    """Copy a server's rows from one open store into another, and close both."""
    with source.reading() as old, target.writing() as new:
        for table in reversed(tables_of(SERVER)):
            new.execute(delete(table))
        for table in tables_of(SERVER):
            rows = [dict(row._mapping) for row in old.execute(select(table))]
            for row in rows:
                if table.name == "audit":
                    row.pop("id")  # counts up by itself
            if rows:
                new.execute(insert(table), rows)
    source.close()
    target.close()


@pytest.fixture
def house(begun, tmp_path, store_kind, request):
    """A server with the invented clinic; nothing was pushed to it yet."""
    folder = tmp_path / "server"
    shutil.copytree(begun.folder, folder)
    store = database = ""
    if store_kind == "postgresql":
        postgres = request.getfixturevalue("postgres")
        database = postgres.database(request.getfixturevalue("begun_template"))
        store = postgres.url(database)
    found = make_house(folder, store)
    yield found
    found.station.store.close()
    if database:
        postgres.drop(database)


@pytest.fixture
def tablet(begun, house) -> Tablet:
    """An enrolled tablet with a whole fitting, sent for review, not yet pushed."""
    old = begun.tablet
    return Tablet(house.client(), copy_of(old.desk), old.key, old.token, old.enrolment)


def copy_of(desk: Desk) -> Desk:
    """Return a desk that goes on where this one is, without touching it."""
    other = desk.beside(desk.author.end.tablet)
    end = desk.author.end
    other.author.end.number, other.author.end.digest = end.number, end.digest
    return other
