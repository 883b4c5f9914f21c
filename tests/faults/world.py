"""One clinic in one process: several tablets and a server, all of them the real ones.

Stores are files (on a memory file system where there is one), opened by the
program's own `Tablet` and `open_server`; a courier carries between them over a
`Link` to the real application.  Only PINs are stretched cheaply.
"""

from __future__ import annotations

import itertools
import random
import shutil
import sqlite3
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import shared_models.ledger.engine as engine_module
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import new_key, public_text
from shared_models.ledger.holding import Holding
from shared_models.quantities.refusals import Refusal
from mobile.keeping.courier import Courier, SyncRefusal, SyncResult
from mobile.keeping.session import Session
from mobile.keeping.tablet import Newcomer, Tablet
from sync_server.app import create_app, open_server
from sync_server.services.station import Station
from sync_server.settings import Settings
from tests.faults.steered import Clocks
from tests.faults.wire import ADDRESS, Answer, Asked, Link, ask
from tests.shared_models.making import CHEAP

CLINIC = "clinic-of-faults"
STAFF, PIN = "staff-of-faults", "480217"
FITTING, PERSON = Subject("fitting", "fitting-of-faults"), Subject("person", "person-of-faults")
NAMES = ("a", "b", "c")


@dataclass
class Saved:
    """What a person was told is saved, and what their tablet's clock said then."""

    entry: Entry
    on: str
    clock_ms: int


@dataclass
class SimTablet:
    """One tablet: its folder, its line, who is at work on it."""

    name: str
    folder: Path
    link: Link
    tablet: Tablet
    session: Session
    courier: Courier = field(init=False)
    results: list[SyncResult] = field(default_factory=list)
    refused: Counter = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.courier = Courier(lambda: self.link)

    def reopen(self) -> None:
        """Restart the tablet."""
        self.tablet.close()
        self.courier = Courier(lambda: self.link)
        self.tablet, self.session = opened(self.folder)


def opened(folder: Path) -> tuple[Tablet, Session]:
    """Open a tablet's folder and unlock it."""
    tablet = Tablet(folder, CHEAP)
    return tablet, tablet.unlock(STAFF, PIN)


class SimServer:
    """The server: real store, services and application, restartable and restorable."""

    def __init__(self, folder: Path, folds: bool = True) -> None:
        self.folder, self.folds = folder, folds
        self.settings = Settings(store=str(folder / "server.sqlite"), stretch=CHEAP)
        self.app: Any = None
        self.open()

    @property
    def station(self) -> Station:
        return self.server.station

    @property
    def path(self) -> Path:
        return Path(self.settings.store)

    def open(self) -> None:
        """Open the store; read tables are folded only where the schedule looks at them."""
        self.server = open_server(self.settings)
        if not self.folds:
            self.server.station.fold = lambda *_a, **_k: None  # type: ignore[method-assign]
        if self.app is None:
            self.app = create_app(self.settings, self.server)
        self.app.state.server = self.server

    def close(self) -> None:
        self.server.station.store.close()

    def reopen(self) -> None:
        self.close()
        self.open()

    def backup(self, to: Path) -> Path:
        """Take a consistent copy while the server runs."""
        return copied(self.path, to)

    def restore(self, copy: Path) -> None:
        """Put an older copy in the store's place, as an operator does, and name a new epoch."""
        self.close()
        for tail in ("", "-wal", "-shm"):
            Path(f"{self.path}{tail}").unlink(missing_ok=True)
        shutil.copy(copy, self.path)
        self.open()
        self.station.store.begin_new_epoch()


def share_words() -> None:
    """Let all stores of this process use statements that one of them put into SQL.

    Each open store has its own list of them; a world opens a dozen stores, and
    would spend its time on wording the same statements again.
    """
    if getattr(engine_module.create_engine, "is_shared", False):
        return
    make, first = engine_module.create_engine, []

    def create_engine(*url: Any, **options: Any) -> Any:
        engine = make(*url, **options)
        if engine.dialect.name == "sqlite":
            first.append(engine) if not first else None
            engine.dialect = engine.pool._dialect = first[0].dialect
            engine._compiled_cache = first[0]._compiled_cache
        return engine

    create_engine.is_shared = True  # type: ignore[attr-defined]
    engine_module.create_engine = create_engine  # type: ignore[assignment]


def copied(source: Path, target: Path) -> Path:
    """Copy an SQLite store whole, also while it is open."""
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)
    return target


class World:
    """Tablets and a server over a copy of a template, with a seed for all that happens."""

    def __init__(
        self, folder: Path, chance: random.Random, clocks: Clocks, *,
        tablets: int = 2, folds: bool = True,
    ) -> None:
        self.folder, self.chance, self.clocks = folder, chance, clocks
        self.faults: Counter = Counter()
        self.saved: list[Saved] = []
        self.tablets: list[SimTablet] = []
        #: Who was copied, the copy, under which name and up to which number they are one.
        self.clones: list[tuple[str, str, str, int]] = []
        self.backups: list[Path] = []
        self.server = SimServer(folder / "server", folds)
        for name in NAMES[:tablets]:
            self.open_tablet(name, folder / name)
        self.known_before = self.on_server()
        self.fitting_before = self.tablets[0].session.entries.entries(CLINIC, FITTING)
        #: Tablets whose access was taken away, and how much of what was saved was looked at.
        self.revoked: set[str] = set()
        self.looked_at = 0
        #: Sticks that are about, those taken in whole, photos by their hash.
        self.sticks: list[Path] = []
        self.taken: set[Path] = set()
        self.photos: dict[str, bytes] = {}
        self.numbers = itertools.count(1)
        #: What did not hold while a schedule was played; each begins with its invariant.
        self.wrong: list[str] = []

    def open_tablet(self, name: str, folder: Path) -> SimTablet:
        """Open a tablet's folder as one of this world's tablets."""
        with self.clocks.turn_of(name):
            tablet, session = opened(folder)
        found = SimTablet(name, folder, Link(self._carry, self.chance, self.faults), tablet, session)
        self.tablets.append(found)
        return found

    def _carry(self, asked: Asked, ends_early: bool) -> Answer:
        with self.clocks.turn_of("server"):
            return ask(self.server.app, asked, ends_early)

    def on_server(self) -> dict[str, bytes]:
        """Return what lies in the server's store, read past the program: digest and bytes."""
        with closing(sqlite3.connect(self.server.path)) as raw:
            return dict(raw.execute("SELECT digest, content FROM entry"))

    def healthy(self) -> list[SimTablet]:
        """Return the tablets that may still come in."""
        return [tablet for tablet in self.tablets if tablet.name not in self.revoked]

    def held_back(self) -> set[str]:
        """Return the digests of what the server holds back for the lead."""
        if not self.revoked:
            return set()
        with self.server.station.reading(CLINIC) as reading:
            return {item.digest for item in Holding(reading.connection, CLINIC).items()}

    def told_saved(self, entry: Entry, tablet: SimTablet) -> None:
        """Note that a save returned."""
        now = self.clocks.true_ms + self.clocks.off_ms.get(tablet.name, 0)
        self.saved.append(Saved(entry, tablet.name, now))

    def sync(self, tablet: SimTablet) -> SyncResult | None:
        """Sync one tablet; None where it did not go through."""
        session = tablet.session
        with self.clocks.turn_of(tablet.name):
            try:
                result = tablet.courier.sync(
                    session, lambda _w, _s: None, session.absorb, lambda: False
                )
            except Refusal as refusal:
                tablet.refused[refusal.code] += 1
                return None
        tablet.results.append(result)
        for reason in result.refused:
            tablet.refused[reason.code] += 1
        return result

    def enrol_again(self, tablet: SimTablet) -> bool:
        """Let a tablet in anew under its own identity and key, with a fresh code."""
        session = tablet.session
        with self.clocks.turn_of("server"):
            code = self.server.server.gate.new_code(CLINIC)
        with self.clocks.turn_of(tablet.name):
            try:
                enrolment = tablet.courier.enrol(
                    ADDRESS, code, session.tablet, public_text(session.device_key)
                )
            except SyncRefusal as refusal:
                tablet.refused[refusal.code] += 1
                return False
            state = session.entries.sync_state(CLINIC)
            session.entries.keep_sync_state(replace(state, access=enrolment.access()))
        return True

    def clone(self, of: SimTablet) -> SimTablet:
        """Copy a tablet's store, as somebody who clones the tablet does; both go on."""
        name = f"{of.name}-clone-{len(self.clones)}"
        folder = self.folder / name
        folder.mkdir()
        copied(of.tablet.path, folder / of.tablet.path.name)
        self.faults["clone"] += 1
        self.clones.append((of.name, name, of.session.tablet, of.session.author.end.number))
        self.clocks.off_ms[name] = self.clocks.off_ms.get(of.name, 0)
        return self.open_tablet(name, folder)

    def back_up(self) -> None:
        """Take a backup of the server."""
        self.backups.append(self.server.backup(self.folder / f"backup-{len(self.backups)}"))

    def restore(self) -> None:
        """Put one of the older backups in the server's place."""
        self.faults["restore"] += 1
        with self.clocks.turn_of("server"):
            self.server.restore(self.chance.choice(self.backups))

    def close(self) -> None:
        """Close every store."""
        for tablet in self.tablets:
            tablet.tablet.close()
        self.server.close()


def make_template(folder: Path) -> Path:
    """Make the stores that every world begins with: a clinic, a person, an open fitting."""
    (folder / "server").mkdir(parents=True)
    server = SimServer(folder / "server")
    station = server.station
    with station.writing(CLINIC) as reading:
        station.record_facts(reading, station.founding_facts(CLINIC, "Clinic of faults"))
        station.record_facts(reading, [(
            "staff", Subject("staff", STAFF),
            {"name": "Ansa Brook", "roles": ["prosthetist", "technician"]},
        )])
    link = Link(lambda asked, early: ask(server.app, asked, early), random.Random(0), Counter())
    courier = Courier(lambda: link)
    open_tablets = []
    for name in NAMES:
        key = new_key()
        code = server.server.gate.new_code(CLINIC)
        enrolment = courier.enrol(ADDRESS, code, f"tablet-{name}", public_text(key))
        tablet = Tablet(folder / name, CHEAP)
        session = tablet.join(
            enrolment, courier.fetch_all(enrolment), key, Newcomer(STAFF, "Ansa Brook", (), PIN)
        )
        if name == NAMES[0]:
            open_the_fitting(session)
        open_tablets.append((tablet, session))
    for _ in range(2):
        for tablet, session in open_tablets:
            courier.sync(session, lambda _w, _s: None, session.absorb, lambda: False)
    for tablet, _ in open_tablets:
        tablet.close()
    server.close()
    return folder


def open_the_fitting(session: Session) -> None:
    """Record who is fitted and what an opening asks for."""
    session.save("identity", PERSON, {
        "family_name": "Example", "given_name": "Ash", "born_on": "1988-04-02",
        "file_number": "D-4711",
    })
    session.save("opened", FITTING, {
        "person": PERSON.id, "prosthetist": STAFF, "side": "left",
        "amputation_level": "transfemoral", "socket_stage": "definitive",
    })
    session.save("body", FITTING, {"body_mass_kg": "82.5", "carried_load_kg": "6"})
