"""What holds for all tests."""

from __future__ import annotations

import gc
import os

import pytest
from hypothesis import settings

from tests import own_postgres

# How long an example takes says something of the machine, nothing of a fitting.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

#: So many objects come before a search for garbage, and so many small searches before a larger one.
_SEARCHES = (20_000, 10, 10)


def pytest_collection_finish() -> None:
    """Have no search for garbage look through thousands of tests and their modules: they stay to the end."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(*_SEARCHES)


def pytest_generate_tests(metafunc) -> None:
    """Run what is marked ``both_stores`` on SQLite and on a PostgreSQL."""
    if "store_kind" in metafunc.fixturenames:
        both = metafunc.definition.get_closest_marker("both_stores")
        kinds = ["sqlite", "postgresql"] if both and both.args != (False,) else ["sqlite"]
        metafunc.parametrize("store_kind", kinds, scope="session")


@pytest.fixture(scope="session")
def postgres():
    """The run's own PostgreSQL; skips, with the reason, where there can be none."""
    worker = os.environ.get("PYTEST_XDIST_WORKER", "main")
    run = os.environ.get("PYTEST_XDIST_TESTRUNUID", str(os.getpid()))
    return own_postgres.start(worker, run, own_postgres.in_memory())
