"""What each action on a complete later visit makes stale, what it opens, and what it leaves standing."""

from __future__ import annotations

import pytest

from tests.fitting_desk import Desk

#: What happens, what is done, the steps gone stale, and the steps opened by it.
TABLE = [
    ("a valve is turned", lambda d: d.turn("swing_flexion", "9"), {"caps", "final_walk"}, {"swing_flexion"}),
    ("a screw is slackened", lambda d: d.note("screw_moved", {"screw": "foot.front", "what": "slackened", "why": "foot turned out"}),
     {"ready", "final_walk"}, {"static", "torque", "alignment_closing"}),
    ("a position is read again", lambda d: d.note("setting_found", {"function": "swing_flexion", "position": "9"}), set(), set()),
    ("a screw is checked again", lambda d: d.check("foot.front"), set(), set()),
    ("the parts are compared again", lambda d: d.compared(), set(), set()),
    ("a service is written down", lambda d: d.note("service", {"place": "knee", "serviced_on": "2026-01-05", "done": "seals renewed", "done_by": "the maker"}), set(), set()),
]


@pytest.mark.parametrize("do, stale, opened", [row[1:] for row in TABLE], ids=[row[0] for row in TABLE])
def test_exactly_these_steps_of_a_visit_stop_standing_when(do, stale, opened) -> None:
    desk = Desk.finished().visit().asked()
    desk.compared()
    desk.found().ready_again().leave()
    assert desk.verdict().state == "complete"

    do(desk)

    states = desk.states()
    assert {key for key, state in states.items() if state == "stale"} == stale
    assert {key for key, state in states.items() if state == "open"} == opened
