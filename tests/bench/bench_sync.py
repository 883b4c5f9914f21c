"""What syncing costs: this project beside a bare ASGI and SQLite route, in one run.

    .venv/bin/python tests/bench/bench_sync.py [--entries 1000] [--held 1000,10000,100000] [--rounds 3] [--json FILE]

Each side has a process for its client and one for its server; they take turns
at each level of what is held.  Both servers and both clients commit to the
disk, with a write-ahead log and synchronous=FULL, before they go on.  Bytes are
requests and answers with their heads, without TCP.  Nothing here is a test.
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
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

SIDES = ("ours", "bare")
#: Heading, figure, what it is multiplied by, and how it is written.
COLUMNS = (
    ("ms", "seconds", 1000, "{:.0f}"), ("client ms", "client_cpu", 1000, "{:.0f}"),
    ("server ms", "server_cpu", 1000, "{:.0f}"), ("asked", "requests", 1, "{:.0f}"),
    ("KB up", "up", 1 / 1000, "{:.1f}"), ("KB down", "down", 1 / 1000, "{:.1f}"),
    ("MiB client", "client_mib", 1, "{:.0f}"), ("MiB server", "server_mib", 1, "{:.0f}"),
)
_WIDTH = 17


class Side:
    """One side's client, in a process of its own; it is told what to do line by line."""

    def __init__(self, name: str, folder: Path, entries: int, rounds: int) -> None:
        self._process = subprocess.Popen(
            [sys.executable, __file__, "--side", name, "--folder", str(folder / name),
             "--entries", str(entries), "--rounds", str(rounds)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )

    def do(self, what: str, figure: int = 0) -> Any:
        """Have it do something and return what it says."""
        assert self._process.stdin is not None and self._process.stdout is not None
        print(what, figure, file=self._process.stdin, flush=True)
        told = self._process.stdout.readline()
        if not told:
            raise SystemExit(f"the side that was to {what} ended: see above")
        return json.loads(told)


def work_as(name: str, folder: Path, entries: int, rounds: int) -> None:
    """Be one side: do what each line of the standard input says."""
    if name == "ours":
        from tests.bench.sync_ours import Ours as Worked
    else:
        from tests.bench.sync_bare import Bare as Worked  # type: ignore[assignment]
    side = Worked(folder, entries, rounds)
    for line in sys.stdin:
        what, figure = line.split()
        if what == "fill":
            told: Any = side.fill(int(figure))
        elif what == "measure":
            told = [
                {"case": case.name, "items": case.items, "rounds": case.figures,
                 "middle": {name: case.middle(name) for name in case.figures}}
                for case in side.measure().cases.values()
            ]
        else:
            told = side.close()
        print(json.dumps(told), flush=True)


def table(level: int, cases: list[tuple[dict, dict]]) -> str:
    """Return what was measured at one level, ours before the bare one's in each column."""
    heads = ["items a second", *(heading for heading, *_ in COLUMNS)]
    lines = [f"{f'{level} held':34}" + "".join(f"{head:>{_WIDTH}}" for head in heads)]
    for own, other in cases:
        found = [_pair(own, other, _rate)]
        for _, figure, times, form in COLUMNS:
            found.append(_pair(own, other, lambda case: form.format(case["middle"][figure] * times)))
        lines.append(f"{own['case']:34}" + "".join(f"{text:>{_WIDTH}}" for text in found))
    return "\n".join(lines)


def _pair(own: dict, other: dict, word: Any) -> str:
    return f"{word(own)} | {word(other)}"


def _rate(case: dict) -> str:
    return f"{case['items'] / case['middle']['seconds']:.0f}" if case["items"] else "-"


def main() -> None:
    """Measure both sides at each level and print a table for each."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--entries", type=int, default=1000, help="how many are pushed and pulled at once")
    parser.add_argument("--held", default="1000,10000,100000", help="growth: how many entries are held, by comma")
    parser.add_argument("--rounds", type=int, default=3, help="each case so often; the median is shown")
    parser.add_argument("--json", type=Path, help="also write every round's figures to this file")
    parser.add_argument("--side", choices=SIDES, help=argparse.SUPPRESS)
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    told = parser.parse_args()
    if told.side:
        work_as(told.side, told.folder, told.entries, told.rounds)
        return
    began, kept = time.monotonic(), []
    print("Each figure: ours | bare, the median of the rounds; of memory the most.  ms is time that passed,")
    print("client ms and server ms are of the processor.  Load at the start: "
          f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores.")
    with tempfile.TemporaryDirectory(prefix="bench-sync-") as folder:
        sides = [Side(name, Path(folder), told.entries, told.rounds) for name in SIDES]
        for level in sorted(int(text) for text in told.held.split(",")):
            filled = time.monotonic()
            for side in sides:
                side.do("fill", level)
            filled = time.monotonic() - filled
            own, other = (side.do("measure") for side in sides)
            print(f"\n{table(level, list(zip(own, other, strict=True)))}", flush=True)
            print(f"filled in {filled:.0f} s; load now {os.getloadavg()[0]:.1f}", flush=True)
            kept.append({"held": level, "ours": own, "bare": other})
        print()
        for name, side in zip(SIDES, sides, strict=True):
            print(f"{name}: {side.do('end')}")
    print(f"{time.monotonic() - began:.0f} s in all")
    if told.json:
        told.json.write_text(json.dumps(kept))


if __name__ == "__main__":
    main()
