"""What an archive costs in memory: written, verified and taken, at growing sizes, in one run.

    .venv/bin/python tests/bench/bench_archive.py [--held 5000,20000]

Each command is a process of its own; memory is the most that it ever held.  A
command that does nothing with entries (``--openapi``) stands
beside, so that what grows with the record can be told from what doesn't.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.bench.sync_ours import Ours  # noqa: E402


def run(*words: str) -> tuple[float, float]:
    """Run one command to its end; return the most memory it held (MiB) and how long it took (s)."""
    began = time.perf_counter()
    process = subprocess.Popen([sys.executable, "-m", "shared_models.command", *words], cwd=ROOT, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    if status:
        raise SystemExit(f"{' '.join(words)} ended with {os.waitstatus_to_exitcode(status)}")
    return used.ru_maxrss / 1024, time.perf_counter() - began


def measured(held: int) -> str:
    """Return one line of the table."""
    with tempfile.TemporaryDirectory(prefix="stancebook-archive-bench-") as name:
        folder = Path(name)
        ours = Ours(folder, 0, 1)
        ours.fill(held)
        print(ours.close(), file=sys.stderr)
        store, archive = str(folder / "server" / "stancebook.server"), folder / "archive.zip"
        bare = run("server", "--store", str(folder / "bare.sqlite"), "--openapi")
        cases = {
            "write": run("server", "--store", store, "--archive", str(archive)),
            "verify": run("verify", str(archive)),
            "verify the store": run("verify", store),
            "take": run("server", "--store", str(folder / "fresh.sqlite"), "--take-archive", str(archive)),
        }
        mib = archive.stat().st_size / 1024 / 1024
        told = " | ".join(f"{most:.0f} MiB ({most / bare[0]:.1f}), {took:.0f} s" for most, took in cases.values())
        return f"| {held} | {mib:.0f} | {bare[0]:.0f} MiB | {told} |"


def main() -> None:
    """Measure every size and print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--held", default="5000,20000", help="how many entries, with commas between")
    told = parser.parse_args()
    print("| entries | archive, MiB | bare command | write (times bare) | verify | verify the store | take |")
    print("|---|---|---|---|---|---|---|")
    for held in told.held.split(","):
        print(measured(int(held)), flush=True)


if __name__ == "__main__":
    main()
