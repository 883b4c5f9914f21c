"""A line that breaks while a tablet sends is no fault of the server's."""

from __future__ import annotations

from tests.faults import moves
from tests.faults.rows_wire import Door


def test_a_push_that_breaks_off_stores_nothing_and_is_no_fault(ground):
    door = Door(ground)
    for share in (0, 0.3, 0.9):
        part = door.push.content[:int(len(door.push.content) * share)]
        answer = door.ask(part, ends_early=True)
        assert answer is not None and answer.status_code == 400
        assert door.stored() == 0
    assert door.ask(door.push.content).status_code == 200
    assert door.stored() == 100
    door.close()


def test_a_tablet_whose_line_breaks_keeps_everything_and_sends_it_the_next_time(world):
    first = world.tablets[0]
    moves.record(world, first)
    first.link.weights = {"broken_off": 1.0}
    assert world.sync(first) is None
    first.link.weights = {}
    assert world.sync(first) is not None
    assert world.saved[0].entry.digest in world.on_server()
