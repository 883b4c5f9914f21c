"""How long the review page takes with very many fittings on PostgreSQL, beside the database's own time.

    PYTHONPATH=. .venv/bin/python tests/bench/bench_page.py [--fittings 100000] [--whole 1000] [--times 40]

The server's time is that of a whole answer of the application, template and
audit rows included, without a socket between.  The database's own time is the
sum of the answer's statements, each timed from being sent to its result being
there; for the parts of the list and the recall search stands what
``EXPLAIN ANALYZE`` says of the same SQL as well.  How the data are made:
``big_server.py``.  Figures as read: ``docs/page-speed.md``.
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

from sqlalchemy import event, text

from tests import own_postgres
from tests.bench.big_server import Copy, chosen, grow, lists_are_whole, original
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import House, JoinedDesk, make_house

#: What an answer may take in the server at most, the 95th of a hundred, in ms, on a quiet machine of two
#: cores: about twice what was seen there (``docs/page-speed.md``).
BOUND_MS = {
    "morning list": 200, "morning list, accepted": 200, "morning list, accepted, far down": 200,
    "morning list, a file number searched": 100, "morning list, a given name searched (one in ten)": 600,
    "morning list, one prosthetist of eight": 120, "recall search, one serial": 50, "one fitting": 250,
    "recall search, a component that everybody has": 800, "its call list as CSV, all lines": 12_000,
    "one sheet, with who used which version": 800, "all sheets": 80, "people and tablets": 60,
    "one fitting, trials.csv": 120, "one fitting, record.pdf": 800, "one fitting, fhir.json": 2_000,
}


class Watched:
    """How long the database took for the statements since it was last asked, in ms, and which they were."""

    def __init__(self, engine) -> None:
        self.ms, self.statements = 0.0, []
        event.listen(engine, "before_cursor_execute", self._before)
        event.listen(engine, "after_cursor_execute", self._after)

    def _before(self, _connection, _cursor, _statement, _parameters, context, _many) -> None:
        context._began = time.perf_counter()

    def _after(self, _connection, _cursor, statement, parameters, context, many) -> None:
        self.ms += (time.perf_counter() - context._began) * 1000
        if not many:
            self.statements.append((statement, parameters))

    def taken(self) -> tuple[float, list]:
        """Return what was counted, and begin anew."""
        found = self.ms, self.statements
        self.ms, self.statements = 0.0, []
        return found


def measured(what: str, ask: Callable[[int], object], watch: Watched, times: int) -> list:
    """Ask so often; print the row of the table; return the statements of the last."""
    server, database, statements = [], [], []
    for number in range(times + 3):
        watch.taken()
        began = time.perf_counter()
        answer = ask(number)
        took = (time.perf_counter() - began) * 1000
        assert answer.status_code == 200, (what, answer.status_code)
        ms, statements = watch.taken()
        if number >= 3:  # the first ones warm templates and caches
            server.append(took)
            database.append(ms)
    worst = _p95(server)
    limit = BOUND_MS.get(what)
    bound = f"{limit} ({'met' if worst <= limit else 'MISSED'})" if limit else ""
    print(f"| {what} | {statistics.median(server):.0f} | {worst:.0f} | {statistics.median(database):.0f} "
          f"| {_p95(database):.0f} | {len(statements)} | {bound} |", flush=True)
    return statements


def _p95(found: list[float]) -> float:
    return sorted(found)[min(len(found) - 1, int(len(found) * 0.95))]


def explained(house: House, what: str, statements: list, table: str) -> None:
    """Print what the database says of its own time for the statements over a table."""
    ms = 0.0
    with house.station.store.reading() as connection:
        for statement, parameters in statements:
            if table in statement and statement.lstrip().upper().startswith("SELECT"):
                rows = connection.exec_driver_sql("EXPLAIN ANALYZE " + statement, parameters).scalars().all()
                ms += sum(float(row.split()[2]) for row in rows if row.startswith(("Execution Time", "Planning Time")))
    print(f"- {what}: EXPLAIN ANALYZE over `{table}`, planning and running together, {ms:.1f} ms", flush=True)


def build(folder: Path, url: str, count: int, whole: int) -> tuple[House, list[Copy]]:
    """Make the server and its fittings; print what there is and how long it took."""
    began = time.perf_counter()
    house = make_house(folder, url)
    tablet = house.tablet(JoinedDesk())
    desk = original(tablet)
    assert tablet.push().status_code == 200
    with house.station.store.writing() as connection:
        copies = grow(connection, desk, count, whole)
    with house.station.store.reading() as connection:
        assert lists_are_whole(connection)
    engine = house.station.store.engine
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("VACUUM ANALYZE"))
        rows = {t: connection.scalar(text(f"SELECT count(*) FROM {t}")) for t in ("read_standing", "read_component", "entry")}
        size = connection.scalar(text("SELECT pg_size_pretty(pg_database_size(current_database()))"))
    print(f"{rows['read_standing']} fittings, {rows['read_component']} parts, {rows['entry']} entries "
          f"({whole} fittings whole), {size}; made in {time.perf_counter() - began:.0f} s", flush=True)
    return house, copies


def some_sheet(house: House) -> str:
    """The sheet of which most parts are built in: nearly everybody has one."""
    with house.station.store.reading() as connection:
        return connection.scalar(text("SELECT sheet FROM read_component GROUP BY sheet ORDER BY count(*) DESC, sheet LIMIT 1"))


def main() -> None:
    """Build, ask, print."""
    told = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    told.add_argument("--fittings", type=int, default=100_000)
    told.add_argument("--whole", type=int, default=1_000)
    told.add_argument("--times", type=int, default=40)
    asked = told.parse_args()
    postgres = own_postgres.start("bench", str(os.getpid()))
    folder = Path(tempfile.mkdtemp(prefix="stancebook-bench-"))
    try:
        print(f"load before: {os.getloadavg()[0]:.1f}", flush=True)
        house, copies = build(folder, postgres.url(postgres.database()), asked.fittings, asked.whole)
        run(house, copies, asked.whole, asked.times)
        house.station.store.close()
        print(f"load after: {os.getloadavg()[0]:.1f}")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run(house: House, copies: list[Copy], whole: int, times: int) -> None:
    """Ask for each page so often, and print the tables."""
    few = min(times, 12)
    client, watch = house.lead().client, Watched(house.station.store.engine)
    some, opened = chosen(copies, times + 3), chosen(copies[:whole], min(whole, times + 3))

    def listed(**said: str) -> Callable[[int], object]:
        return lambda _: client.get("/fittings", params=said)

    print("| answer | server, median ms | server, p95 ms | database, median ms | database, p95 ms | statements | bound on p95, ms |")
    print("|---|---|---|---|---|---|---|")
    plain = measured("morning list", listed(), watch, times)
    measured("morning list, accepted", listed(show="accepted"), watch, times)
    measured("morning list, accepted, far down", listed(show="accepted", after="2018-01-01T08:00:00.000+00:00~0f000100-fitting"), watch, times)
    measured("morning list, a file number searched", lambda n: client.get("/fittings", params={"search": some[n].file_number}), watch, times)
    measured("morning list, a given name searched (one in ten)", listed(search="juniper"), watch, times)
    measured("morning list, one prosthetist of eight", listed(by="bench-staff-3"), watch, times)
    recall = measured("recall search, one serial", lambda n: client.get("/parts", params={"search": some[n].serial}), watch, times)
    one = measured("one fitting", lambda n: client.get(f"/fittings/{opened[n % len(opened)].fitting}"), watch, times)
    name = some_sheet(house)
    measured("recall search, a component that everybody has", lambda _: client.get("/parts", params={"search": name}), watch, few)
    measured("its call list as CSV, all lines", lambda _: client.get("/parts.csv", params={"search": name}), watch, 2)
    measured("one sheet, with who used which version", lambda _: client.get(f"/sheets/{name}"), watch, few)
    measured("all sheets", lambda _: client.get("/sheets"), watch, few)
    measured("people and tablets", lambda _: client.get("/people"), watch, few)
    for file in ("trials.csv", "record.pdf", "fhir.json"):
        measured(f"one fitting, {file}", lambda n: client.get(f"/fittings/{opened[n % len(opened)].fitting}/files/{file}"), watch, few)
    print()
    explained(house, "morning list", plain, "read_standing")
    explained(house, "recall search", recall, "read_component")
    explained(house, "one fitting", one, "entry")


if __name__ == "__main__":
    main()
