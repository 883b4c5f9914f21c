"""What people and machines do in a schedule, drawn from its seed."""

from __future__ import annotations

import itertools
import random

from shared_models.entries.slots import WITHDRAWN
from shared_models.quantities.refusals import Refusal
from tests.faults.steered import DAY_MS
from tests.faults.world import FITTING, STAFF, SimTablet, World

FUNCTIONS = ("stance_threshold", "swing_flexion")
_numbers = itertools.count(1)


def _kept(world: World, tablet: SimTablet, save) -> None:  # type: ignore[no-untyped-def]
    """Do what a person does; what the program refuses does not happen, and is not lost."""
    with world.clocks.turn_of(tablet.name):
        try:
            entry = save(tablet.session)
        except Refusal as refusal:
            tablet.refused[refusal.code] += 1
            return
        if entry is not None:
            world.told_saved(entry, tablet)


def _setting(chance: random.Random) -> dict[str, str]:
    return {
        "function": chance.choice(FUNCTIONS), "position": str(chance.randrange(1, 10)),
        "reason": "trial",
    }


def record(world: World, tablet: SimTablet) -> None:
    """A person turns a valve, or settles it where it was turned apart."""
    chance = world.chance
    body = _setting(chance)
    settles = chance.random() < 0.4
    _kept(world, tablet, lambda s: s.save("setting", FITTING, body, settles=settles))


def correct(world: World, tablet: SimTablet) -> None:
    """A person corrects the body mass, or a valve that was mistyped."""
    chance = world.chance
    slot = chance.choice(("body", f"setting/{chance.choice(FUNCTIONS)}"))
    wrong = chance.random()

    def save(session):  # type: ignore[no-untyped-def]
        heads = session.fitting(FITTING.id).heads(slot)
        heads = [h for h in heads if h.kind != WITHDRAWN]
        if not heads:
            return None
        head = heads[int(wrong * len(heads))]
        if wrong > 0.9:
            return session.withdraw(head, "wrong_person")
        field = "body_mass_kg" if head.kind == "body" else "position"
        return session.correct(head, {**head.body, field: str(70 + int(wrong * 20))}, "mistyped")

    _kept(world, tablet, save)


def sign(world: World, tablet: SimTablet) -> None:
    """A person signs the fitting off, or asks for its review."""
    if world.chance.random() < 0.5:
        body = {"technician": STAFF, "way": "witnessed"}
        _kept(world, tablet, lambda s: s.save("sign_off", FITTING, body, settles=True))
    else:
        _kept(world, tablet, lambda s: s.save(
            "review_requested", FITTING, {"note": f"look at {next(_numbers) % 7}"}, settles=True
        ))


def sync(world: World, tablet: SimTablet) -> None:
    """The tablet syncs, over whatever line it has."""
    world.sync(tablet)


def replay(world: World, tablet: SimTablet) -> None:
    """Somebody sends the bytes of an earlier request again, now or a month later."""
    pushed = [asked for t in world.tablets for asked in t.link.pushed if "/entries" in asked.url]
    if pushed:
        if world.chance.random() < 0.1:
            world.clocks.true_ms += 30 * DAY_MS
        tablet.link.replay(world.chance.choice(pushed))


def restart(world: World, tablet: SimTablet) -> None:
    """The tablet is switched off and on."""
    world.faults["restart"] += 1
    with world.clocks.turn_of(tablet.name):
        tablet.reopen()


def restart_server(world: World, _tablet: SimTablet) -> None:
    """The server is switched off and on."""
    world.faults["restart_server"] += 1
    with world.clocks.turn_of("server"):
        world.server.reopen()


def jump_clock(world: World, tablet: SimTablet) -> None:
    """A wall clock is set wrong: a month back, a year ahead, days apart."""
    world.faults["clock_jump"] += 1
    days = world.chance.choice((-30, 400, -3, 3, 0, world.chance.uniform(-3, 3)))
    machine = world.chance.choice((tablet.name, tablet.name, "server"))
    world.clocks.off_ms[machine] = int(days * DAY_MS)


def back_up(world: World, _tablet: SimTablet) -> None:
    """The operator takes a backup."""
    world.back_up()


def restore(world: World, _tablet: SimTablet) -> None:
    """The server comes back from an older copy."""
    if world.backups:
        world.restore()


def clone(world: World, tablet: SimTablet) -> None:
    """The tablet is copied; both copies go on."""
    if not world.clones:
        world.clone(tablet)


def revoke(world: World, tablet: SimTablet) -> None:
    """The operator takes a tablet's access away; it may go on recording."""
    if world.revoked or tablet is world.tablets[0]:
        return  # one at a time, and never the last
    world.faults["revoke"] += 1
    world.revoked.add(tablet.name)
    with world.clocks.turn_of("server"):
        world.server.server.gate.revoke(tablet.session.tablet)


def enrol(world: World, tablet: SimTablet) -> None:
    """A tablet that may come in is given a fresh token."""
    if tablet.name not in world.revoked:
        world.enrol_again(tablet)


MOVES = {
    f.__name__: f for f in (
        record, correct, sign, sync, replay, restart, restart_server, jump_clock, back_up,
        restore, clone, revoke, enrol,
    )
}
