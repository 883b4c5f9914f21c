"""A short set of the fault gate; `python -m tests.faults.gate` plays the whole of it."""

from __future__ import annotations

import pytest

from tests.faults.schedules import Tally, play_world

SEEDS = {"mixed": (1, 2), "clocks": (1,), "restored": (1, 2), "cloned": (1, 2), "revoked": (1, 2), "carried": (1, 2)}


@pytest.mark.parametrize("row", SEEDS)
def test_nothing_saved_is_lost_doubled_or_hidden_on_bad_days(ground, row):
    tally = Tally()
    for seed in SEEDS[row]:
        play_world(ground, row, seed, tally)
    assert tally.broken == []
    assert (tally.lost, tally.doubled, tally.apart) == (0, 0, 0)
    assert tally.faults >= len(SEEDS[row]), "this schedule met faults"
