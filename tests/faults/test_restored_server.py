"""A server that comes back from an older copy gets back what any tablet still holds."""

from __future__ import annotations

from tests.faults import moves
from tests.faults.world import CLINIC


def test_a_valve_turned_on_a_lost_tablet_comes_back_from_the_one_that_had_fetched_it(world):
    world.back_up()
    lost, kept, _ = world.tablets
    moves.record(world, lost)
    world.sync(lost)
    world.sync(kept)
    world.tablets.remove(lost)
    turned = world.saved[0].entry
    assert kept.session.entries.has(turned.digest)
    world.restore()
    assert turned.digest not in world.on_server()
    world.sync(kept)
    assert turned.digest in world.on_server()
    assert world.server.station.entries.signatures(signs=[turned.digest])
    lost.tablet.close()


def test_a_tablet_that_was_cut_off_while_it_gave_back_goes_on_the_next_time(world):
    world.back_up()
    first, second, _ = world.tablets
    moves.record(world, first)
    for tablet in (first, second):
        world.sync(tablet)
    world.restore()
    second.link.weights = {"broken_off": 1.0}
    assert world.sync(second) is None
    second.link.weights = {}
    world.sync(second)
    world.tablets.remove(first)
    assert world.saved[0].entry.digest in world.on_server()
    state = second.session.entries.sync_state(CLINIC)
    assert state.epoch == world.server.station.entries.epoch
    first.tablet.close()


def test_a_page_of_another_epoch_is_not_counted_on(world):
    """Numbers of the store before say nothing of the restored one."""
    world.back_up()
    first, second, _ = world.tablets
    for _ in range(3):
        moves.record(world, first)
    world.sync(first)
    moves.record(world, second)
    world.sync(second)
    world.sync(first)
    old = first.link._pages[-1]
    world.restore()
    second.link._pages = [old, old]
    second.link.weights = {"old_page": 1.0}
    assert world.sync(second) is None
    second.link.weights = {}
    assert world.sync(first) and world.sync(second)
    assert second.session.entries.fingerprint(CLINIC) == first.session.entries.fingerprint(CLINIC)
