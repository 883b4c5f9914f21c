"""F7: power lost between two syncs; every state that a disk may then hold is built.

The real program's writes and syncs are recorded by strace.  At a moment of
power loss a file holds everything up to its last sync, and of what was written
since then any part: some writes kept, some lost, one torn within a sector.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Callable

from tests.faults.rows_struck import ACTIONS, hundred
from tests.faults.schedules import Ground, Tally
from tests.faults.struck import STRACE, Say, _in_child, _let_go, _must_have_stopped, stop_here
from tests.faults.wire import ask
from tests.faults.world import SimServer, opened

SECTOR = 512
_CALL = re.compile(r'^\d+ +(\w+)\((\d+)<([^>]*)>(?:, (.*))?\) += (-?\d+)')
_BYTES = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(?:, (\d+))?(?:, (\d+))?')


@dataclass(frozen=True)
class Op:
    """A recorded call: ``write``, ``sync``, ``cut`` of a file, or ``said`` a line."""

    what: str
    file: str = ""
    at: int = 0
    data: bytes = b""


def recorded(
    child: Callable[[Say], None], folder: Path, log: Path,
) -> tuple[dict[str, bytes], list[Op]]:
    """Run a child to its end under strace.

    Returns what lay in its folder when it stopped itself, and what it wrote,
    synced and said from there on, in order.
    """
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        _in_child(child, reading, writing)
    os.close(writing)
    _must_have_stopped(pid)
    base = {
        p.name: p.read_bytes() for p in folder.iterdir()
        if p.is_file() and not p.name.endswith("-shm")
    }
    tracer = subprocess.Popen(
        [str(STRACE), "-f", "-y", "-xx", "-s", "4000000", "-o", str(log), "-p", str(pid),
         "-e", "trace=pwrite64,write,ftruncate,fdatasync,fsync"],
        stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True,
    )
    tracer.stderr.readline()  # type: ignore[union-attr]
    os.kill(pid, signal.SIGCONT)
    with os.fdopen(reading) as pipe:
        pipe.read()
    os.waitpid(pid, 0)
    _let_go(tracer)
    return base, [op for op in map(_op, log.read_text().splitlines()) if op is not None]


def _op(line: str) -> Op | None:
    found = _CALL.match(line)
    if not found or int(found[5]) < 0:
        return None
    call, name, rest = found[1], found[3], found[4] or ""
    name = re.sub(r"\\x([0-9a-f]{2})", lambda m: chr(int(m[1], 16)), name)
    file = Path(name).name
    if call in ("fdatasync", "fsync"):
        return Op("sync", file)
    if call == "ftruncate":
        return Op("cut", file, int(rest))
    written = _BYTES.match(rest)
    if written is None:
        return None
    data = bytes.fromhex(written[1].replace("\\x", ""))
    if call == "write":
        return Op("said", data=data) if "pipe" in name else None
    return Op("write", file, int(written[3] or 0), data)


def states(ops: list[Op], chance: random.Random, count: int):  # type: ignore[no-untyped-def]
    """Give ``count`` moments of power loss: the calls that reached the disk, and what was told."""
    for number in range(count):
        moment = chance.randrange(len(ops) + 1) if number >= len(ops) + 1 else number
        before = ops[:moment]
        last_sync = {op.file: place for place, op in enumerate(before) if op.what == "sync"}
        keep = chance.choice((0.0, 0.3, 0.5, 0.8, 1.0))
        kept: list[Op] = []
        for place, op in enumerate(before):
            if op.what not in ("write", "cut"):
                continue
            if place <= last_sync.get(op.file, -1) or chance.random() < keep:
                kept.append(op)
            elif op.what == "write" and chance.random() < 0.3:
                sectors = chance.randrange(len(op.data) // SECTOR + 1)
                kept.append(Op("write", op.file, op.at, op.data[:sectors * SECTOR]))
        told = b"".join(op.data for op in before if op.what == "said").decode().splitlines()
        yield moment, kept, told


def rebuilt(base: dict[str, bytes], kept: list[Op], folder: Path) -> None:
    """Write the files as the disk holds them; what is shared in memory is gone."""
    files = {name: bytearray(data) for name, data in base.items()}
    for op in kept:
        if op.file.endswith("-shm"):
            continue
        data = files.setdefault(op.file, bytearray())
        if op.what == "cut":
            del data[op.at:]
            data.extend(bytes(op.at - len(data)))
            continue
        if len(data) < op.at:
            data.extend(bytes(op.at - len(data)))
        data[op.at:op.at + len(op.data)] = op.data
    for old in folder.iterdir():
        old.unlink()
    for name, content in files.items():
        (folder / name).write_bytes(content)


def power_lost(ground: Ground, tally: Tally, until: float, count: int = 10_000) -> None:
    """F7: a tablet's six actions and a server's push, cut off in ``count`` states."""
    chance = random.Random("power")
    _one(ground, tally, until, count * 2 // 3, chance, "a")
    _one(ground, tally, until, count - count * 2 // 3, chance, "server")


def _one(
    ground: Ground, tally: Tally, until: float, count: int, chance: random.Random, which: str,
) -> None:
    template = ground.fresh()
    push = hundred(template / "b")
    folder = template / which
    name = "stancebook.tablet" if which == "a" else "server.sqlite"
    before = _digests(folder / name)

    def tablet(say: Say) -> None:
        _, session = opened(folder)
        stop_here()
        for action in ACTIONS.values():
            action(session, say)

    def server(say: Say) -> None:
        found = SimServer(folder)
        stop_here()
        say(f"answered {ask(found.app, push).status_code}")

    base, ops = recorded(tablet if which == "a" else server, folder, template / "log")
    tally.notes[f"{which}: calls recorded"] += len(ops)
    state = template / "state"
    state.mkdir()
    for moment, kept, told in states(ops, chance, count):
        if time.monotonic() > until:
            tally.notes["not reached in time"] += 1
            break
        rebuilt(base, kept, state)
        tally.runs += 1
        tally.faults += 1
        _must_hold(state / name, before, told, f"{which} at call {moment}", tally)
    shutil.rmtree(template, ignore_errors=True)


def _digests(path: Path) -> set[str]:
    with closing(sqlite3.connect(path)) as raw:
        return {row[0] for row in raw.execute("SELECT digest FROM entry")}


def _must_hold(path: Path, before: set[str], told: list[str], where: str, tally: Tally) -> None:
    try:
        with closing(sqlite3.connect(path)) as raw:
            sound = raw.execute("PRAGMA integrity_check").fetchone()[0]
            there = {row[0] for row in raw.execute("SELECT digest FROM entry")}
    except sqlite3.Error as error:
        tally.lost += 1
        tally.broken.append(f"{where}: I6: {error}")
        return
    if sound != "ok":
        tally.broken.append(f"{where}: I6: {sound}")
    saved = {line.split()[1] for line in told if line.startswith("saved ")}
    if "answered 200" in told and len(there - before) != 100:
        tally.lost += 100
        tally.broken.append(f"{where}: I1: acknowledged, and {len(there - before)} of 100 there")
    if before - there or saved - there:
        tally.lost += len(before - there) + len(saved - there)
        tally.broken.append(f"{where}: I1: {len(saved - there)} told saved are gone")
    if told == [] and len(there - before) not in (0, 1, 100):
        tally.broken.append(f"{where}: I2: {len(there - before)} entries of a batch")
