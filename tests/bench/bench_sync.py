"""What syncing costs: this project beside a bare ASGI and SQLite route, in one run.

    .venv/bin/python tests/bench/bench_sync.py [--entries 1000] [--held 1000,10000] [--json]

Both servers are processes of their own on loopback, both commit to the disk
before they answer; stores lie on the disk, not in memory.  Bytes are request
and answer with their heads, without TCP.  Nothing here is a test.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterator

import httpx

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from mobile.demo import demo_newcomers  # noqa: E402
from mobile.keeping.courier import Courier  # noqa: E402
from mobile.keeping.session import Session  # noqa: E402
from mobile.keeping.tablet import Tablet  # noqa: E402
from mobile.rehearsal.server_process import ServerProcess  # noqa: E402
from shared_models.entries.envelope import Subject  # noqa: E402
from shared_models.entries.signatures import new_key, public_text  # noqa: E402
from tests.shared_models.making import CHEAP  # noqa: E402

A_FITTING = 40  # entries; more would make one fitting's history, not a clinic's
BARE_BATCH = 400
PHOTO_BYTES = 2_000_000
_TICKS = os.sysconf("SC_CLK_TCK")


class Counting(httpx.HTTPTransport):
    """Counts requests and bytes both ways."""

    def __init__(self) -> None:
        super().__init__()
        self.requests = self.up = self.down = 0

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        """Pass a request on and count it and its answer."""
        body = request.read()
        self.up += len(body) + _head(request.headers.raw) + len(request.method) + len(request.url.raw_path) + 12
        answer = super().handle_request(request)
        content = b"".join(answer.stream)  # type: ignore[arg-type]
        self.down += len(content) + _head(answer.headers.raw) + 17
        self.requests += 1
        answer.close()
        return httpx.Response(answer.status_code, headers=answer.headers, content=content)


def _head(raw: Any) -> int:
    return sum(len(name) + len(value) + 4 for name, value in raw) + 2


@dataclass
class Line:
    """One measured case on one side."""

    case: str
    side: str
    items: int
    seconds: float
    client_cpu: float
    server_cpu: float
    requests: int
    up: int
    down: int

    def words(self) -> str:
        """Return the line of the table."""
        rate = f"{self.items / self.seconds:7.0f}/s" if self.items else f"{1000 * self.seconds:6.0f} ms"
        return (f"{self.case:34} {self.side:9} {rate:>10} {self.seconds:7.2f} s {self.client_cpu:7.2f} "
                f"{self.server_cpu:7.2f} {self.requests:5} {self.up / 1000:9.1f} {self.down / 1000:9.1f}")


class Watched:
    """Measures what happens inside a block: time, processor of both sides, bytes."""

    def __init__(self, pid: int, transport: Counting) -> None:
        self.pid, self.transport = pid, transport
        self.lines: list[Line] = []

    @contextmanager
    def case(self, name: str, side: str, items: int = 0) -> Iterator[None]:
        """Measure one case."""
        wire = self.transport
        before = wire.requests, wire.up, wire.down
        began, own, theirs = time.perf_counter(), time.process_time(), cpu_of(self.pid)
        yield
        line = Line(
            name, side, items, time.perf_counter() - began, time.process_time() - own,
            cpu_of(self.pid) - theirs, wire.requests - before[0], wire.up - before[1],
            wire.down - before[2],
        )
        self.lines.append(line)
        print(line.words(), flush=True)


def cpu_of(pid: int) -> float:
    """Return the processor seconds of a process."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / _TICKS


def memory_mib(pid: int) -> float:
    """Return the most memory that a process has had, in MiB."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024
    return 0.0


def words(chance: random.Random, size: int) -> str:
    """Return text of about ``size`` bytes that packs as typed text does."""
    stock = ("knee", "lets", "go", "late", "on", "the", "ramp", "valve", "half", "a", "turn", "more",
             "heel", "stiff", "walks", "even", "sound", "side", "short", "step", "trunk", "upright")
    found: list[str] = []
    while sum(map(len, found)) + len(found) < size:
        found.append(chance.choice(stock) if chance.random() < 0.7 else "".join(chance.choices("abcdefghilmnorstu", k=6)))
    return " ".join(found)[:size]


# ours ---------------------------------------------------------------------------

def joined(folder: Path, server: ServerProcess, code: str, name: str, transport: Counting) -> tuple[Tablet, Session, Courier]:
    """Return a tablet that joined, with the courier that counts."""
    courier = Courier(lambda: httpx.Client(transport=_Kept(transport), timeout=120))
    key = new_key()
    enrolment = courier.enrol(server.address, code, name, public_text(key))
    tablet = Tablet(folder, CHEAP)
    person = demo_newcomers()[0]
    return tablet, tablet.join(enrolment, courier.fetch_all(enrolment), key, person), courier


class _Kept(httpx.BaseTransport):
    """One transport for several clients, as a courier opens a client for each sync."""

    def __init__(self, transport: Counting) -> None:
        self._transport = transport

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        return self._transport.handle_request(request)


def code_of(server: ServerProcess) -> str:
    """Ask the server's own command for a further code."""
    told = subprocess.run(
        [sys.executable, "-m", "sync_server.main", "--store", str(server.store), "--enrol-code"],
        cwd=ROOT, capture_output=True, text=True, timeout=120, check=True,
    )
    return told.stdout.rpartition(": ")[2].strip()


def sync(session: Session, courier: Courier) -> Any:
    """Send and fetch."""
    found = courier.sync(session, lambda _w, _s: None, session.absorb, lambda: False)
    assert not found.refused, found.refused
    return found


def fill(session: Session, count: int, chance: random.Random, first: int) -> None:
    """Record ``count`` entries of about 2 KB, forty a fitting; not part of what is measured."""
    with session.entries._store.together():
        for number in range(first, first + count):
            session.save("setting", Subject("fitting", f"bench-{number // A_FITTING}"), {
                "function": ("swing_flexion", "stance_threshold")[number % 2],
                "position": str(number % 9 + 1), "reason": "trial",
            }, note=words(chance, 1450) if number % A_FITTING > 1 else "")


def ours(folder: Path, entries: int, held: list[int], chance: random.Random) -> tuple[list[Line], float]:
    """Measure this project."""
    server = ServerProcess(folder / "server")
    transport = Counting()
    watched = Watched(server._process.pid, transport)
    try:
        one, a, send = joined(folder / "a", server, server.code, "bench-a", transport)
        two, b, fetch = joined(folder / "b", server, code_of(server), "bench-b", transport)
        sync(a, send), sync(b, fetch), sync(a, send)
        fill(a, entries, chance, 0)
        size = sum(len(e.plaintext()) for e in a.entries.chain(a.clinic, a.tablet)) / max(entries, 1)
        print(f"{'':34} entries of {size:.0f} bytes each, as canonical JSON")
        with watched.case(f"push {entries} entries", "ours", entries):
            sync(a, send)
        with watched.case(f"pull {entries} entries", "ours", entries):
            sync(b, fetch)
        _small_cases(watched, a, send, b, fetch, "")
        _photo(watched, a, send)
        total = entries
        for level in held:
            while total < level:
                more = min(2000, level - total)
                fill(a, more, chance, total)
                sync(a, send)
                total += more
            sync(b, fetch)
            _small_cases(watched, a, send, b, fetch, f" with {total} held")
        memory = memory_mib(server._process.pid)
        one.close(), two.close()
    finally:
        server.close()
    return watched.lines, memory


def _small_cases(watched: Watched, a: Session, send: Courier, b: Session, fetch: Courier, held: str) -> None:
    sync(a, send), sync(b, fetch)
    with watched.case("nothing new" + held, "ours"):
        sync(a, send)
    for number in range(10):
        slot = "setting/swing_flexion"
        wrong = a.fitting(f"bench-{number % 5}").head(slot)
        a.correct(wrong, {**wrong.body, "position": str(number % 9 + 1)}, "mistyped")
    with watched.case("ten corrections, push" + held, "ours", 10):
        sync(a, send)
    with watched.case("ten corrections, pull" + held, "ours", 10):
        sync(b, fetch)


def _photo(watched: Watched, a: Session, send: Courier) -> None:
    """A photo once, then only its words changed."""
    data = noise()
    digest = a.entries.keep_attachment(data)
    entry = a.save("photo", Subject("fitting", "bench-0"), {
        "photo": "photo-1", "shows": "other", "sha256": digest, "media_type": "image/jpeg",
        "size_kb": str(len(data) // 1000), "width_px": "1600", "height_px": "1200",
    })
    with watched.case("a photo, first time", "ours", 1):
        sync(a, send)
    a.correct(entry, {**entry.body, "note": "seen from the side"}, "mistyped")
    with watched.case("its words changed", "ours", 1):
        sync(a, send)


def noise() -> bytes:
    """Return a JPEG of noise, which packs no better than a photo does."""
    from io import BytesIO

    from PIL import Image

    found = BytesIO()
    image = Image.frombytes("RGB", (1600, 1200), random.Random(3).randbytes(1600 * 1200 * 3))
    image.save(found, "JPEG", quality=80)
    return found.getvalue()


# the bare route -----------------------------------------------------------------

def bare(folder: Path, entries: int, held: list[int], chance: random.Random) -> tuple[list[Line], float]:
    """Measure the bare route with a client as bare as itself."""
    folder.mkdir()
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("bare_server.py")), str(folder / "bare.sqlite")],
        stdout=subprocess.PIPE, text=True,
    )
    address = process.stdout.readline().split()[-1]  # type: ignore[union-attr]
    transport = Counting()
    watched = Watched(process.pid, transport)
    here = sqlite3.connect(folder / "client.sqlite", isolation_level=None)
    here.execute("PRAGMA journal_mode = WAL")
    here.execute("PRAGMA synchronous = FULL")
    here.execute("CREATE TABLE doc (id TEXT PRIMARY KEY, body TEXT)")
    client = httpx.Client(transport=_Kept(transport), timeout=120)
    cursor = [0]

    def push(docs: list[dict]) -> None:
        for start in range(0, len(docs), BARE_BATCH):
            client.post(address + "/docs", json=docs[start:start + BARE_BATCH]).raise_for_status()

    def pull() -> None:
        while True:
            answer = client.get(f"{address}/docs?after={cursor[0]}").json()
            if not answer["docs"]:
                return
            here.execute("BEGIN IMMEDIATE")
            here.executemany("INSERT OR REPLACE INTO doc VALUES (?, ?)", [
                (doc["id"], json.dumps(doc)) for doc in answer["docs"]
            ])
            here.execute("COMMIT")
            cursor[0] = answer["next"]

    def docs(first: int, count: int) -> list[dict]:
        return [{"id": f"doc-{n}", "text": words(chance, 1900), "position": str(n % 9)}
                for n in range(first, first + count)]

    try:
        first = docs(0, entries)
        with watched.case(f"push {entries} entries", "bare", entries):
            push(first)
        with watched.case(f"pull {entries} entries", "bare", entries):
            pull()
        total = entries
        for level in [entries, *held]:
            while total < level:
                push(docs(total, min(2000, level - total)))
                total += min(2000, level - total)
            pull()
            named = "" if level == entries and not watched.lines[2:] else f" with {total} held"
            with watched.case("nothing new" + named, "bare"):
                pull()
            with watched.case("ten corrections, push" + named, "bare", 10):
                push([{**doc, "position": "10"} for doc in first[:10]])
            with watched.case("ten corrections, pull" + named, "bare", 10):
                pull()
        photo = {**first[0], "photo": random.Random(1).randbytes(PHOTO_BYTES).hex()[:PHOTO_BYTES * 4 // 3]}
        with watched.case("a photo, first time", "bare", 1):
            push([photo])
        with watched.case("its words changed", "bare", 1):
            push([{**photo, "text": "seen from the side"}])
        memory = memory_mib(process.pid)
    finally:
        process.terminate()
        process.wait()
    return watched.lines, memory


def main() -> None:
    """Measure both and print one table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--entries", type=int, default=1000)
    parser.add_argument("--held", default="1000,10000", help="growth: entries held, by comma; 100000 takes long")
    parser.add_argument("--json", action="store_true", help="also print the lines as JSON")
    told = parser.parse_args()
    held = [int(text) for text in told.held.split(",") if text and int(text) > told.entries]
    print(f"{'':34} {'':9} {'rate':>10} {'wall':>9} {'client':>7} {'server':>7} {'asked':>5} {'KB up':>9} {'KB down':>9}")
    with tempfile.TemporaryDirectory(prefix="bench-sync-") as folder:
        lines, memory = ours(Path(folder), told.entries, held, random.Random(1))
        beside, other = bare(Path(folder) / "bare", told.entries, held, random.Random(1))
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"most memory: server ours {memory:.0f} MiB, bare {other:.0f} MiB; this client {own:.0f} MiB")
    if told.json:
        print(json.dumps([vars(line) for line in (*lines, *beside)]))


if __name__ == "__main__":
    main()
