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
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Callable

from tests.faults import rows_elsewhere, rows_link, rows_power, rows_stores, rows_struck, rows_wire
from tests.faults.schedules import Ground, Tally, play_world

FAILED = Path(__file__).with_name("seeds_that_failed.txt")
#: Seeds of worlds that every gate plays first, before fresh ones.
FIXED_SEEDS = tuple(range(1, 25))


@dataclass(frozen=True)
class Row:
    """A row that a worker runs: ``share`` is its part of the worker's time.

    ``part`` is the worker that runs it where there are two, None for both.
    """

    key: str
    share: float
    part: int | None
    target: int
    run: Callable[..., None] | None = None


#: A world's simulated rows come last and take the time that is left.
ROWS = (
    Row("killed_tablet", 15, 0, 0, rows_struck.killed_tablet),
    Row("killed_server", 11, 0, 0, rows_struck.killed_server),
    Row("full_disk", 13, 0, 0, rows_struck.full_disk),
    Row("failed_sync", 2, 0, 0, rows_struck.failed_sync),
    Row("power_lost", 8, 1, 10_000, rows_power.power_lost),
    Row("repeated", 2, 1, 200, rows_wire.repeated),
    Row("damaged", 5, 1, 0, rows_wire.damaged),
    Row("old_schemas", 6, 1, 0, rows_stores.old_schemas),
    Row("damaged_pages", 7, 1, 0, rows_stores.damaged_pages),
    Row("tampered", 8, 1, 1000, rows_stores.tampered),
    Row("weak_link", 8, 1, 0, rows_link.weak_link),
    Row("photos_cut", 5, 1, 500, rows_elsewhere.tests_beside("photos_cut")),
    Row("fuzzed", 5, 0, 1000, rows_elsewhere.tests_beside("fuzzed")),
    Row("who_may", 4, 0, 0, rows_elsewhere.tests_beside("who_may")),
    Row("by_stick", 2, 1, 0, rows_elsewhere.tests_beside("by_stick")),
    Row("cloned", 7, None, 1000), Row("restored", 12, None, 1000),
    Row("clocks", 9, None, 2000), Row("revoked", 1, None, 100), Row("mixed", 31, None, 10_000),
)


@dataclass(frozen=True)
class Line:
    """A line of the table: a row of the matrix, and what counts for it."""

    name: str
    what: str
    row: str
    faults: tuple[str, ...] = ()
    target: int = 0
    wanted: str = ""


LINES = (
    Line("F1", "requests and answers lost", "mixed", ("drop_request", "drop_response"), 10_000),
    Line("F2", "doubled and replayed", "mixed", ("duplicate", "replay"), 10_000),
    Line("F2", "one push again and again", "repeated", (), 200),
    Line("F3", "late and out of order", "mixed", ("late", "old_page"), 10_000),
    Line("F4", "cut and flipped, in schedules", "mixed",
         ("cut_request", "flip_request", "cut_response", "flip_response", "broken_off")),
    Line("F4", "each 64th byte of a batch of 100", "damaged", wanted="whole"),
    Line("F5", "tablet killed at each write", "killed_tablet", wanted="whole"),
    Line("F6", "server killed at each write", "killed_server", wanted="whole"),
    Line("F7", "power lost, states of the disk", "power_lost", (), 10_000),
    Line("F8", "disk full from each write on", "full_disk", wanted="whole"),
    Line("F9", "each sync to the disk fails", "failed_sync", wanted="whole"),
    Line("F10", "clocks wrong, jumping", "clocks", ("clock_jump",), 2000),
    Line("F11", "old schemas, killed migration", "old_schemas", wanted="whole"),
    Line("F12", "server restored from older copy", "restored", ("restore",), 1000),
    Line("F13", "cloned tablet", "cloned", ("clones that both went on",), 1000),
    Line("F14", "two change and sign the same", "mixed", (), 10_000),
    Line("F15", "every route by everybody who may not", "who_may", wanted="whole"),
    Line("F15", "access taken away in schedules", "revoked", ("revoke",), 100),
    Line("F16", "photos, the line cut at random", "photos_cut", (), 500),
    Line("F17", "fuzzed batches", "fuzzed", (), 1000),
    Line("F18", "each page of a tablet's file", "damaged_pages", wanted="whole"),
    Line("F19", "carried by stick", "by_stick", wanted="whole"),
    Line("F20", "tampered histories of 1000 rows", "tampered", (), 1000),
    Line("F21", "weeks offline, weak link", "weak_link", wanted="whole"),
)

def main(argv: list[str] | None = None) -> int:
    """Run the gate; print the table."""
    told = _told(argv)
    if told.part is not None:
        _work(told)
        return 0
    print(f"fresh seed {told.seed}; fixed seeds {FIXED_SEEDS[0]} to {FIXED_SEEDS[-1]}; "
          f"{len(_failed_before())} seeds that failed before", flush=True)
    began = time.monotonic()
    workers = [
        subprocess.Popen([
            sys.executable, "-m", "tests.faults.gate", "--part", str(part), "--cores",
            str(told.cores), "--seed", str(told.seed), "--minutes", str(told.minutes),
            *(["--rows", told.rows] if told.rows else []),
        ], stdout=subprocess.PIPE, text=True)
        for part in range(told.cores)
    ]
    tallies: dict[str, Tally] = {}
    for worker in workers:
        for line in worker.communicate()[0].splitlines():
            key, values = json.loads(line)
            values["notes"] = Counter(values["notes"])
            tallies.setdefault(key, Tally()).add(Tally(**values))
    well = table(tallies) and all(w.returncode == 0 for w in workers)
    print(f"{time.monotonic() - began:.0f} s of wall clock, "
          f"{sum(t.seconds for t in tallies.values()):.0f} s of processor in simulated rows")
    return 0 if well else 1


def _told(argv: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="tests.faults.gate", description="Run the fault gate.")
    parser.add_argument("--minutes", type=float, default=13.0, help="time for the whole (13)")
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(1000, 10**6))
    parser.add_argument("--cores", type=int, choices=(1, 2), default=2)
    parser.add_argument("--rows", default="", help="only these, by comma")
    parser.add_argument("--part", type=int, default=None, help=argparse.SUPPRESS)
    return parser.parse_args(argv)


# a worker ----------------------------------------------------------------------

def _work(told: argparse.Namespace) -> None:
    mine = [
        row for row in ROWS
        if (not told.rows or row.key in told.rows.split(","))
        and (told.cores == 1 or row.part in (None, told.part))
    ]
    end = time.monotonic() + told.minutes * 60
    ground = Ground()
    why_not = rows_struck.why_not()
    try:
        for place, row in enumerate(mine):
            left = end - time.monotonic()
            until = time.monotonic() + left * row.share / sum(r.share for r in mine[place:])
            tally = Tally()
            if why_not and row.run in (
                rows_struck.killed_tablet, rows_struck.killed_server, rows_struck.full_disk,
                rows_struck.failed_sync, rows_power.power_lost,
            ):
                tally.notes[f"not run: {why_not}"] += 1
            elif row.run is not None:
                row.run(ground, tally, until)
            else:
                _worlds(ground, row, told, tally, until)
            print(json.dumps([row.key, vars(tally)]), flush=True)
    finally:
        ground.close()


def _worlds(ground: Ground, row: Row, told: argparse.Namespace, tally: Tally, until: float) -> None:
    again = [seed for key, seed in _failed_before() if key == row.key]
    seeds = [*again, *FIXED_SEEDS] if told.minutes >= 1 else list(FIXED_SEEDS)
    number = 0
    while tally.runs < row.target / told.cores and time.monotonic() < until:
        # Two workers share the seeds: one takes the even places, one the odd.
        place = number * told.cores + told.part
        seed = seeds[place] if place < len(seeds) else told.seed + place
        broken = len(tally.broken)
        play_world(ground, row.key, seed, tally, until)
        if len(tally.broken) > broken:
            _keep_failed(row.key, seed, tally.broken[broken])
        number += 1


def _failed_before() -> list[tuple[str, int]]:
    if not FAILED.exists():
        return []
    lines = [line.split("#")[0].split() for line in FAILED.read_text().splitlines()]
    return [(line[0], int(line[1])) for line in lines if line]


def _keep_failed(row: str, seed: int, sentence: str) -> None:
    if (row, seed) not in _failed_before():
        with FAILED.open("a") as file:
            file.write(f"{row} {seed}  # {sentence[:160]}\n")


# the table ---------------------------------------------------------------------

def table(tallies: dict[str, Tally]) -> bool:
    """Print the table; tell whether everything held and every target was met."""
    print(f"{'':4} {'':37} {'runs':>6} {'faults':>7} {'lost':>5} {'doubled':>7} {'converged':>9}  target")
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
              f"{tally.doubled:7} {together:8.1f}%  {verdict}")
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
    if line.target and tally.runs < line.target:
        return f"{tally.runs} of {line.target} in the time"
    return ""


if __name__ == "__main__":
    sys.exit(main())
