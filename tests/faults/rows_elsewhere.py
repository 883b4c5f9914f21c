"""F15, F16, F17 and F19: rows that tests beside the gate hold, run by it with their counts."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from dataclasses import dataclass

from tests.faults.schedules import Ground, Tally

SERVER = "tests/sync_server/"


@dataclass(frozen=True)
class Held:
    """Files of tests that hold a row; ``count`` runs are asked of them through ``settings``."""

    files: tuple[str, ...]
    settings: dict[str, str]
    count: int = 0


HELD = {
    "who_may": Held((SERVER + "test_every_route.py", SERVER + "test_who_may_see.py",
                     SERVER + "test_holding.py"), {}),
    "photos_cut": Held((SERVER + "test_photos_on_a_cut_line.py",), {"STANCEBOOK_CUTS": "500"}, 500),
    "fuzzed": Held((SERVER + "test_fuzzed_batches.py",), {"STANCEBOOK_EXAMPLES": "1000"}, 1000),
    "by_stick": Held((SERVER + "test_carried_by_stick.py",), {}),
}


def tests_beside(name: str):  # type: ignore[no-untyped-def]
    """Return the run of a row that tests beside hold."""
    def run(_ground: Ground, tally: Tally, until: float) -> None:
        held = HELD[name]
        files = [file for file in held.files if os.path.exists(file)]
        if not files:
            tally.notes["not run: its tests are not there"] += 1
            return
        try:
            done = subprocess.run(
                [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *files],
                env={**os.environ, **held.settings}, capture_output=True, text=True,
                timeout=max(5.0, until - time.monotonic()),
            )
        except subprocess.TimeoutExpired:
            tally.notes["not reached in time"] += 1
            return
        passed = re.search(r"(\d+) passed", done.stdout)
        count = int(passed[1]) if passed else done.stdout.count(".") if done.returncode == 0 else 0
        tally.notes["tests passed"] += count
        tally.runs += held.count or count
        tally.faults += held.count or count
        if done.returncode:
            tail = " / ".join(done.stdout.strip().splitlines()[-3:])
            tally.broken.append(f"{name}: {tail[:300]}")
    return run
