"""A ground for worlds, made once for all fault tests of a process."""

from __future__ import annotations

import random

import pytest

from tests.faults.schedules import Ground
from tests.faults.steered import Clocks, steered
from tests.faults.world import World


@pytest.fixture(scope="session")
def ground():
    found = Ground()
    yield found
    found.close()


@pytest.fixture
def world(ground):
    """Three tablets and a server that know one open fitting; no faults unless asked for."""
    chance, clocks = random.Random("one world"), Clocks()
    with steered(clocks, chance):
        found = World(ground.fresh(), chance, clocks, tablets=3)
        yield found
        found.close()
