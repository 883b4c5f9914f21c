"""How long each calculation takes that a person waits for, beside one frame of the tablet.

    .venv/bin/python tests/bench/bench_speed.py [--json]

Everything is measured in one run on one machine, so read the ratios: one frame
is 1/60 s, and what takes less is not noticed.  Nothing here is a test: the
usual run of pytest does not collect it, and no time is asserted anywhere.
"""

from __future__ import annotations

import argparse
import json
import platform
import sys
import tracemalloc
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Callable

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.waited_for import CASES, Case, long_course, long_course_record  # noqa: E402

FRAME_S = 1 / 60
#: Each case is measured so many times, each time over at least so many seconds.
BATCHES, BATCH_S = 7, 0.05


@dataclass(frozen=True)
class Measured:
    """One line of the table: time of one call, and that as a part of a frame."""

    what: str
    when: str
    milliseconds: float
    frames: float


def measure(case: Case) -> Measured:
    """Return the median time of one call, over batches, the first call left out."""
    call = case.prepare()
    call()
    calls, times = 1, []
    while len(times) < BATCHES:
        started = perf_counter()
        for _ in range(calls):
            call()
        took = perf_counter() - started
        if took < BATCH_S and not times:
            calls = max(calls + 1, int(calls * BATCH_S / max(took, 1e-7)))
            continue
        times.append(took / calls)
    return Measured(case.what, case.when, 1000 * median(times), median(times) / FRAME_S)


def memory_mib(make: Callable[[], object]) -> float:
    """Return how much memory what is made holds, in MiB."""
    make()
    tracemalloc.start()
    kept = make()
    held, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    del kept
    return held / 2**20


def main() -> int:
    """Measure everything and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--json", action="store_true", help="the figures as JSON")
    as_json = parser.parse_args().json
    found = [measure(case) for case in CASES]
    found += [measure(case) for case in long_course()]
    held = memory_mib(long_course_record)
    if as_json:
        print(json.dumps({"cases": [asdict(m) for m in found], "long_course_mib": held}, indent=2))
        return 0
    print(f"One frame is {1000 * FRAME_S:.1f} ms. {platform.machine()}, Python {platform.python_version()}.\n")
    width = max(len(m.what) for m in found)
    print(f"{'calculation':<{width}}  {'ms':>9}  {'frames':>7}  waited for when")
    for m in found:
        print(f"{m.what:<{width}}  {m.milliseconds:9.3f}  {m.frames:7.3f}  {m.when}")
    print(f"\nA fitting with 1 000 trials of one adjuster holds {held:.1f} MiB of memory.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
