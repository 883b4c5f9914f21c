"""Schedules: a profile says which moves and faults, a seed says the rest.

A *world* plays several schedules one after another, so that they also meet a
history; its seed makes it again.  After each schedule everything heals and is
looked at.
"""

from __future__ import annotations

import logging
import random
import shutil
import tempfile
import time
from collections import Counter
from contextlib import nullcontext
from dataclasses import dataclass, field
from pathlib import Path

from sync_server.services.holding import decide_held
from tests.faults import moves, sticks
from tests.faults.invariants import Found, heal, look
from tests.faults.steered import Clocks, steered
from tests.faults.worked_ahead import working_ahead
from tests.faults.world import CLINIC, STAFF, World, make_template, share_words

MOVES = {**moves.MOVES, **sticks.MOVES}
MEMORY = Path("/dev/shm") if Path("/dev/shm").is_dir() else None


@dataclass(frozen=True)
class Profile:
    """How often each move and each fate of a request comes, and how much is played."""

    moves: dict[str, int]
    fates: dict[str, float]
    tablets: int = 2
    length: tuple[int, int] = (5, 9)
    schedules: int = 10
    clocks_off: bool = False
    #: Whether the server makes its read tables anew with each push in each world: photos need them.
    folds: bool = False


_WORK = {"record": 6, "correct": 4, "sign": 2, "sync": 7}
_DROPS = {"drop_request": 0.1, "drop_response": 0.1}
PROFILES = {
    # F1 to F3 and F14 in one: a fifth of all requests or answers lost, others doubled,
    # late, cut or damaged, while two people change and sign the same fitting.
    "mixed": Profile(
        {**_WORK, "replay": 1, "restart": 1},
        {**_DROPS, "duplicate": 0.08, "late": 0.07, "old_page": 0.04, "broken_off": 0.02,
         "cut_request": 0.02, "flip_request": 0.02, "cut_response": 0.02, "flip_response": 0.02},
    ),
    "clocks": Profile(
        {**_WORK, "jump_clock": 3, "restart": 1, "restart_server": 1}, _DROPS, clocks_off=True,
    ),
    "restored": Profile(
        {**_WORK, "back_up": 2, "restore": 2, "restart": 1, "enrol": 1},
        {**_DROPS, "duplicate": 0.05}, tablets=3, length=(8, 14), schedules=4,
    ),
    "cloned": Profile(
        {**_WORK, "clone": 1, "restart": 1}, {**_DROPS, "duplicate": 0.05}, schedules=1,
    ),
    "revoked": Profile(
        {**_WORK, "revoke": 5, "enrol": 1, "restart_server": 1}, _DROPS, schedules=4,
    ),
    # F19 with F1 to F3: sticks go to and fro, and now and then there is a network.
    "carried": Profile(
        {**_WORK, "sync": 2, "write_stick": 5, "take_in": 6, "bring_back": 4, "photograph": 1, "restart": 1},
        {**_DROPS, "duplicate": 0.08, "late": 0.07, "old_page": 0.04},
        length=(10, 18), schedules=4, folds=True,
    ),
}


@dataclass
class Tally:
    """What some runs of a row of the matrix showed."""

    runs: int = 0
    faults: int = 0
    lost: int = 0
    doubled: int = 0
    apart: int = 0
    broken: list[str] = field(default_factory=list)
    notes: Counter = field(default_factory=Counter)
    seconds: float = 0.0

    def add(self, other: "Tally") -> None:
        """Add another tally to this one."""
        for name in ("runs", "faults", "lost", "doubled", "apart", "seconds"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.broken += other.broken
        self.notes.update(other.notes)

    def count(self, found: Found, where: str) -> None:
        """Count one schedule."""
        self.runs += 1
        self.lost += found.lost
        self.doubled += found.doubled
        self.apart += not found.converged
        self.broken += [f"{where}: {sentence}" for sentence in found.broken]


class Ground:
    """Where worlds lie: a folder in memory, with the template they are copied from."""

    def __init__(self) -> None:
        share_words()
        # A cut request is a fault in the server's log; thousands of them are meant here.
        logging.getLogger("stancebook.server").setLevel(logging.CRITICAL)
        self.folder = Path(tempfile.mkdtemp(prefix="stancebook-faults-", dir=MEMORY))
        with steered(Clocks(), random.Random("template")):
            self.template = make_template(self.folder / "template")
        self._number = 0

    def fresh(self) -> Path:
        """Return a folder with a copy of the template."""
        self._number += 1
        return Path(shutil.copytree(self.template, self.folder / f"world-{self._number}"))

    def close(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)


def works_ahead(seed: int) -> bool:
    """Tell whether a world's tablets work ahead: in two of three, also in fixed ones.

    Not in those whose seeds failed before anything was done ahead, so that these stay what they were.
    """
    return seed % 3 != 1


def play_world(ground: Ground, row: str, seed: int, tally: Tally, until: float = float("inf")) -> None:
    """Play the schedules of one seed; stop between two of them when time is up."""
    profile = PROFILES[row]
    chance = random.Random(f"{row}/{seed}")
    clocks = Clocks()
    folder = ground.fresh()
    began = time.process_time()
    ahead = working_ahead(random.Random(f"{row}/{seed}/ahead")) if works_ahead(seed) else nullcontext(Counter())
    with steered(clocks, chance), ahead as made_ready:
        world = World(folder, chance, clocks, tablets=profile.tablets, folds=profile.folds or seed % 16 == 0)
        try:
            if profile.clocks_off:
                for tablet in world.tablets:
                    clocks.off_ms[tablet.name] = int(chance.uniform(-3, 3) * 86_400_000)
            for number in range(profile.schedules):
                last = number == profile.schedules - 1 or time.monotonic() > until
                _play(world, profile, tally, f"{row} seed {seed} schedule {number}", last)
                if last or len(tally.broken) > 20:
                    break
        finally:
            tally.faults += sum(world.faults.values())
            tally.notes.update(world.faults)
            tally.notes.update(made_ready)
            world.close()
    shutil.rmtree(folder)
    tally.seconds += time.process_time() - began


def _play(world: World, profile: Profile, tally: Tally, where: str, last: bool) -> None:
    chance = world.chance
    names = [name for name, weight in profile.moves.items() for _ in range(weight)]
    for tablet in world.tablets:
        tablet.link.weights = profile.fates
    if "clone" in profile.moves and not world.clones:
        MOVES["clone"](world, chance.choice(world.tablets))
        for tablet in world.tablets[-1:] + [t for t in world.tablets if t.name == world.clones[0][0]]:
            MOVES["record"](world, tablet)
    for _ in range(chance.randint(*profile.length)):
        MOVES[chance.choice(names)](world, chance.choice(world.tablets))
    for tablet in world.tablets:
        tablet.link.weights = profile.fates
    excused = _held_by_none(world) if "restore" in profile.moves else set()
    rounds = heal(world)
    found = look(world, rounds, excused, deep=last)
    tally.count(found, where)
    tally.notes.update({f"rounds {found.rounds}": 1})
    if excused:
        tally.notes["held by none"] += len(excused)
    if world.clones and last:
        _clones_found(world, tally, where)
    if world.revoked and last:
        _lead_takes_in(world, tally, where)


def _held_by_none(world: World) -> set[str]:
    """Return what was saved and lies on no tablet of this world: only a lost machine had it."""
    gone = {saved.entry.digest for saved in world.saved}
    for tablet in world.tablets:
        gone = {digest for digest in gone if not tablet.session.entries.has(digest)}
    return gone


def _lead_takes_in(world: World, tally: Tally, where: str) -> None:
    """What was held back after an access was taken away comes in when the lead says so."""
    held = world.held_back()
    tally.notes["held back"] += len(held)
    station = world.server.station
    for tablet in world.tablets:
        if tablet.name in world.revoked and held:
            with world.clocks.turn_of("server"):
                decide_held(
                    station, CLINIC, tablet.session.tablet, True, "looked at", (STAFF, "lead"), "here"
                )
    gone = [s for s in world.saved if s.entry.digest not in world.on_server()]
    if gone:
        tally.lost += len(gone)
        tally.broken.append(f"{where}: I1: {len(gone)} entries gone after the lead took them in")


def _clones_found(world: World, tally: Tally, where: str) -> None:
    """F13: where both copies went on, the server and a tablet know of two branches."""
    for of, name, tablet, number in world.clones:
        grown = [
            {s.entry.digest for s in world.saved
             if s.on == on and s.entry.tablet == tablet and s.entry.number > number}
            for on in (of, name)
        ]
        if not all(grown):
            tally.notes["clones that did not both go on"] += 1
            continue
        tally.notes["clones that both went on"] += 1
        branches = world.server.station.entries.branches(CLINIC, tablet)
        told = any(r.forked for t in world.tablets for r in t.results)
        if not branches or not told:
            tally.broken.append(f"{where}: F13: the clone was not noticed, or nobody was told")
        names = {t.session.tablet for t in world.tablets if t.name in (of, name)}
        if len(names) != 2:
            tally.broken.append(f"{where}: F13: both copies go on under one name")
