"""What a sync asks for: one request where nothing is new, nothing fetched that was only sent."""

from __future__ import annotations

from tests.faults import moves
from tests.faults.world import CLINIC


def asked(tablet) -> int:
    return sum(tablet.link.codes.values())


def test_a_sync_with_nothing_new_is_one_request(world):
    first = world.tablets[0]
    world.sync(first)
    before = asked(first)
    world.sync(first)
    assert asked(first) - before == 1


def test_what_a_tablet_sends_does_not_come_down_again_and_is_whole_on_both_sides(world):
    first, second, _ = world.tablets
    world.sync(first)
    before = asked(first)
    moves.record(world, first)
    world.sync(first)
    assert asked(first) - before == 2
    server = world.server.station.entries
    assert first.session.entries.fingerprint(CLINIC) == server.fingerprint(CLINIC)
    assert first.session.entries.sync_state(CLINIC).pulled_to == server.last_sequence(CLINIC)
    world.sync(second)
    assert second.session.entries.fingerprint(CLINIC) == server.fingerprint(CLINIC)


def test_what_somebody_else_sent_in_between_is_fetched_all_the_same(world):
    first, second, _ = world.tablets
    moves.record(world, second)
    world.sync(second)
    moves.sign(world, first)
    world.sync(first)
    for saved in world.saved:
        assert first.session.entries.has(saved.entry.digest)
    assert first.session.entries.fingerprint(CLINIC) == (
        world.server.station.entries.fingerprint(CLINIC)
    )


def test_a_push_whose_answer_was_lost_is_counted_from_the_servers_word(world):
    first = world.tablets[0]
    moves.record(world, first)
    world.sync(first)
    moves.sign(world, first)
    first.link.weights = {"drop_response": 1.0}
    assert world.sync(first) is None
    first.link.weights = {}
    world.sync(first)
    assert first.session.entries.fingerprint(CLINIC) == (
        world.server.station.entries.fingerprint(CLINIC)
    )
