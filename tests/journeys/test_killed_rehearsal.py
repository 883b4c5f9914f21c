"""One rehearsal, killed twenty times on its way, still ends with the accepted record.

The course is killed (SIGKILL) at seeded random moments, one in each stretch of
the way, and started again on the same folder.  After each kill a copy of what
lies on the disk is opened and compared with what the screen had said.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest

from shared_models.entries.record import Record
from shared_models.exchange.chains import verify_chain
from mobile.flows.people import DRAFT
from mobile.keeping.tablet import STORE_NAME, Tablet
from mobile.rehearsal.server_process import ServerProcess
from tests.journeys.conftest import ROOT, enrolment_code
from tests.shared_models.making import rows_of

PROSTHETIST = "demo-prosthetist"
#: Entries that the screen calls saved before everything is sent for the first time, roughly.
LAST_SAVED = 70
START_SECONDS, STEP_SECONDS, MOST_SECONDS = 60, 0.005, 240


@dataclass(frozen=True)
class Moment:
    """When to kill: once so many entries were saved, or where something begins; then so much later."""

    saved: int
    at: str
    later_s: float


def moments(seed: int) -> list[Moment]:
    """Return twenty moments, in the order of the way."""
    chance = random.Random(seed)
    stretches = 16
    width = LAST_SAVED / stretches
    spread = [
        Moment(int(width * n + chance.random() * width), "", chance.uniform(0, 0.8))
        for n in range(stretches)
    ]
    return [
        Moment(0, "joining", chance.uniform(0, 1.2)),
        Moment(0, "a PIN for the technician", chance.uniform(0, 2.5)),
        *spread,
        Moment(0, "sync under way", chance.uniform(0, 0.08)),
        Moment(0, "the lead clinician decides", chance.uniform(0, 0.6)),
    ]


class Witness:
    """What the screen had said, over all the lives of the app."""

    def __init__(self, path: Path) -> None:
        self.path, self.read_to, self.lines = path, 0, []

    def look(self) -> list[dict]:
        """Return the lines that are new; a line cut off is left for later."""
        if not self.path.exists():
            return []
        with self.path.open("rb") as file:
            file.seek(self.read_to)
            whole = file.read().rpartition(b"\n")[0]
        fresh = [json.loads(line) for line in whole.splitlines() if line]
        self.read_to += len(whole) + (1 if whole else 0)
        self.lines += fresh
        return fresh

    @property
    def saved(self) -> list[str]:
        return [line["saved"] for line in self.lines if "saved" in line]

    @property
    def where(self) -> str:
        places = [line["at"] for line in self.lines if "at" in line]
        return places[-1] if places else "starting"


class Life:
    """One run of the app, from its start to its end."""

    def __init__(self, folder: Path, address: str, code: str, witness: Witness) -> None:
        self.witness = witness
        self.log = folder.parent / "rehearsal.log"
        self._out = self.log.open("a", encoding="utf-8")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "mobile.rehearsal.command", "--folder", str(folder),
             "--server", address, "--code", code, "--witness", str(witness.path)],
            cwd=ROOT, stdout=self._out, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
        )

    def kill_at(self, moment: Moment) -> None:
        """Wait for the moment, then kill."""
        self._wait_for(moment)
        time.sleep(moment.later_s)
        assert self.process.poll() is None, f"ended before it was killed:\n{self.said()}"
        os.kill(self.process.pid, signal.SIGKILL)
        assert self.process.wait() == -signal.SIGKILL
        self._out.close()
        self.witness.look()

    def _wait_for(self, moment: Moment) -> None:
        end = time.monotonic() + START_SECONDS
        begun = False
        while True:
            fresh = self.witness.look()
            if fresh:
                begun, end = True, time.monotonic() + START_SECONDS
            if moment.at:
                # In an earlier life too: then this one is killed soon after its start.
                if begun and any(line.get("at") == moment.at for line in self.witness.lines):
                    return
            elif begun and len(self.witness.saved) >= moment.saved:
                return
            assert self.process.poll() is None, f"ended on the way to {moment}:\n{self.said()}"
            assert time.monotonic() < end, f"stands still on the way to {moment}:\n{self.said()}"
            time.sleep(STEP_SECONDS)

    def finish(self) -> int:
        """Let it go on to its end; return the exit code."""
        code = self.process.wait(timeout=MOST_SECONDS)
        self._out.close()
        self.witness.look()
        return code

    def said(self) -> str:
        return self.log.read_text("utf-8")[-3000:]


@pytest.fixture
def own_server(tmp_path):
    """A server of its own, which is not killed."""
    process = ServerProcess(tmp_path / "server")
    yield process
    process.close()


def test_a_rehearsal_killed_twenty_times_loses_nothing_and_ends_accepted(own_server, tmp_path):
    server = own_server
    seed = int(os.environ.get("STANCEBOOK_SEED", "") or random.SystemRandom().randrange(10**6))
    print(f"seed {seed}; the same again: STANCEBOOK_SEED={seed}")
    started = time.monotonic()
    folder, witness = tmp_path / "rehearsal", Witness(tmp_path / "witness")
    code, landed = server.code, []
    for number, moment in enumerate(moments(seed), 1):
        life = Life(folder, server.address, code, witness)
        life.kill_at(moment)
        copy = as_it_lies(folder / "tablet", tmp_path / f"killed-{number}")
        nothing_is_lost(copy, witness)
        if not people_of(copy):
            # The code may be spent; whoever runs the server gives another.
            code = enrolment_code(server.store)
        landed.append(witness.where)
        print(f"kill {number:2} after {len(witness.saved):2} saved, at: {witness.where}")
    life = Life(folder, server.address, code, witness)
    assert life.finish() == 0, life.said()
    print(f"{len(landed)} kills, {time.monotonic() - started:.0f} s")
    assert len(landed) == 20
    assert "sync under way" in landed, landed
    assert len(set(landed)) >= 8, f"not spread over the way: {landed}"
    assert "review accepted" in life.said()
    the_record_is_whole(folder / "tablet", witness)


def as_it_lies(tablet: Path, copy: Path) -> Path:
    """Copy what the disk holds of a killed tablet; the log's index is made anew from the log."""
    copy.mkdir()
    for file in tablet.glob(f"{STORE_NAME}*"):
        if not file.name.endswith("-shm"):
            shutil.copy2(file, copy / file.name)
    return copy


def people_of(folder: Path) -> tuple[str, ...]:
    """Return who has a PIN in the copy of a store."""
    tablet = Tablet(folder)
    try:
        return tablet.people()
    finally:
        tablet.close()


def nothing_is_lost(folder: Path, witness: Witness) -> None:
    """Compare a copy of the store with what the screen had said."""
    if (folder / STORE_NAME).exists():
        with closing(sqlite3.connect(folder / STORE_NAME)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    tablet = Tablet(folder)
    try:
        if not tablet.people():
            assert not witness.saved
            return
        session = tablet.unlock(PROSTHETIST, pin())
        stored = all_stored(session)
        lost = [digest for digest in witness.saved if digest not in stored.entries]
        assert lost == [], f"called saved, but not there: {lost}"
        chains_hold(session, stored)
        typed_is_kept(session, stored, witness)
    finally:
        tablet.close()


def all_stored(session) -> Record:
    """Fold all that the store holds; the session itself reads one fitting at a time."""
    record = Record()
    record.add(session.entries.entries(), session.entries.signatures())
    return record


def pin() -> str:
    from shared_models.catalogue.sheets import demo_people

    return next(p["pin"] for p in demo_people()["staff"] if p["id"] == PROSTHETIST)


def chains_hold(session, stored: Record) -> None:
    """Every chain in the store verifies from its first entry to its last."""
    tablets = {entry.tablet for entry in stored.entries.values()}
    assert session.tablet in tablets
    for name in tablets:
        bad = verify_chain(rows_of(session.entries.chain(session.clinic, name)))
        assert bad is None, f"chain of {name}: {bad}"


def typed_is_kept(session, stored: Record, witness: Witness) -> None:
    """What was typed since the last save stands as a draft, or was saved just before the kill."""
    named = set(witness.saved)
    unnamed = [e for digest, e in stored.entries.items()
               if digest not in named and e.tablet == session.tablet]
    for place, fields in pending(stored, witness).items():
        draft = session.draft(place)
        saved_here = [e.body for e in unnamed if place_of(stored, e) == place]
        for key, value in fields.items():
            kept = [draft, *saved_here]
            assert any(holds(body, key, value) for body in kept), (
                f"{key} = {value!r} was typed at {place}; draft {draft}, saved {saved_here}"
            )


def pending(stored: Record, witness: Witness) -> dict[str, dict]:
    """Return by place what was typed and not yet called saved."""
    typed: dict[str, dict] = {}
    for line in witness.lines:
        if "saved" in line:
            typed.pop(place_of(stored, stored.entries[line["saved"]]), None)
        elif "typed" in line and line["value"] is None:
            # In hand: what stands there now is between the old and the new.
            typed.get(line["typed"], {}).pop(line["key"], None)
        elif "typed" in line:
            typed.setdefault(line["typed"], {})[line["key"]] = line["value"]
    return typed


def place_of(stored: Record, entry) -> str:
    """Return where an entry's draft stood."""
    if entry.kind in ("identity", "opened"):
        return DRAFT
    subject, slot = stored.place_of(entry.digest)
    return f"{subject.type}/{subject.id}/{slot}"


def holds(body: dict, key: str, value) -> bool:
    """Whether a body holds what was typed; findings are typed one by one."""
    if key == "findings":
        return all(item in (body.get(key) or []) for item in value)
    return body.get(key) == value


def the_record_is_whole(folder: Path, witness: Witness) -> None:
    """At the end: complete, accepted, everything sent, and nothing twice."""
    nothing_is_lost(folder, witness)
    tablet = Tablet(folder)
    try:
        session = tablet.unlock(PROSTHETIST, pin())
        fitting, = session.fittings()
        verdict = session.verdict(fitting)
        assert verdict.is_complete
        assert (verdict.review, verdict.changed_since_review) == ("accepted", False)
        assert session.unsent() == (0, "")
        opened = [e for e in all_stored(session).entries.values() if e.kind == "opened"]
        assert len(opened) == 1
    finally:
        tablet.close()
