"""A worker of the gate: plays what it is told on its input, a line each, and says what it showed."""

from __future__ import annotations

import gc
import json
import os
import sys
import time

from tests.faults import rows_struck
from tests.faults.gate import failed_before
from tests.faults.gate_rows import FAILED, ROWS, STRIKING
from tests.faults.schedules import Ground, Tally, play_world


def main() -> None:
    """Work until nothing more is told."""
    ground = Ground()
    why_not = rows_struck.why_not()
    gc.freeze()
    rows = {row.key: row for row in ROWS}
    try:
        for line in sys.stdin:
            work = json.loads(line)
            row, tally = rows[work["row"]], Tally()
            until, began = time.monotonic() + work["seconds"], _seconds()
            if why_not and row.run in STRIKING:
                tally.notes[f"not run: {why_not}"] += 1
            elif row.run is not None:
                try:
                    row.run(ground, tally, until)
                except Exception as error:  # a row that falls over is a fault, not the end of the gate
                    tally.broken.append(f"{row.key}: {type(error).__name__}: {error}"[:300])
            else:
                _worlds(ground, row.key, work["seeds"], tally, until)
            tally.seconds = _seconds() - began
            print(json.dumps(vars(tally)), flush=True)
    finally:
        ground.close()


def _worlds(ground: Ground, row: str, seeds: list[int], tally: Tally, until: float) -> None:
    gc.disable()  # worlds are short; what one leaves is taken away before the next
    for seed in seeds:
        if time.monotonic() > until:
            break
        broken = len(tally.broken)
        try:
            play_world(ground, row, seed, tally, until)
        except Exception as error:  # so does a world that falls over
            tally.broken.append(f"{row} seed {seed}: {type(error).__name__}: {error}"[:300])
        if len(tally.broken) > broken:
            _keep_failed(row, seed, tally.broken[broken])
        gc.collect()
    gc.enable()


def _keep_failed(row: str, seed: int, sentence: str) -> None:
    if (row, seed) not in failed_before():
        with FAILED.open("a") as file:
            file.write(f"{row} {seed}  # {sentence[:160]}\n")


def _seconds() -> float:
    """Processor seconds of this process and of those it has waited for."""
    return sum(os.times()[:4])


if __name__ == "__main__":
    main()
