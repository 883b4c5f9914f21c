"""How long a change of the staff list keeps others waiting, with very many fittings on PostgreSQL.

    PYTHONPATH=. .venv/bin/python tests/bench/bench_judging.py [--fittings 2000] [--whole 2000] [--seconds 30]

A name that every verdict rests on is changed.  Printed: how long the change
itself took (all others of the clinic wait for that), how fast the fittings are
judged anew beside serving, how long a piece takes (no push waits for more), and
what a push of one entry and the morning list take meanwhile, beside the same
before.  Figures as read: ``docs/page-speed.md``.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import tempfile
import time
from pathlib import Path
from typing import Callable

from shared_models.entries.envelope import Subject
from sync_server.services.judging import JudgingAnew
from tests import own_postgres
from tests.bench.bench_page import build
from tests.fitting_desk import CLINIC, PROSTHETIST, TECHNICIAN
from tests.sync_server.conftest import House, JoinedDesk, Tablet


def rename(house: House, staff: str, name: str) -> float:
    """Change a name in the staff list; return how long that took, in ms."""
    began = time.perf_counter()
    with house.station.writing(CLINIC) as reading:
        known = dict(reading.staff_record().staff_body(staff))
        house.station.record_facts(reading, [("staff", Subject("staff", staff), {**known, "name": name})])
    return (time.perf_counter() - began) * 1000


def timed(what: str, ask: Callable[[], object], until: Callable[[list[float]], bool]) -> None:
    """Ask again and again; print median and the 95th of a hundred."""
    found: list[float] = []
    while not until(found):
        began = time.perf_counter()
        assert ask().status_code == 200, what
        found.append((time.perf_counter() - began) * 1000)
    worst = sorted(found)[min(len(found) - 1, int(len(found) * 0.95))]
    print(f"- {what}: {statistics.median(found):.0f} ms in the median, p95 {worst:.0f}, most {max(found):.0f} ({len(found)} times)", flush=True)


def pushing(tablet: Tablet) -> Callable[[], object]:
    """A push of one entry of a fitting that has little else."""
    small = Subject("fitting", "bench-small")
    tablet.desk.note("opened", {"person": "bench-small-person", "prosthetist": PROSTHETIST, "side": "left"}, subject=small)

    def push() -> object:
        made = tablet.desk.note("body", {"body_mass_kg": "80.0", "carried_load_kg": "0"}, subject=small, settles=True)
        return tablet.push([made])

    assert tablet.push(tablet.own()[-1:]).status_code == 200
    return push


def main() -> None:
    """Build, change, judge, print."""
    told = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    told.add_argument("--fittings", type=int, default=2_000)
    told.add_argument("--whole", type=int, default=2_000)
    told.add_argument("--seconds", type=float, default=30)
    asked = told.parse_args()
    postgres = own_postgres.start("bench", str(os.getpid()))
    folder = Path(tempfile.mkdtemp(prefix="stancebook-bench-"))
    try:
        print(f"load before: {os.getloadavg()[0]:.1f}", flush=True)
        house, _ = build(folder, postgres.url(postgres.database()), asked.fittings, asked.whole)
        run(house, asked.seconds)
        house.station.store.close()
        print(f"load after: {os.getloadavg()[0]:.1f}")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run(house: House, seconds: float) -> None:
    """Measure before, the change, and what goes on beside the judging."""
    client, station = house.lead().client, house.station
    tablet = house.tablet(JoinedDesk("tablet-of-pushes"))
    tablet.take_all()
    push = pushing(tablet)
    timed("a push of one entry, before", push, lambda found: len(found) >= 20)
    timed("the morning list, before", lambda: client.get("/fittings"), lambda found: len(found) >= 20)
    took = rename(house, TECHNICIAN, "Somebody Renamed (invented)")
    marked = station.left_to_judge()
    print(f"- the change itself, with {marked} fittings marked: {took:.0f} ms", flush=True)
    timed("the morning list, nothing judged yet", lambda: client.get("/fittings"), lambda found: len(found) >= 20)
    pieces = []
    for _ in range(5):
        began = time.perf_counter()
        station.judge_piece(CLINIC)
        pieces.append((time.perf_counter() - began) * 1000)
    print(f"- a piece of {len(station.judge_piece(CLINIC))}: {statistics.median(pieces):.0f} ms in the median, most {max(pieces):.0f}")
    with JudgingAnew(station):
        left, began = station.left_to_judge(), time.perf_counter()
        timed("a push of one entry, meanwhile", push, lambda _: time.perf_counter() - began > seconds / 2)
        timed("the morning list, meanwhile", lambda: client.get("/fittings"), lambda _: time.perf_counter() - began > seconds)
        done, took_s = left - station.left_to_judge(), time.perf_counter() - began
    print(f"- judged beside that: {done} of {marked} in {took_s:.0f} s, {took_s / max(done, 1) * 1000:.0f} ms each; "
          f"100 000 so: {took_s / max(done, 1) * 100_000 / 60:.0f} min", flush=True)


if __name__ == "__main__":
    main()
