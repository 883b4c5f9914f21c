"""A tablet whose access was taken away loses nothing, and keeps nobody else from agreeing."""

from __future__ import annotations

from sync_server.services.holding import decide_held
from tests.faults import moves
from tests.faults.invariants import heal
from tests.faults.world import CLINIC, STAFF


def test_the_others_agree_and_the_lead_takes_in_what_was_recorded_behind_it(world):
    first, taken, _ = world.tablets
    moves.record(world, taken)
    moves.revoke(world, taken)
    moves.record(world, taken)
    moves.sign(world, taken)
    moves.record(world, first)
    first.link.weights = {"drop_response": 1.0}
    assert world.sync(first) is None
    assert heal(world) is not None
    assert taken.refused["access_revoked_here"], "the tablet says why it is not let in"
    mine = {s.entry.digest for s in world.saved if s.on == taken.name}
    assert mine <= world.held_back() and not mine & set(world.on_server())
    with world.clocks.turn_of("server"):
        decide_held(
            world.server.station, CLINIC, taken.session.tablet, True, "looked at", (STAFF, "lead"), "here"
        )
    assert {s.entry.digest for s in world.saved} <= set(world.on_server())
    assert not world.enrol_again(taken), "it never comes back under its old name"
