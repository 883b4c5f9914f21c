"""Two server processes over one PostgreSQL, four tablets at once, one process killed."""

from __future__ import annotations

import random
import threading
from dataclasses import dataclass, field

import httpx
import pytest

from shared_models.entries.envelope import Subject
from shared_models.exchange import pull as pulls
from shared_models.ledger.columns import SERVER
from shared_models.ledger.opening import open_store
from shared_models.ledger.fingerprints import fingerprint_of
from shared_models.ledger.schema import Schema
from shared_models.ledger.server_read_rows import read_rows
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import CHEAP, JoinedDesk, Tablet, make_house
from tests.sync_server.server_process import ServerProcess

TABLETS, ENTRIES, AT_ONCE = 4, 36, 3


@pytest.fixture
def database(postgres, begun_template):
    name = postgres.database(begun_template)
    yield postgres.url(name)
    postgres.drop(name)


@dataclass
class Walk:
    """One tablet that pushes in small batches and pulls meanwhile, by whichever process answers."""

    tablet: Tablet
    clients: list[httpx.Client]
    acknowledged: set[str] = field(default_factory=set)
    pulled: dict[int, str] = field(default_factory=dict)
    after: int = 0
    failures: int = 0
    refused: list[str] = field(default_factory=list)

    def go(self, chance: random.Random, acknowledge) -> None:
        own = self.tablet.own()
        place = 0
        while place < len(own) and not self.refused:
            part = own[place:place + AT_ONCE]
            self.tablet.client = chance.choice(self.clients)
            try:
                answer = self.tablet.push(part)
            except httpx.TransportError:
                self.failures += 1
                continue
            if answer.status_code == 503:
                continue
            if answer.status_code != 200:
                self.refused.append(answer.text)
                return
            self.acknowledged |= {e.digest for e in part}
            place += len(part)
            acknowledge()
            self.pull(chance)

    def pull(self, chance: random.Random) -> bool:
        """Take one small page, and tell whether there may be more; the cursor only rises."""
        self.tablet.client = chance.choice(self.clients)
        try:
            answer = self.tablet.pull(self.after, limit=17)
        except httpx.TransportError:
            return True
        if answer.status_code != 200:
            return True
        page = pulls.decode(answer.content)
        for item in page.items:
            assert item.sequence not in self.pulled
            self.pulled[item.sequence] = item.item.digest
        self.after = page.next
        return page.more


def tablet_with_work(house, name: str) -> Tablet:
    """An enrolled tablet with a fitting of its own and many readings, nothing sent yet."""
    tablet = house.tablet(JoinedDesk(name))
    desk = tablet.desk
    desk.fitting, desk.person = Subject("fitting", f"fitting-{name}"), Subject("person", f"person-{name}")
    desk.note("identity", {"family_name": name, "given_name": "Ash", "file_number": name}, subject=desk.person)
    desk.note("opened", {"person": desk.person.id, "prosthetist": "demo-prosthetist", "side": "left"})
    for number in range(ENTRIES - 2):
        desk.note("activity", {"goals": f"walk {number} of {name}"}) if number % 2 else desk.note(
            "body", {"body_mass_kg": f"{70 + number}.0", "carried_load_kg": "0"})
    return tablet


def test_two_processes_four_tablets_one_process_killed(database, begun, tmp_path):
    """I1 nothing acknowledged is lost, I2 each once, I3 all equal, I6 chains and tables sound."""
    key_file = begun.folder / "server.sqlite.signing-key"
    house = make_house(begun.folder, database)
    tablets = [tablet_with_work(house, f"tablet-{n}") for n in range(TABLETS)]
    before = house.station.entries.count(CLINIC)
    first, second = (ServerProcess(database, key_file) for _ in range(2))
    clients = [httpx.Client(base_url=p.address, timeout=20) for p in (first, second)]
    walks = [Walk(tablet, list(clients)) for tablet in tablets]
    middle, seen, lock = TABLETS * ENTRIES // AT_ONCE // 3, [0], threading.Lock()
    kill_now = threading.Event()

    def acknowledged() -> None:
        with lock:
            seen[0] += 1
            if seen[0] == middle:
                kill_now.set()

    threads = [
        threading.Thread(target=walk.go, args=(random.Random(seed), acknowledged))
        for seed, walk in enumerate(walks)
    ]
    try:
        for thread in threads:
            thread.start()
        kill_now.wait(timeout=60)
        assert kill_now.is_set(), [walk.refused for walk in walks]
        first.kill()
        for thread in threads:
            thread.join(timeout=120)
        assert not any(walk.refused for walk in walks)
        assert sum(walk.failures for walk in walks) > 0, "the killed process was missed by nobody"
        for walk in walks:
            walk.clients = [clients[1]]
            while walk.pull(random.Random(0)):
                pass
        everything_holds(house, walks, before)
    finally:
        second.stop()
        first.kill()
        house.station.store.close()
    assert "Traceback" not in "".join(second.said)


def everything_holds(house, walks: list[Walk], before: int) -> None:
    entries = house.station.entries
    own = {e.digest for walk in walks for e in walk.tablet.own()}
    for walk in walks:
        assert walk.acknowledged == {e.digest for e in walk.tablet.own()}
        assert all(entries.has(digest) for digest in walk.acknowledged)  # I1
        rows = entries.chain_rows(CLINIC, walk.tablet.name)
        assert [row.number for row in rows] == list(range(1, len(walk.tablet.own()) + 1))  # I2, I6
        assert [row.digest for row in rows] == [e.digest for e in walk.tablet.own()]
    assert entries.count(CLINIC) == before + len(own)
    last = entries.last_sequence(CLINIC)
    wanted = entries.fingerprint(CLINIC)
    for walk in walks:
        assert sorted(walk.pulled) == list(range(1, last + 1)), "a number was passed over"
        assert fingerprint_of(walk.pulled.values()) == wanted  # I3
    for entry in entries.entries(CLINIC):  # each opens with its digest and follows the one before
        assert entry.number == 1 or entries.has(entry.previous)
    with house.station.store.reading() as connection:
        kept = read_rows(connection, CLINIC)
    house.station.rebuild(CLINIC)
    with house.station.store.reading() as connection:
        assert read_rows(connection, CLINIC) == kept


def test_two_processes_that_start_at_once_make_the_schema_once(postgres, tmp_path):
    name = postgres.database()
    try:
        opened, threads = [], []
        for _ in range(4):
            threads.append(threading.Thread(target=lambda: opened.append(open_store(postgres.url(name), SERVER))))
            threads[-1].start()
        for thread in threads:
            thread.join(timeout=60)
        assert len(opened) == 4 and len({store.store_id for store in opened}) == 1
        with opened[0].reading() as connection:
            from sqlalchemy import text

            assert connection.scalar(text("SELECT version_num FROM alembic_version")) == Schema().newest
            odd = connection.execute(text(
                "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = 'public'"
                " AND data_type IN ('text', 'character varying') AND collation_name IS DISTINCT FROM 'C'"
            )).all()
        assert odd == [], "text is compared by its bytes, as in a file"
        for store in opened:
            store.close()
    finally:
        postgres.drop(name)


def test_a_session_and_its_end_count_in_every_process(database, begun):
    key_file = begun.folder / "server.sqlite.signing-key"
    one, other = make_house(begun.folder, database), make_house(begun.folder, database)
    try:
        lead = one.lead()
        elsewhere = other.lead(logged_in=False)
        elsewhere.client.cookies.update(dict(lead.client.cookies))
        assert elsewhere.client.get("/fittings").status_code == 200, "opening another process ended no session"
        codes = []
        for house in (one, other, one, other, one):
            visitor = house.lead(logged_in=False)
            codes.append(visitor.log_in("lior.ledger", "wrong").status_code)
        assert codes == [401, 401, 401, 401, 429]
        assert other.lead(logged_in=False).log_in("lior.ledger", "wrong").status_code == 429
    finally:
        one.station.store.close()
        other.station.store.close()
    assert key_file.exists() and Settings(store=database, stretch=CHEAP).store
