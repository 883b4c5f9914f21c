"""F21: weeks offline, then three tablets at once on a weak link.

A reduced amount, stated in the table: 1 200 entries a tablet instead of
5 000, no photos, each tablet on a link of its own.  The link is reckoned, not waited for: 64 kbit/s, two
seconds there and back, cut every thirty seconds.
"""

from __future__ import annotations

import random
import shutil
import time
from collections import Counter

import httpx

from tests.faults.invariants import look
from tests.faults.schedules import Ground, Tally
from tests.faults.steered import Clocks, steered
from tests.faults.wire import Answer, Asked, Link
from tests.faults.world import FITTING, World

BYTES_A_SECOND = 8000
THERE_AND_BACK_S = 2.0
CUT_EVERY_S = 30.0
ENTRIES = 1200


class WeakLink(Link):
    """A link on which each byte takes its time, and that is cut again and again."""

    def __init__(self, carry, chance: random.Random, faults: Counter) -> None:  # type: ignore[no-untyped-def]
        super().__init__(carry, chance, faults)
        self.now_s = 0.0
        self.up = self.down = self.wasted = 0

    def request(self, method, url, headers=None, content=b"", **_more):  # type: ignore[no-untyped-def]
        """Carry a request if the line holds long enough for it and its answer."""
        asked = Asked(method, url, dict(headers or {}), content)
        left = CUT_EVERY_S - self.now_s % CUT_EVERY_S
        going = THERE_AND_BACK_S / 2 + (len(content) + 400) / BYTES_A_SECOND
        if going > left:
            return self._cut(left, len(content))
        answer = self._pass(asked)
        coming = THERE_AND_BACK_S / 2 + (len(answer.content) + 300) / BYTES_A_SECOND
        if going + coming > left:
            return self._cut(left, len(content))
        self.now_s += going + coming
        self.up += len(content)
        self.down += len(answer.content)
        return answer

    def _cut(self, left: float, sent: int) -> Answer:
        self.now_s += left
        self.wasted += min(sent, int(left * BYTES_A_SECOND))
        self.faults["cut"] += 1
        raise httpx.ReadError("the line was cut")


def weak_link(ground: Ground, tally: Tally, until: float, entries: int = ENTRIES) -> None:
    """F21 on a reduced amount: progress never goes back, and little is sent twice."""
    folder = ground.fresh()
    chance, clocks = random.Random("weak"), Clocks()
    with steered(clocks, chance):
        world = World(folder, chance, clocks, tablets=3, folds=False)
        for tablet in world.tablets:
            tablet.link = WeakLink(world._carry, chance, world.faults)
            _weeks_offline(world, tablet, entries)
        counts = [len(world.on_server())]
        idle = 0
        while not _all_here(world) and idle < 20:
            for tablet in world.tablets:
                world.sync(tablet)
            counts.append(len(world.on_server()))
            idle = idle + 1 if counts[-1] == counts[-2] else 0
            if time.monotonic() > until:
                tally.notes["not reached in time"] += 1
                break
        if counts != sorted(counts):
            tally.broken.append("weak link: I1: progress went back")
        tally.faults += sum(world.faults.values())
        links = [t.link for t in world.tablets]
        up, wasted = sum(l.up for l in links), sum(l.wasted for l in links)  # type: ignore[attr-defined]  # noqa: E741
        tally.notes["KB up"] += up // 1000
        tally.notes["KB sent in vain"] += wasted // 1000
        tally.notes["seconds on the line"] += int(max(l.now_s for l in links))  # type: ignore[attr-defined]  # noqa: E741
        if wasted * 20 > up:
            tally.broken.append(
                f"weak link: {wasted} bytes sent in vain, {100 * wasted / max(up, 1):.0f} % of {up} (target 5 %)"
            )
        if not tally.notes["not reached in time"]:
            tally.count(look(world, 1 if _all_here(world) else None, deep=False), "weak link")
        world.close()
    shutil.rmtree(folder, ignore_errors=True)


def _weeks_offline(world: World, tablet, entries: int) -> None:  # type: ignore[no-untyped-def]
    with world.clocks.turn_of(tablet.name), tablet.tablet.store.together():
        for number in range(entries):
            world.told_saved(tablet.session.save("setting", FITTING, {
                "function": "swing_flexion", "position": str(number % 9 + 1), "reason": "trial",
            }, settles=True, note=_words(world.chance)), tablet)


def _words(chance: random.Random) -> str:
    """A sentence that packs no better than what people type."""
    return " ".join("".join(chance.choices("aeioustrnlm", k=5)) for _ in range(40))


def _all_here(world: World) -> bool:
    wanted = {world.server.station.entries.fingerprint("clinic-of-faults")}
    return {t.session.entries.fingerprint("clinic-of-faults") for t in world.tablets} == wanted
