"""F21: weeks offline, then three tablets at once on one weak link.

The link is reckoned, not waited for: 64 kbit/s that the three share, two
seconds there and back, cut every thirty seconds.  What had come up before a
cut reaches the server, as it would.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import time
from collections import Counter
from contextlib import closing

import httpx

from shared_models.entries.envelope import Subject
from tests.faults.invariants import look
from tests.faults.schedules import Ground, Tally
from tests.faults.steered import Clocks, steered
from tests.faults.wire import Answer, Asked, LineCut, Link
from tests.faults.world import CLINIC, SimTablet, World
from tests.sync_server.photos import photo_of, png

BYTES_A_SECOND = 8000
THERE_AND_BACK_S = 2.0
CUT_EVERY_S = 30.0
ENTRIES, PHOTOS = 5000, 500
#: How many fittings these weeks were, for each tablet.
FITTINGS = 100
#: Bytes of a photo, and of every hundredth: more than passes between two cuts.
_PHOTO, _LARGE = 20_000, 400_000


class Line:
    """What the tablets share: how late it is on the line, and what went over it."""

    def __init__(self) -> None:
        self.now_s = 0.0
        #: Bytes up and down, and of them what the other side could not use.
        self.up = self.down = self.wasted = self.wasted_down = 0


class WeakLink(Link):
    """A tablet's end of a line on which each byte takes its time, and that is cut again and again."""

    def __init__(self, line: Line, carry, chance: random.Random, faults: Counter) -> None:  # type: ignore[no-untyped-def]
        super().__init__(carry, chance, faults)
        self.line = line

    def request(self, method, url, headers=None, content=b"", **_more):  # type: ignore[no-untyped-def]
        """Carry a request if the line holds long enough for it and its answer."""
        asked = Asked(method, url, dict(headers or {}), content)
        left = CUT_EVERY_S - self.line.now_s % CUT_EVERY_S
        going = THERE_AND_BACK_S / 2 + (len(content) + 400) / BYTES_A_SECOND
        if going > left:
            came = max(0, int((left - THERE_AND_BACK_S / 2) * BYTES_A_SECOND) - 400)
            return self._cut(left, asked, min(came, len(content)))
        answer = self._pass(asked)
        coming = THERE_AND_BACK_S / 2 + (len(answer.content) + 300) / BYTES_A_SECOND
        if going + coming > left:
            came = max(0, int((left - going - THERE_AND_BACK_S / 2) * BYTES_A_SECOND) - 300)
            self.line.down += came
            self.line.wasted_down += came
            return self._cut(left, asked, None)
        self.line.now_s += going + coming
        self.line.up += len(content)
        self.line.down += len(answer.content)
        return answer

    def _cut(self, left: float, asked: Asked, came: int | None) -> Answer:
        """The line is cut: on the way up after ``came`` bytes, or (None) before the answer was whole.

        Of a photo the server keeps what came, of a push nothing.
        """
        self.line.now_s += left
        self.faults["cut"] += 1
        if came is not None:
            self.line.up += came
            if asked.method == "PATCH":
                try:
                    self._carry(self._with(asked, asked.content[:came]), True)
                except LineCut:
                    pass
            else:
                self.line.wasted += came
        else:
            self.line.up += len(asked.content)
        raise httpx.ReadError("the line was cut")


def weak_link(
    ground: Ground, tally: Tally, until: float, entries: int = ENTRIES, photos: int = PHOTOS,
) -> None:
    """F21: progress never goes back, every connection gains something, and little is sent twice."""
    folder = ground.fresh()
    chance, clocks, line = random.Random("weak"), Clocks(), Line()
    with steered(clocks, chance):
        world = World(folder, chance, clocks, tablets=3)
        for place, tablet in enumerate(world.tablets):
            tablet.link = WeakLink(line, world._carry, chance, world.faults)
            _weeks_offline(world, tablet, entries, photos, place)
        in_vain, last = 0, _progress(world)
        while not _all_here(world):
            for tablet in world.tablets:
                world.sync(tablet)
                now = _progress(world)
                if any(a < b for a, b in zip(now, last)):
                    tally.broken.append(f"weak link: I1: progress went back from {last} to {now}")
                in_vain, last = (0, now) if now != last else (in_vain + 1, last)
            if time.monotonic() > until:
                tally.notes["not reached in time"] += 1
                break
            if in_vain > 3 * len(world.tablets):
                tally.broken.append("weak link: I3: connections gain nothing any more")
                break
        _tell(world, line, tally)
        if not tally.notes["not reached in time"]:
            tally.count(look(world, 1 if _all_here(world) else None, deep=False), "weak link")
        world.close()
    shutil.rmtree(folder, ignore_errors=True)


def _tell(world: World, line: Line, tally: Tally) -> None:
    tally.faults += sum(world.faults.values())
    photos = sum(len(t.session.entries.attachments()) for t in world.tablets)
    tally.notes.update({
        "entries": len(world.saved) - photos, "photos": photos, "KB up": line.up // 1000,
        "KB down": line.down // 1000, "KB up in vain": line.wasted // 1000, "KB down in vain": line.wasted_down // 1000,
        "seconds on the line": int(line.now_s),
    })
    wasted, whole = line.wasted + line.wasted_down, line.up + line.down
    if wasted * 20 > whole:
        tally.broken.append(
            f"weak link: {wasted} bytes in vain, {100 * wasted / whole:.0f} % of {whole} (target 5 %)"
        )


def _weeks_offline(world: World, tablet: SimTablet, entries: int, photos: int, place: int) -> None:
    """A tablet's fittings of some weeks; their photos are kept and named, as a person takes them."""
    session = tablet.session
    with world.clocks.turn_of(tablet.name), tablet.tablet.store.together():
        for number in range(entries):
            fitting = Subject("fitting", f"fitting-{tablet.name}-{number * FITTINGS // entries}")
            world.told_saved(session.save("setting", fitting, {
                "function": "swing_flexion", "position": str(number % 9 + 1), "reason": "trial",
            }, settles=True, note=_words(world.chance)), tablet)
        for number in range(photos):
            data = png(_LARGE if number % 100 == 50 else _PHOTO, seed=place * photos + number)
            fitting = Subject("fitting", f"fitting-{tablet.name}-{number * FITTINGS // photos}")
            body = photo_of(session.entries.keep_attachment(data), f"photo-{number}")
            world.told_saved(session.save("photo", fitting, body), tablet)


def _words(chance: random.Random) -> str:
    """A sentence that packs no better than what people type."""
    return " ".join("".join(chance.choices("aeioustrnlm", k=5)) for _ in range(40))


def _progress(world: World) -> tuple[int, ...]:
    """How much has arrived: entries and bytes of photos on the server, entries on each tablet."""
    with closing(sqlite3.connect(world.server.path)) as raw:
        there = raw.execute("SELECT count(*) FROM entry").fetchone()[0]
    folder = world.server.settings.attachments_folder
    bytes_there = sum(p.stat().st_size for p in folder.rglob("*") if p.is_file()) if folder.exists() else 0
    pulled = (t.session.entries.sync_state(CLINIC).pulled_to for t in world.tablets)
    return (there, bytes_there, *pulled)


def _all_here(world: World) -> bool:
    if any(t.session.photos_waiting()[0] for t in world.tablets):
        return False
    wanted = {world.server.station.entries.fingerprint(CLINIC)}
    return {t.session.entries.fingerprint(CLINIC) for t in world.tablets} == wanted
