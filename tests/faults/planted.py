"""Plant two dozen bugs one at a time, each in a process of its own; each must be caught.

    .venv/bin/python -m tests.faults.planted [--only NAME] [--cores 2]

Ends with 0 where every one was caught by at least one row.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

from tests.faults import rows_power, rows_stores, rows_struck, rows_wire
from tests.faults.gate_rows import ROWS
from tests.faults.plants import PLANTS, Plant
from tests.faults.schedules import Ground, PROFILES, Tally, play_world

#: The longest that one bug may take to be caught (seconds).
LONGEST_S = 90.0


def main(argv: list[str] | None = None) -> int:
    """Plant, play, and say by which row and sentence each bug was caught."""
    parser = argparse.ArgumentParser(prog="tests.faults.planted")
    parser.add_argument("--only", default="")
    parser.add_argument("--cores", type=int, default=2, help="how many at a time (2)")
    parser.add_argument("--child", default="", help=argparse.SUPPRESS)
    told = parser.parse_args(argv)
    if told.child:
        return _child(told.child)
    plants = [p for p in PLANTS if told.only in ("", p.name)]
    began, caught = time.monotonic(), 0
    with ThreadPoolExecutor(told.cores) as pool:
        for plant, found in zip(plants, pool.map(_played, plants)):
            caught += found["caught"]
            word = "caught" if found["caught"] else "NOT CAUGHT"
            print(f"{word:10} {plant.name:34} {plant.row:14} {found['sentence'][:150]}", flush=True)
    print(f"{caught} of {len(plants)} caught in {time.monotonic() - began:.0f} s")
    return 0 if caught == len(plants) else 1


def _played(plant: Plant) -> dict:
    """Play one bug in a process of its own; tell whether it was caught, and by which sentence."""
    try:
        done = subprocess.run(
            [sys.executable, "-m", "tests.faults.planted", "--child", plant.name],
            capture_output=True, text=True, timeout=LONGEST_S * 4,
        )
        found: dict = json.loads(done.stdout.splitlines()[-1])
        return found
    except (subprocess.TimeoutExpired, ValueError, IndexError) as error:
        return {"caught": False, "sentence": f"the child failed: {error}"}


def _child(name: str) -> int:
    plant = next(p for p in PLANTS if p.name == name)
    # Stores and first entries are made by the sound program.
    ground = Ground()
    try:
        plant.put()
        tally = Tally()
        _play(ground, plant.row, tally)
        sentence = tally.broken[0] if tally.broken else "nothing was noticed"
        print(json.dumps({"caught": bool(tally.broken), "sentence": sentence}))
    finally:
        ground.close()
    return 0


def _play(ground: Ground, row: str, tally: Tally) -> None:
    until = time.monotonic() + LONGEST_S
    if row in PROFILES:
        seed = 1
        while not tally.broken and time.monotonic() < until:
            try:
                play_world(ground, row, seed, tally, until)
            except Exception as error:  # a bug may also make a row fall over: that is noticed too
                tally.broken.append(f"{row} seed {seed}: {type(error).__name__}: {error}"[:300])
            seed += 1
        return
    few = {
        "power_lost": lambda: rows_power.power_lost(ground, tally, until, 1500),
        "repeated": lambda: rows_wire.repeated(ground, tally, until, 3),
        "damaged": lambda: rows_wire.damaged(ground, tally, until, 7),
        "tampered": lambda: rows_stores.tampered(ground, tally, until, 60),
        "damaged_pages": lambda: rows_stores.damaged_pages(ground, tally, until, 60),
        "old_schemas": lambda: rows_stores.old_schemas(ground, tally, until),
        "killed_server": lambda: rows_struck.killed_server(ground, tally, until),
        "killed_tablet": lambda: rows_struck.killed_tablet(
            ground, tally, until, actions=["a fitting is signed off"]
        ),
        "failed_sync": lambda: rows_struck.failed_sync(ground, tally, until),
    }
    assert row in {r.key for r in ROWS}
    try:
        few[row]()
    except Exception as error:
        tally.broken.append(f"{row}: {type(error).__name__}: {error}"[:300])


if __name__ == "__main__":
    sys.exit(main())
