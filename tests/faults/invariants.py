"""I1 to I6, looked at after a schedule has healed.

The oracle is kept apart from the program: what a save returned is what a
person was told, and who replaces whom stands in those entries themselves.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Iterable

from shared_models.catalogue.edition import load_edition
from shared_models.entries.envelope import Entry
from shared_models.entries.slots import WITHDRAWN
from shared_models.exchange.chains import verify_chain
from shared_models.quantities.moments import moment_from
from tests.faults.world import CLINIC, FITTING, World

MOST_ROUNDS = 6
_LET_IN_AGAIN = ("server_said", "server_answered")


@dataclass
class Found:
    """What one schedule showed; ``broken`` are sentences, each beginning with its invariant."""

    lost: int = 0
    doubled: int = 0
    converged: bool = True
    rounds: int = 0
    broken: list[str] = field(default_factory=list)

    def say(self, invariant: str, sentence: str) -> None:
        self.broken.append(f"{invariant}: {sentence}")


def heal(world: World) -> int | None:
    """Let everything arrive and sync without faults; return the rounds it took, None if more than six."""
    for tablet in world.tablets:
        tablet.link.weights = {}
        tablet.link.deliver_late()
    for number in range(1, MOST_ROUNDS + 1):
        for tablet in world.tablets:
            before = sum(tablet.refused[code] for code in _LET_IN_AGAIN)
            went_through = world.sync(tablet) is not None
            if not went_through and tablet.name not in world.revoked and (
                sum(tablet.refused[code] for code in _LET_IN_AGAIN) > before
            ):
                world.enrol_again(tablet)
                world.sync(tablet)
            # Everybody comes once; then as soon as all agree, nobody has anything to do.
            if number > 1 and _agree(world):
                return number
        if number == 1 and _agree(world):
            return number
    return None


def _agree(world: World) -> bool:
    prints = {tablet.session.entries.fingerprint(CLINIC) for tablet in world.healthy()}
    return prints == {world.server.station.entries.fingerprint(CLINIC)}


def look(world: World, rounds: int | None, excused: Iterable[str] = (), deep: bool = True) -> Found:
    """Check what must hold after healing; ``deep`` also reads whole files and chains (I6).

    ``excused`` are digests that no surviving machine holds.
    """
    found = Found(rounds=rounds or MOST_ROUNDS + 1, converged=rounds is not None)
    if rounds is None:
        refused = sum((t.refused for t in world.tablets), Counter())
        found.say("I3", f"fingerprints differ after {MOST_ROUNDS} rounds; refused {dict(refused)}")
    there = world.on_server()
    held = world.held_back()
    for saved in world.saved:
        if saved.entry.digest not in {*there, *held, *excused}:
            found.lost += 1
            found.say("I1", f"{saved.entry.kind} {saved.entry.number} of {saved.on} is not on the server")
    _once(world, there, found)
    _same_bytes(world, there, found, deep)
    _no_vanished_double(world, there, found, deep)
    _times(world, found)
    for tablet in world.tablets:
        for bad in tablet.link.bad:
            found.say("I6", f"a fault in the server: {bad}")
    found.broken += world.wrong
    world.wrong.clear()
    if deep:
        _sound(world, found)
        _photos_whole(world, found)
    return found


def _once(world: World, there: dict[str, bytes], found: Found) -> None:
    wanted = {s.entry.digest for s in world.saved} | set(world.known_before)
    with closing(sqlite3.connect(world.server.path)) as raw:
        rows = raw.execute(
            "SELECT entry_id, digest, server_sequence FROM entry WHERE tablet NOT LIKE 'server-%'"
        ).fetchall()
        sequences = [row[0] for table in ("entry", "signature") for row in raw.execute(
            f"SELECT server_sequence FROM {table} WHERE clinic = ?", (CLINIC,)
        )]
    ids = Counter(row[0] for row in rows)
    twice = [id_ for id_, count in ids.items() if count > 1]
    strange = [row[1] for row in rows if row[1] not in wanted and _is_record(there[row[1]])]
    found.doubled += len(twice) + len(strange)
    if twice or strange:
        found.say("I2", f"{len(twice)} entries stand twice, {len(strange)} nobody saved")
    if len(set(sequences)) != len(sequences) or None in sequences:
        found.say("I2", "a sequence number was given twice, or not at all")


def _is_record(content: bytes) -> bool:
    """Keys and identities that a tablet records by itself were saved by no person."""
    return b'"kind":"staff_key"' not in content and b'"kind":"tablet' not in content


def _same_bytes(world: World, there: dict[str, bytes], found: Found, deep: bool) -> None:
    """I4: what was signed has the bytes that were signed, and still is signed, everywhere.

    Not ``deep``: what was signed since the last look; deep: all of it.
    """
    kinds = load_edition().kinds
    signed = [
        s.entry for s in world.saved[0 if deep else world.looked_at:]
        if s.entry.kind in kinds and kinds[s.entry.kind].signed_as and s.entry.digest in there
    ]
    world.looked_at = len(world.saved)
    for entry in signed:
        if there.get(entry.digest) not in (None, entry.plaintext()):
            found.say("I4", f"signed {entry.kind} {entry.number} has other bytes on the server")
    if not found.converged or not signed:
        return
    for store in [t.session.entries for t in world.healthy()] + [world.server.station.entries]:
        valid = {
            s.signs for s in store.signatures(signs=[e.digest for e in signed])
            if s.signer_type == "staff" and s.is_valid()
        }
        for entry in signed:
            here = store.by_digest(entry.digest)
            if here is None:
                continue
            if here.plaintext() != entry.plaintext() or entry.digest not in valid:
                found.say("I4", f"signed {entry.kind} {entry.number} is changed or no longer signed")


def leaves_of(entries: Iterable[Entry], slot: str) -> list[Entry]:
    """Return what nothing replaces in a slot, by the entries' own words."""
    kinds = load_edition().kinds
    mine = [e for e in entries if e.kind in kinds and kinds[e.kind].slot_of(e.body) == slot]
    digests = {e.digest for e in mine}
    more = [e for e in entries if e.kind == WITHDRAWN and digests & set(e.replaces)]
    replaced = {d for e in (*mine, *more) for d in e.replaces}
    return [e for e in (*mine, *more) if e.digest not in replaced]


def _no_vanished_double(
    world: World, there: dict[str, bytes], found: Found, deep: bool,
) -> None:
    """I5: what was changed apart is listed on every machine, until a person settles it."""
    if not found.converged:
        return
    held = {e.digest: e for e in world.fitting_before} | {
        s.entry.digest: s.entry for s in world.saved
        if s.entry.digest in there and s.entry.subject == FITTING
    }
    slots = {
        load_edition().kinds[e.kind].slot_of(e.body) for e in held.values() if e.kind != WITHDRAWN
    }
    views = [(t.name, t.session.fitting(FITTING.id)) for t in world.healthy()]
    if deep:
        with world.server.station.reading(CLINIC) as reading:
            views.append(("server", reading.view(FITTING.id)))
    for slot in sorted(slots):
        leaves = leaves_of(held.values(), slot)
        if len(leaves) == 1 and leaves[0].kind == WITHDRAWN:
            continue
        wanted = sorted(e.digest for e in leaves)
        for name, view in views:
            if sorted(h.digest for h in view.heads(slot)) != wanted:
                found.say("I5", f"{slot} on {name}: {len(view.heads(slot))} shown of {len(wanted)}")


def _times(world: World, found: Found) -> None:
    """An entry keeps its tablet's time, and its clock only rises along a chain."""
    last: dict[str, str] = {}
    for saved in world.saved:
        told = int(moment_from(saved.entry.recorded_at).timestamp() * 1000)
        if abs(told - saved.clock_ms) > 1000:
            found.say("I6", f"{saved.entry.kind} {saved.entry.number} lost its tablet's time")
        if saved.entry.clock <= last.get(saved.on, ""):
            found.say("I6", f"the order of {saved.on} runs back at {saved.entry.number}")
        last[saved.on] = saved.entry.clock


def sound_file(path: Path) -> str:
    """Return what is wrong with a store's file, "" when nothing is."""
    with closing(sqlite3.connect(path)) as raw:
        whole = raw.execute("PRAGMA integrity_check").fetchone()[0]
        foreign = raw.execute("PRAGMA foreign_key_check").fetchall()
    return "" if whole == "ok" and not foreign else f"{whole}, {len(foreign)} foreign keys"


def _sound(world: World, found: Found) -> None:
    nodes: list[tuple[str, Path, object]] = [
        (t.name, t.tablet.path, t.session.entries) for t in world.tablets
    ]
    nodes.append(("server", world.server.path, world.server.station.entries))
    for name, path, entries in nodes:
        wrong = sound_file(path)
        if wrong:
            found.say("I6", f"the file of {name}: {wrong}")
        for tablet in entries.chain_tablets(CLINIC):  # type: ignore[attr-defined]
            bad = verify_chain(entries.chain_rows(CLINIC, tablet))  # type: ignore[attr-defined]
            if bad is not None:
                found.say("I6", f"the chain of {tablet} on {name}: {bad.code} at {bad.number}")


def _photos_whole(world: World, found: Found) -> None:
    """I7: a photo's bytes on the server are those that were taken, once everybody agrees."""
    if not found.converged:
        return
    for name, data in world.photos.items():
        path = world.server.server.lane.files.path(CLINIC, name)
        if not path.is_file() or path.read_bytes() != data:
            found.say("I7", f"photo {name[:8]} is not on the server as it was taken")

