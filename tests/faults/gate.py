"""The fault gate: the whole matrix, one command, one table.

    .venv/bin/python -m tests.faults.gate [--minutes 13] [--seed S] [--cores 2] [--rows mixed,killed_tablet]

Ends with 0 where nothing was lost, doubled, hidden or left apart, and every
target was met; with 1 otherwise.  A target that the time did not suffice for
is printed as missed, with the number reached.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import sys
import threading
import time
from collections import Counter

from tests.faults.gate_rows import FAILED, LINES, ROWS, Line, Row
from tests.faults.schedules import PROFILES, Tally

#: Seeds of worlds that every gate plays first, before fresh ones.
FIXED_SEEDS = tuple(range(1, 25))
#: A worker is handed so many worlds at once: small, so that both cores end together.
WORLDS_AT_ONCE = 4


def main(argv: list[str] | None = None) -> int:
    """Run the gate; print the table."""
    told = _told(argv)
    print(f"fresh seed {told.seed}; fixed seeds {FIXED_SEEDS[0]} to {FIXED_SEEDS[-1]}; "
          f"{len(failed_before())} seeds that failed before", flush=True)
    began = time.monotonic()
    desk = Desk(
        [row for row in ROWS if not told.rows or row.key in told.rows.split(",")],
        told.seed, began + told.minutes * 60,
    )
    workers = [threading.Thread(target=_serve, args=(desk,)) for _ in range(told.cores)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    well = table(desk.tallies)
    print(desk.seeds_played())
    print(f"{time.monotonic() - began:.0f} s of wall clock; seconds of one core by row: "
          + ", ".join(f"{key} {t.seconds:.0f}" for key, t in desk.tallies.items()))
    return 0 if well else 1


def _told(argv: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="tests.faults.gate", description="Run the fault gate.")
    parser.add_argument("--minutes", type=float, default=13.0, help="time for the whole (13)")
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(1000, 10**6))
    parser.add_argument("--cores", type=int, choices=(1, 2, 3, 4), default=2)
    parser.add_argument("--rows", default="", help="only these, by comma")
    return parser.parse_args(argv)


# what is to be done ------------------------------------------------------------

class Desk:
    """Hands out work to the workers, and gathers what it showed.

    Rows that are played whole come first, in their order; then each simulated
    row's seeds that failed before and its fixed ones; then fresh ones, row by
    row, until each has the runs that it is to have.
    """

    def __init__(self, rows: list[Row], seed: int, end: float) -> None:
        self.rows, self.seed, self.end = rows, seed, end
        self.tallies: dict[str, Tally] = {row.key: Tally() for row in rows}
        self._lock = threading.Lock()
        self._whole = [row for row in rows if row.run is not None]
        self._simulated = [row for row in rows if row.run is None]
        self._first = {row.key: [
            *(s for key, s in failed_before() if key == row.key), *FIXED_SEEDS,
        ] for row in self._simulated}
        self._fresh = {row.key: seed for row in self._simulated}
        #: Schedules that workers are playing just now, about.
        self._out: Counter = Counter()

    def next(self) -> dict | None:
        """Return the next piece of work, None when there is none or no time for it."""
        with self._lock:
            left = self.end - time.monotonic()
            if left <= 0:
                for row in self._whole:
                    self.tallies[row.key].notes["not reached in time"] += 1
                self._whole = []
                return None
            if self._whole:
                return {"row": self._whole.pop(0).key, "seeds": [], "seconds": left}
            for row in (r for r in self._simulated if self._first[r.key]):
                seeds, self._first[row.key] = (
                    self._first[row.key][:WORLDS_AT_ONCE], self._first[row.key][WORLDS_AT_ONCE:]
                )
                return self._worlds(row, seeds, left)
            for row in self._simulated:
                if self.tallies[row.key].runs + self._out[row.key] < row.target:
                    start = self._fresh[row.key]
                    self._fresh[row.key] = start + WORLDS_AT_ONCE
                    return self._worlds(row, list(range(start, start + WORLDS_AT_ONCE)), left)
            return None

    def _worlds(self, row: Row, seeds: list[int], left: float) -> dict:
        self._out[row.key] += len(seeds) * PROFILES[row.key].schedules
        return {"row": row.key, "seeds": seeds, "seconds": left}

    def seeds_played(self) -> str:
        """Say which seeds each simulated row played: those that failed before, the fixed, the fresh ones."""
        said = []
        for row in self._simulated:
            failed = [str(seed) for key, seed in failed_before() if key == row.key]
            fresh = f", fresh {self.seed} to {self._fresh[row.key] - 1}" if self._fresh[row.key] > self.seed else ""
            said.append(f"{row.key} {FIXED_SEEDS[0]} to {FIXED_SEEDS[-1]}{fresh}"
                        + (f", failed before {', '.join(failed)}" if failed else ""))
        return "seeds: " + "; ".join(said)

    def done(self, work: dict, tally: Tally) -> None:
        """Take in what a piece of work showed."""
        with self._lock:
            self.tallies[work["row"]].add(tally)
            if work["seeds"]:
                self._out[work["row"]] -= len(work["seeds"]) * PROFILES[work["row"]].schedules


def _serve(desk: Desk) -> None:
    """Keep one worker at work in a process of its own."""
    worker = subprocess.Popen(
        [sys.executable, "-m", "tests.faults.gate_work"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )
    assert worker.stdin and worker.stdout
    while work := desk.next():
        tally = Tally()
        try:
            worker.stdin.write(json.dumps(work) + "\n")
            worker.stdin.flush()
            values = json.loads(worker.stdout.readline())
            values["notes"] = Counter(values["notes"])
            tally = Tally(**values)
        except (OSError, ValueError):
            tally.broken.append(f"{work['row']} {work['seeds']}: the worker ended: a fault of the gate's, or of the program's")
            desk.done(work, tally)
            break
        desk.done(work, tally)
    worker.stdin.close()
    worker.wait()


def failed_before() -> list[tuple[str, int]]:
    """Return row and seed of every world that ever failed."""
    if not FAILED.exists():
        return []
    lines = [line.split("#")[0].split() for line in FAILED.read_text().splitlines()]
    return [(line[0], int(line[1])) for line in lines if line]


# the table ---------------------------------------------------------------------

def table(tallies: dict[str, Tally]) -> bool:
    """Print the table; tell whether everything held and every target was met."""
    print(f"{'':4} {'':37} {'runs':>6} {'faults':>7} {'lost':>5} {'doubled':>7} {'converged':>9} {'target':>10}  verdict")
    well = True
    for line in LINES:
        tally = tallies.get(line.row)
        if tally is None:
            continue
        faults = sum(tally.notes[n] for n in line.faults) if line.faults else tally.faults
        held = not (tally.broken or tally.lost or tally.doubled or tally.apart)
        missed = _missed(line, tally)
        together = 100.0 * (tally.runs - tally.apart) / tally.runs if tally.runs else 0.0
        verdict = ("met" if held and not missed else "MISSED: " + "; ".join(filter(None, (
            missed, "" if held else f"{len(tally.broken)} sentences below"))))
        well = well and held and not missed
        print(f"{line.name:4} {line.what:37} {tally.runs:6} {faults:7} {tally.lost:5} "
              f"{tally.doubled:7} {together:8.1f}% {line.target_text:>10}  {verdict}")
    for key, tally in tallies.items():
        print(f"  {key}: {dict(sorted(tally.notes.items()))}")
        for sentence in tally.broken[:12]:
            print(f"    {sentence}")
    return well


def _missed(line: Line, tally: Tally) -> str:
    not_run = [note for note in tally.notes if note.startswith("not run")]
    if not_run:
        return not_run[0]
    if line.wanted == "whole" and tally.notes["not reached in time"]:
        return f"time was up at {tally.runs} runs"
    reached = sum(tally.notes[n] for n in line.faults) if line.of_faults else tally.runs
    if line.target and reached < line.target:
        return f"{reached} of {line.target} in the time"
    return ""


if __name__ == "__main__":
    sys.exit(main())
