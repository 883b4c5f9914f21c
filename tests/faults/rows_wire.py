"""F2 over HTTP and F4 at the server's application: repeats, cuts and flipped bits of one big push."""

from __future__ import annotations

import gzip
import shutil
import time

import httpx

from shared_models.exchange import pull as pulls
from shared_models.quantities.refusals import Refusal
from tests.faults.rows_struck import entries_in, hundred
from tests.faults.schedules import Ground, Tally
from tests.faults.wire import ADDRESS, Answer, Asked, LineCut, ask
from tests.faults.world import CLINIC, SimServer
from tests.sync_server.cut_lines import listening

EVERY = 64


class Door:
    """A server with a push of a hundred entries before it."""

    def __init__(self, ground: Ground) -> None:
        self.folder = ground.fresh()
        self.push = hundred(self.folder / "a")
        self.server = SimServer(self.folder / "server", folds=False)
        self.before = entries_in(self.server.path)

    def ask(self, content: bytes, ends_early: bool = False) -> Answer | None:
        """Send other bytes in the push's place; None where the line was cut."""
        asked = Asked(self.push.method, self.push.url, self.push.headers, content)
        try:
            return ask(self.server.app, asked, ends_early)
        except LineCut:
            return None

    def stored(self) -> int:
        """Return how many entries the push has stored."""
        return entries_in(self.server.path) - self.before

    def page(self) -> Answer:
        """Fetch everything as a tablet does."""
        address = self.push.url + "?after=0&limit=500"
        return ask(self.server.app, Asked("GET", address, self.push.headers, b""))

    def close(self) -> None:
        self.server.close()
        shutil.rmtree(self.folder, ignore_errors=True)


def damaged(ground: Ground, tally: Tally, until: float, step: int = 1) -> None:
    """F4: cut at every 64th byte, and one bit turned over in each stretch of 64."""
    door = Door(ground)
    packed = door.push.content
    plain = gzip.decompress(packed)
    tries: list[tuple[str, bytes, bool]] = []
    for place in range(0, len(packed), EVERY):
        tries.append((f"cut at {place}", packed[:place], False))
        tries.append((f"line cut at {place}", packed[:place], True))
        tries.append((f"bit {place}", flipped(packed, place, place % 8), False))
    for place in range(0, len(plain), EVERY):
        tries.append((f"bit of the JSON at {place}", gzip.compress(flipped(plain, place, place % 8), 1), False))
    for where, content, early in tries[::step]:
        if time.monotonic() > until:
            tally.notes["not reached in time"] += 1
            break
        answer = door.ask(content, early)
        tally.runs += 1
        tally.faults += 1
        if answer is not None and answer.status_code not in (400, 422) and content != packed:
            if not (answer.status_code == 200 and _same(content, plain)):
                tally.broken.append(f"{where}: I6: answered {answer.status_code}")
        if door.stored():
            tally.broken.append(f"{where}: I2: {door.stored()} entries of a damaged batch stored")
            break
    if door.ask(packed).status_code != 200 or door.stored() != 100:  # type: ignore[union-attr]
        tally.broken.append("I1: the whole batch was refused after its damaged copies")
    _damaged_pages(door.page().content, tally, step)
    door.close()


def _same(content: bytes, plain: bytes) -> bool:
    try:
        return gzip.decompress(content) == plain
    except (OSError, EOFError):
        return False


def flipped(data: bytes, place: int, bit: int) -> bytes:
    """Return the bytes with one bit turned over."""
    found = bytearray(data)
    found[place] ^= 1 << bit
    return bytes(found)


def _damaged_pages(page: bytes, tally: Tally, step: int) -> None:
    whole = pulls.decode(page)
    for place in range(0, len(page), EVERY * step):
        for where, content in ((f"page cut at {place}", page[:place]),
                               (f"page bit {place}", flipped(page, place, place % 8))):
            tally.runs += 1
            tally.faults += 1
            try:
                read = pulls.decode(content)
            except Refusal:
                continue
            if read != whole:
                tally.broken.append(f"{where}: I6: a damaged page was taken")


def repeated(ground: Ground, tally: Tally, until: float, times: int = 200) -> None:
    """F2: the same push over and over, over HTTP and real sockets; and its ids with other bodies."""
    door = Door(ground)
    with listening(door.server.app) as port, httpx.Client(timeout=60) as client:
        address = door.push.url.replace(ADDRESS, f"http://127.0.0.1:{port}")

        def push(content: bytes) -> httpx.Response:
            return client.post(address, headers=dict(door.push.headers), content=content)

        if push(door.push.content).status_code != 200:
            tally.broken.append("I1: the push was refused")
        last = door.server.station.entries.last_sequence(CLINIC)
        for number in range(times):
            if time.monotonic() > until:
                tally.notes["not reached in time"] += 1
                break
            answer = push(door.push.content)
            tally.runs += 1
            tally.faults += 1
            if answer.status_code != 200 or answer.json()["stored"] != 0:
                tally.broken.append(f"repeat {number}: I2: not the answer of a repeat")
            if door.server.station.entries.last_sequence(CLINIC) != last or door.stored() != 100:
                tally.doubled += door.stored() - 100
                tally.broken.append(f"repeat {number}: I2: the repeat had an effect")
        plain = gzip.decompress(door.push.content)
        other = plain.replace(b'"reason":"trial"', b'"reason":"start"', 1)
        if push(gzip.compress(other)).status_code != 422 or door.stored() != 100:
            tally.broken.append("I4: an entry's digest with another body was not refused with 422")
    door.close()
