"""F11, F18 and F20: old schemas, damaged files, tampered histories."""

from __future__ import annotations

import random
import shutil
import sqlite3
import time
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Iterator

from shared_models.exchange.chains import verify_chain
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.rescuing import rescue
from shared_models.ledger.schema import KNOWN_REVISIONS, Schema
from shared_models.quantities.refusals import Refusal
from tests.faults.invariants import heal, look, sound_file
from tests.faults.moves import MOVES
from tests.faults.schedules import Ground, Tally
from tests.faults.steered import Clocks, steered
from tests.faults.struck import KILL, Say, beside, stop_here, strike
from tests.faults.world import CLINIC, FITTING, PIN, STAFF, World, opened


#: Of every so many damaged pages what can be read is got out too.
_EACH_RESCUED = 8
#: What a file may be refused for whose PINs or keys are in the damaged page.
_NOBODYS = ("rescue_no_keys", "no_pin_here", "wrong_pin")


def store_of(revision: str, source: Path, target: Path, side: str) -> Path:
    """Write what a store holds into one of an older schema, made by the older migrations."""
    known = KNOWN_REVISIONS[:KNOWN_REVISIONS.index(revision) + 1]
    open_store(target, side, schema=Schema(known=known)).close()
    with closing(sqlite3.connect(target)) as raw:
        raw.execute("ATTACH ? AS source", (str(source),))
        tables = [row[0] for row in raw.execute(
            "SELECT name FROM main.sqlite_master WHERE type = 'table' AND name != 'alembic_version'"
            " AND name NOT LIKE 'sqlite_%'"
        )]
        for table in tables:
            columns = [row[1] for row in raw.execute(f"PRAGMA main.table_info({table})")]
            there = {row[1] for row in raw.execute(f"PRAGMA source.table_info({table})")}
            names = ", ".join(f'"{c}"' for c in columns if c in there)
            raw.execute(f"DELETE FROM main.{table}")
            if names:
                raw.execute(f"INSERT INTO main.{table} ({names}) SELECT {names} FROM source.{table}")
        raw.commit()
    return target


def old_schemas(ground: Ground, tally: Tally, until: float) -> None:
    """F11: every older tablet with an outbox meets every older server's store."""
    for of_tablet in KNOWN_REVISIONS:
        for of_server in KNOWN_REVISIONS:
            if time.monotonic() > until:
                tally.notes["not reached in time"] += 1
                return
            _one_pair(ground, of_tablet, of_server, tally)
    _killed_migration(ground, tally, until)


def _one_pair(ground: Ground, of_tablet: str, of_server: str, tally: Tally) -> None:
    folder = ground.fresh()
    chance, clocks = random.Random(f"{of_tablet}/{of_server}"), Clocks()
    where = f"tablet {of_tablet}, server {of_server}"
    with steered(clocks, chance):
        world = World(folder, chance, clocks, tablets=2)
        for name in ("record", "correct", "sign", "record"):
            MOVES[name](world, world.tablets[0])
        world.close()
        for side, path in (("tablet", world.tablets[0].tablet.path), ("server", world.server.path)):
            revision = of_tablet if side == "tablet" else of_server
            old = store_of(revision, path, path.with_name("old"), side)
            shutil.move(old, path)
        outbox = len(world.saved)
        world.server.open()
        for tablet in world.tablets:
            tablet.tablet, tablet.session = opened(tablet.folder)
        waiting = world.tablets[0].session.unsent()[0]
        if waiting < outbox:
            tally.lost += outbox - waiting
            tally.broken.append(f"{where}: I1: {waiting} of {outbox} wait to be sent after the migration")
        tally.faults += 2
        tally.count(look(world, heal(world)), where)
        world.close()
    shutil.rmtree(folder, ignore_errors=True)


def _killed_migration(ground: Ground, tally: Tally, until: float) -> None:
    template = ground.fresh()
    path = template / "a" / "stancebook.tablet"
    old = store_of(KNOWN_REVISIONS[0], path, path.with_name("old"), "tablet")
    shutil.move(old, path)
    before = _digests(path)
    for number in range(1, 400, 7):
        if time.monotonic() > until:
            tally.notes["not reached in time"] += 1
            break
        folder = beside(template / "a", "struck")

        def child(say: Say, folder: Path = folder) -> None:
            stop_here()
            open_store(folder / path.name, "tablet").close()
            say("done")

        struck = strike(child, KILL.format(n=number))
        if struck.whole:
            break
        tally.runs += 1
        tally.faults += 1
        tablet, session = opened(folder)
        gone = before - {e.digest for e in session.entries.entries()}
        tablet.close()
        if gone:
            tally.lost += len(gone)
            tally.broken.append(f"migration killed at write {number}: I1: {len(gone)} entries gone")
    shutil.rmtree(template, ignore_errors=True)


def _digests(path: Path) -> set[str]:
    with closing(sqlite3.connect(path)) as raw:
        return {row[0] for row in raw.execute("SELECT digest FROM entry")}


# damaged files --------------------------------------------------------------------

def damaged_pages(ground: Ground, tally: Tally, until: float, entries: int = 1500) -> None:
    """F18: bytes turned over in each page of a tablet's file; and the file cut short."""
    chance, clocks = random.Random("pages"), Clocks()
    folder = ground.fresh()
    tablet, session = opened(folder / "a")
    with tablet.store.together():
        for number in range(entries):
            session.save("setting", FITTING, {
                "function": "swing_flexion", "position": str(number % 9 + 1), "reason": "trial",
            })
    tablet.close()
    path = folder / "a" / "stancebook.tablet"
    whole = path.read_bytes()
    good = _digests(path)
    with closing(sqlite3.connect(path)) as raw:
        size = raw.execute("PRAGMA page_size").fetchone()[0]
    tally.notes["pages"] += len(whole) // size
    with steered(clocks, chance):
        world = World(folder, chance, clocks, tablets=2, folds=False)
        world.tablets[0].tablet.close()
        for page in range(len(whole) // size):
            if time.monotonic() > until:
                tally.notes["not reached in time"] += 1
                break
            data = bytearray(whole)
            for _ in range(3):
                data[page * size + chance.randrange(size)] ^= 1 << chance.randrange(8)
            _one_damage(world, path, bytes(data), good, f"page {page}", tally, page % _EACH_RESCUED == 0)
            if page % 40 == 0:
                _one_damage(world, path, whole[:page * size + size // 2], good, f"cut in page {page}", tally)
        world.tablets.pop(0)
        world.close()
    shutil.rmtree(folder, ignore_errors=True)


def _one_damage(
    world: World, path: Path, data: bytes, good: set[str], where: str, tally: Tally,
    rescued: bool = True,
) -> None:
    for tail in ("-wal", "-shm"):
        Path(f"{path}{tail}").unlink(missing_ok=True)
    path.write_bytes(data)
    tally.runs += 1
    tally.faults += 1
    before = set(world.on_server())
    tablet = None
    try:
        tablet, session = opened(path.parent)
        shown = {e.digest for e in session.entries.entries()}
        if shown - good:
            tally.broken.append(f"{where}: I6: shows what nobody recorded")
        tally.notes["opened, all entries sound" if shown == good else "opened, entries missing"] += 1
        if shown != good:
            bad = verify_chain(session.entries.chain_rows(CLINIC, session.tablet))
            if bad is None:
                tally.broken.append(f"{where}: I6: entries are missing and no check says so")
    except Refusal as refusal:
        tally.notes[f"noticed: {refusal.code}"] += 1
        if rescued:
            _rescued(path, good, where, tally)
    except Exception as error:  # a fault of ours: a person would see no sentence
        tally.broken.append(f"{where}: I6: {type(error).__name__}: {str(error)[:120]}")
    finally:
        if tablet is not None:
            tablet.close()
    strange = set(world.on_server()) - before - good
    if strange:
        tally.broken.append(f"{where}: I6: {len(strange)} damaged entries were sent")


def _rescued(path: Path, good: set[str], where: str, tally: Tally) -> None:
    """What comes out of a damaged file into a fresh one is sound, and nothing else than was there."""
    fresh = path.with_name("fresh")
    try:
        found = rescue(path, fresh, lambda store: KeySlots(store).unlock(STAFF, PIN).codec)
    except Refusal as refusal:
        tally.notes[f"not rescued: {refusal.code}"] += 1
        if refusal.code not in _NOBODYS or fresh.exists():
            tally.broken.append(f"{where}: F18: not rescued: {refusal.code}")
        return
    there = _digests(fresh)
    if there - good or len(there) != found.entries or sound_file(fresh):
        tally.broken.append(f"{where}: F18: {len(there - good)} strange in what was rescued, {sound_file(fresh)}")
    whole = there | {entry.digest for entry in found.aside}
    tally.notes["rescued whole" if whole == good else "rescued in part"] += 1
    tally.notes["entries in rescued files"] += len(good)
    tally.notes["of them rescued or set aside"] += len(whole)
    fresh.unlink()


# tampered histories ---------------------------------------------------------------

def tampered(ground: Ground, tally: Tally, until: float, entries: int = 1000, step: int = 1) -> None:
    """F20: a row edited, a row taken out, the tail cut; by SQL, in the server's file."""
    folder = ground.fresh()
    with steered(Clocks(), random.Random("tampered")):
        world = World(folder, random.Random("rows"), Clocks(), tablets=1, folds=False)
        session, name = world.tablets[0].session, world.tablets[0].session.tablet
        with world.tablets[0].tablet.store.together():
            for number in range(entries - session.author.end.number):
                session.save("setting", FITTING, {
                    "function": "swing_flexion", "position": str(number % 9 + 1), "reason": "trial",
                })
        world.sync(world.tablets[0])
    history = _History(world, name)
    if history.first_bad() is not None or len(history.rows) != entries:
        tally.broken.append(f"I6: a sound chain of {len(history.rows)} is called bad")
    order = list(history.rows)
    world.chance.shuffle(order)
    for count, row in enumerate(order[::step]):
        if time.monotonic() > until:
            tally.notes["not reached in time"] += 1
            break
        _one_history(history, row, count % 10 == 0, tally)
    history.close()
    world.close()
    shutil.rmtree(folder, ignore_errors=True)


def _one_history(history: "_History", row: tuple, each_tenth: bool, tally: Tally) -> None:
    rowid, number, content = row
    edited = content.replace(b'"recorded_by":"', b'"recorded_by":"not-')
    with history.changed("rowid = ?", rowid, to=edited):
        _must_find(history.first_bad(), number, f"row {number} edited", tally)
    if not each_tenth:
        return
    with history.changed("rowid = ?", rowid):
        _must_find(history.first_bad(), number, f"row {number} taken out", tally)
    with history.changed("tablet = ? AND number >= ?", history.name, number):
        _must_find(history.first_bad(), history.held[0], f"cut before row {number}", tally)


class _History:
    """A tablet's chain in the server's file, and somebody with SQL."""

    def __init__(self, world: World, name: str) -> None:
        self.name, self._entries = name, world.server.station.entries
        #: Where another machine knows that the chain ends.
        self.held = world.tablets[0].session.entries.chain_end(CLINIC, name)
        self._raw = sqlite3.connect(world.server.path)
        self.rows = self._raw.execute(
            "SELECT rowid, number, content FROM entry WHERE tablet = ? ORDER BY number", (name,)
        ).fetchall()

    @contextmanager
    def changed(self, where: str, *values: object, to: bytes | None = None) -> Iterator[None]:
        """Give rows other content by SQL, or take them out; afterwards the file is as it was."""
        taken = self._raw.execute(f"SELECT rowid, * FROM entry WHERE {where}", values).fetchall()
        if to is None:
            self._raw.execute(f"DELETE FROM entry WHERE {where}", values)
        else:
            self._raw.execute(f"UPDATE entry SET content = ? WHERE {where}", (to, *values))
        self._raw.commit()
        try:
            yield
        finally:
            names = ", ".join(row[1] for row in self._raw.execute("PRAGMA table_info(entry)"))
            marks = ", ".join("?" * len(taken[0]))
            self._raw.executemany(f"REPLACE INTO entry (rowid, {names}) VALUES ({marks})", taken)
            self._raw.commit()

    def first_bad(self):  # type: ignore[no-untyped-def]
        """Read the chain as the server does; return the first bad row, None where all fits."""
        return verify_chain(self._entries.chain_rows(CLINIC, self.name), self.held)

    def close(self) -> None:
        self._raw.close()


def _must_find(found, number: int, where: str, tally: Tally) -> None:  # type: ignore[no-untyped-def]
    tally.runs += 1
    tally.faults += 1
    if found is None or found.number != number:
        tally.broken.append(f"{where}: I6: found {found}")
