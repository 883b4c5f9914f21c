"""The tablet with thousands of fittings on it, beside a bare window and a bare commit.

    .venv/bin/python tests/bench/bench_tablet.py [--sizes 200,2000,20000] [--rounds 7] [--json]

Everything is measured in one run on one machine, so read the ratios.  Starts
are processes of their own, a bare one and one of the app by turns; both draw
off screen, where a software OpenGL keeps no frames waiting (LP_NUM_THREADS=0:
what it would hold for its threads is not the program's).  What follows the PIN
runs without OpenGL, so the times of frames are those of our code alone.
Nothing here is a test: pytest does not collect it, and no time is asserted.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

CHILD = Path(__file__).with_name("tablet_child.py")
STARTED_WITH = 2_000
#: What was wished for before anything was measured.
GOALS = {"start": 1.8, "memory": 1.8, "save": 2.0, "frame_ms": 50.0}


def child(*arguments: str) -> dict:
    """Run one measurement; return all that it said."""
    environment = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "LP_NUM_THREADS": "0"}
    done = subprocess.run(
        [sys.executable, str(CHILD), *arguments], env=environment, capture_output=True, text=True, check=False,
    )
    said: dict = {}
    for line in done.stdout.splitlines():
        if line.startswith("{"):
            said |= json.loads(line)
    if done.returncode or not said:
        raise SystemExit(f"{' '.join(arguments)} failed:\n{done.stdout}\n{done.stderr[-2000:]}")
    return said


def starts(folder: Path, rounds: int) -> dict:
    """Bare window and app by turns; medians and their ratios."""
    bare, app = [], []
    for _ in range(rounds):
        bare.append(child("bare", str(time.time())))
        app.append(child("app", str(time.time()), str(folder)))
    figures = {
        name: (median(b[name] for b in bare), median(a[name] for a in app))
        for name in ("start_s", "memory_mib")
    }
    return {
        "bare_start_s": figures["start_s"][0], "app_start_s": figures["start_s"][1],
        "start_ratio": figures["start_s"][1] / figures["start_s"][0],
        "bare_memory_mib": figures["memory_mib"][0], "app_memory_mib": figures["memory_mib"][1],
        "memory_ratio": figures["memory_mib"][1] / figures["memory_mib"][0],
    }


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", default="200,2000,20000")
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--stores", type=Path, default=None, help="keep the made stores here for the next run")
    options = parser.parse_args()
    from tests.bench.big_clinic import make

    stores = options.stores or Path(tempfile.mkdtemp(prefix="stancebook-bench-"))
    measured: dict = {"goals": GOALS, "sizes": {}}
    for size in (int(n) for n in options.sizes.split(",")):
        folder = stores / str(size)
        if not folder.exists():
            print(f"making a store of {size} fittings ...", file=sys.stderr)
            make(folder, size)
        if size == STARTED_WITH:
            measured["start"] = starts(folder, options.rounds)
        measured["sizes"][size] = child("work", str(folder))
    print(json.dumps(measured, indent=1) if options.json else table(measured))
    return 0


def table(measured: dict) -> str:
    """Return the figures as a table to be read."""
    lines = []
    if "start" in measured:
        s = measured["start"]
        lines += [
            f"with {STARTED_WITH} fittings      bare window   app     ratio   wished",
            f"start to usable page, s   {s['bare_start_s']:8.3f}  {s['app_start_s']:8.3f}  {s['start_ratio']:6.2f}   {GOALS['start']}",
            f"memory, MiB               {s['bare_memory_mib']:8.0f}  {s['app_memory_mib']:8.0f}  {s['memory_ratio']:6.2f}   {GOALS['memory']}", "",
        ]
    lines.append("fittings                       " + "".join(f"{size:>12}" for size in measured["sizes"]))
    rows = [
        ("PIN to list, s", lambda w: f"{w['pin_to_list_s']:.2f}"),
        ("opening the store, s", lambda w: f"{w['open_store_s']:.2f}"),
        ("scrolling, median frame, ms", lambda w: f"{w['scroll_frames']['median_ms']:.1f}"),
        ("scrolling, worst frame, ms", lambda w: f"{w['scroll_frames']['worst_ms']:.1f}"),
        ("search, worst key, ms", lambda w: f"{w['search_key']['worst_ms']:.1f}"),
        ("search, worst frame, ms", lambda w: f"{w['search_frames']['worst_ms']:.1f}"),
        ("opening a fitting, median, ms", lambda w: f"{w['open_fitting']['median_ms']:.0f}"),
        ("tap to durable save, median, ms", lambda w: f"{w['save']['median_ms']:.2f}"),
        ("bare durable commit, median, ms", lambda w: f"{w['bare_commit']['median_ms']:.2f}"),
        ("their ratio", lambda w: f"{w['save_ratio']:.2f}"),
        ("memory with the list, MiB", lambda w: f"{w['memory_list_mib']:.0f}"),
        ("memory at the end, MiB", lambda w: f"{w['memory_end_mib']:.0f}"),
    ]
    for words, value in rows:
        lines.append(f"{words:<31}" + "".join(f"{value(w):>12}" for w in measured["sizes"].values()))
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
