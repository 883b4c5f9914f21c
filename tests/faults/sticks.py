"""F19: what people do with sticks: written, lost, mixed up, taken in twice or late, a bit turned over."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange.carried import Told
from shared_models.quantities.refusals import Refusal
from mobile.keeping.stick import take_back, write_out
from sync_server.services.carried_in import take_in_folder
from tests.faults.world import CLINIC, FITTING, SimTablet, World
from tests.sync_server.photos import photo_of, png

#: What a damaged file may be called; a file that is nobody's is not named at all.
_DAMAGED = {"sealed_damaged", "sealed_not_ours", "sealed_unknown_format"}
#: What may be said of a whole file: an earlier one is still on its way.
_WAITS = {"", "chain_gap", "attachment_not_named", "upload_offset_differs"}


def write_stick(world: World, tablet: SimTablet) -> None:
    """A person writes what is unsent to a fresh stick; now and then for another clinic's server."""
    folder = world.folder / f"stick-{next(world.numbers)}"
    folder.mkdir()
    entries = tablet.session.entries
    state = entries.sync_state(CLINIC)
    other = world.chance.random() < 0.08
    with world.clocks.turn_of(tablet.name):
        if other:
            wrong = {**state.access, "server_key": public_text(new_key())}
            entries.keep_sync_state(replace(state, access=wrong))
        written = write_out(tablet.session, folder, lambda *_: None)
        if other:
            entries.keep_sync_state(state)
    if other and written.files:
        world.faults["stick_for_another"] += 1
        told = _taken_without_effect(world, folder, "a stick for another server")
        if {line.code for line in told} != {"sealed_for_another"}:
            world.wrong.append(f"F19: a stick for another server: {[line.code for line in told]}")
    elif written.files:
        world.sticks.append(folder)


def take_in(world: World, tablet: SimTablet) -> None:
    """A stick reaches the server, or does not; not always the newest, not always once."""
    if not world.sticks:
        return
    folder = world.chance.choice(world.sticks)
    drawn = world.chance.random()
    if drawn < 0.15:
        world.faults["stick_lost"] += 1
        world.sticks.remove(folder)
        shutil.rmtree(folder)
    elif drawn < 0.35:
        _damaged(world, folder)
    else:
        _taken_in(world, folder)


def _taken_in(world: World, folder: Path) -> None:
    replayed = folder in world.taken
    if world.sticks.index(folder) < max((world.sticks.index(f) for f in world.taken if f in world.sticks), default=-1):
        world.faults["stick_late"] += 1
    if replayed:
        world.faults["stick_replayed"] += 1
        told = _taken_without_effect(world, folder, "a stick taken in once more")
    else:
        told = _told(world, folder)
    strange = {line.code for line in told} - _WAITS
    if strange:
        world.wrong.append(f"F19: of a whole stick is said {strange}")
    if not any(line.code for line in told):
        world.taken.add(folder)


def _damaged(world: World, folder: Path) -> None:
    """One file of a stick comes with a bit turned over or cut short, alone in a folder."""
    files = sorted(p for p in folder.iterdir() if "-receipt-" not in p.name)
    if not files:
        return
    path = world.chance.choice(files)
    data = bytearray(path.read_bytes())
    if world.chance.random() < 0.5:
        bit = world.chance.randrange(len(data) * 8)
        data[bit // 8] ^= 1 << bit % 8
        world.faults["stick_flipped"] += 1
    else:
        del data[world.chance.randrange(len(data)):]
        world.faults["stick_cut"] += 1
    apart = world.folder / "damaged-stick"
    apart.mkdir()
    (apart / path.name).write_bytes(data)
    codes = {line.code for line in _taken_without_effect(world, apart, "a damaged stick")}
    if not codes <= _DAMAGED:
        world.wrong.append(f"F19: of a damaged file is said {codes}")
    shutil.rmtree(apart)


def _told(world: World, folder: Path) -> list[Told]:
    with world.clocks.turn_of("server"):
        return take_in_folder(world.server.station, world.server.server.lane, folder)


def _taken_without_effect(world: World, folder: Path, what: str) -> list[Told]:
    station = world.server.station
    before = (station.entries.fingerprint(CLINIC), station.entries.last_sequence(CLINIC))
    told = _told(world, folder)
    if (station.entries.fingerprint(CLINIC), station.entries.last_sequence(CLINIC)) != before:
        world.wrong.append(f"I2: {what} had an effect")
    return told


def bring_back(world: World, tablet: SimTablet) -> None:
    """A stick comes back to a tablet, its own or another's; its receipt may be old, or damaged."""
    if not world.sticks:
        return
    folder, entries = world.chance.choice(world.sticks), tablet.session.entries
    receipts = sorted(folder.glob("stancebook-receipt-*"))
    sound = {path: path.read_bytes() for path in receipts}
    damaged = bool(receipts) and world.chance.random() < 0.2
    for path in receipts if damaged else ():
        world.faults["receipt_flipped"] += 1
        data = bytearray(sound[path])
        bit = world.chance.randrange(len(data) * 8)
        data[bit // 8] ^= 1 << bit % 8
        path.write_bytes(data)
    before = entries.sync_state(CLINIC).acknowledged_number
    with world.clocks.turn_of(tablet.name):
        try:
            take_back(tablet.session, folder)
        except Refusal as refusal:
            tablet.refused[refusal.code] += 1
            if not damaged and any(tablet.session.tablet in path.name for path in receipts):
                world.wrong.append(f"F19: a whole receipt is refused: {refusal.code}")
    after = entries.sync_state(CLINIC).acknowledged_number
    if after < before or damaged and after != before:
        world.wrong.append(f"I1: {before} were acknowledged, and {after} after a receipt")
    there = world.server.station.entries.chain_end(CLINIC, tablet.session.tablet)[0]
    if after > max(before, there):
        world.wrong.append(f"I1: {after} count as sent after a receipt, and {there} are there")
    for path in receipts if damaged else ():
        path.write_bytes(sound[path])


def photograph(world: World, tablet: SimTablet) -> None:
    """A person takes a photo, small here; it goes by stick or by the lane."""
    number = next(world.numbers)
    data = png(world.chance.randrange(400, 3000), seed=number)
    with world.clocks.turn_of(tablet.name):
        name = tablet.session.entries.keep_attachment(data)
        world.told_saved(tablet.session.save("photo", FITTING, photo_of(name, f"photo-{number}")), tablet)
    world.photos[name] = data


MOVES = {f.__name__: f for f in (write_stick, take_in, bring_back, photograph)}
