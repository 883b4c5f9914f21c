"""The tablet with thousands of fittings on it, beside a bare window and a bare commit.

    .venv/bin/python tests/bench/bench_tablet.py [--sizes 200,2000,20000] [--rounds 5]
        [--stores FOLDER] [--json]

Everything is measured in one run on one machine, so read the ratios.  What is
compared is measured by turns, in processes of their own, on a copy of each
store; docs/tablet-speed.md says how, and what the figures don't say.  Nothing
here is a test: pytest does not collect it, and no time is asserted.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Iterator

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.tablet_table import STARTED_WITH, table  # noqa: E402

CHILD = Path(__file__).with_name("tablet_child.py")
#: No child runs longer than this, and none is begun when the run has lasted so long; seconds.
LONGEST_CHILD, LONGEST_RUN = 170.0, 440.0
_BEGUN = time.monotonic()


class Failed(RuntimeError):
    """A measurement came to no figures; its text says why."""


def child(*arguments: str) -> dict:
    """Run one measurement and return all that it said; its whole process group ends with it."""
    left = min(LONGEST_CHILD, LONGEST_RUN - (time.monotonic() - _BEGUN))
    if left < 5:
        raise Failed("no time was left")
    environment = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "LP_NUM_THREADS": "0"}
    process = subprocess.Popen(
        [sys.executable, str(CHILD), *arguments], env=environment, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )
    try:
        said_out, said_err = process.communicate(timeout=left)
    except subprocess.TimeoutExpired as error:
        raise Failed(f"took longer than {left:.0f} s") from error
    finally:
        _end(process)
    said: dict = {}
    for line in said_out.splitlines():
        if line.startswith("{"):
            said |= json.loads(line)
    if process.returncode or not said:
        raise Failed((said_err.strip().splitlines() or ["it said nothing"])[-1])
    return said


def _end(process: subprocess.Popen) -> None:
    try:
        os.killpg(process.pid, signal.SIGKILL)
    except ProcessLookupError:
        pass
    process.wait()


def starts(folder: Path, rounds: int) -> dict:
    """Bare window and app by turns; medians and their ratios."""
    bare, app = [], []
    for _ in range(rounds):
        bare.append(child("bare", str(time.time())))
        app.append(child("app", str(time.time()), str(folder)))
    found = {"rounds": rounds}
    for name in ("start_s", "memory_mib"):
        of_bare, of_app = median(b[name] for b in bare), median(a[name] for a in app)
        found |= {f"bare_{name}": of_bare, f"app_{name}": of_app, f"{name}_ratio": of_app / of_bare}
    return found


@contextmanager
def copied(folder: Path) -> Iterator[Path]:
    """Give a copy of a store on the same disk, so that every run begins with the same one."""
    place = Path(tempfile.mkdtemp(prefix="run-", dir=folder.parent))
    try:
        for file in folder.glob("stancebook.tablet*"):
            if ".before-" not in file.name:
                shutil.copy(file, place)
        yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)


def measure(stores: Path, sizes: list[int], rounds: int) -> dict:
    """Measure all sizes; what fails is said and leaves the others."""
    measured: dict = {"load_before": os.getloadavg(), "sizes": {}, "failed": {}}
    for size in sizes:
        folder = stores / str(size)
        try:
            if not (folder / "stancebook.tablet").exists():
                print(f"making a store of {size} fittings ...", file=sys.stderr)
                from tests.bench.big_clinic import make

                make(folder, size)
            child("prepare", str(folder))
            with copied(folder) as copy:
                if size == STARTED_WITH:
                    print(f"starting by turns, {rounds} rounds ...", file=sys.stderr)
                    measured["start"] = starts(copy, rounds)
                print(f"at work with {size} fittings ...", file=sys.stderr)
                measured["sizes"][size] = child("work", str(copy))
        except Failed as failed:
            measured["failed"][size] = str(failed)
    measured |= {"load_after": os.getloadavg(), "took_s": time.monotonic() - _BEGUN}
    return measured


def main() -> int:
    """Measure and print; 1 when something came to no figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", default="200,2000,20000")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--stores", type=Path, default=None, help="keep the made stores here for the next run")
    options = parser.parse_args()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    sizes = [int(n) for n in options.sizes.split(",")]
    stores = options.stores or Path(tempfile.mkdtemp(prefix="stancebook-bench-"))
    try:
        measured = measure(stores, sizes, options.rounds)
    finally:
        if options.stores is None:
            shutil.rmtree(stores, ignore_errors=True)
    print(json.dumps(measured, indent=1) if options.json else table(measured))
    return 1 if measured["failed"] else 0


if __name__ == "__main__":
    sys.exit(main())
