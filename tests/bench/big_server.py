"""A server on PostgreSQL with very many fittings, made in minutes from real ones.

One whole fitting is recorded by a desk and taken in as a push is.  Then:

- every copy has its own ids, a row in each read table (copied in the database
  from the row of the fitting it is a copy of), and words to be found by;
- the first ``whole`` copies have all their entries, truly digested, chained and
  naming each other by their new digests, so that opening one folds and judges
  it; the rest have the opening and the identity only;
- signatures are not made again for copies, so a whole copy opened is judged as
  not signed, while the list shows it as its original stands.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Iterable, Iterator

import uuid6
from sqlalchemy import Connection, insert, select, text

from shared_models.entries.envelope import Entry, entry_from
from shared_models.ledger.lead_rows import without_standing
from shared_models.ledger.read_tables import read_component, read_person, read_standing
from shared_models.ledger.server_read_rows import READ_TABLES
from shared_models.ledger.tables import clinic_sequence
from shared_models.ledger.tables import entry as entry_table
from shared_models.quantities.comparing import kept_words
from tests.fitting_desk import CLINIC, Desk
from tests.sync_server.conftest import Tablet

GIVEN = ("Ada", "Bo", "Cleo", "Dara", "Emre", "Fia", "Gil", "Hana", "Ivo", "Juniper")
_AT_ONCE = 5_000
_THIN = ("identity", "opened")
_CHAIN = "tablet-of-copies"


@dataclass(frozen=True)
class Copy:
    """One copy: of which fitting, and its ids."""

    number: int
    original: str
    original_person: str

    @property
    def fitting(self) -> str:
        return f"0f{self.number:06x}-fitting"

    @property
    def person(self) -> str:
        return f"0e{self.number:06x}-person"

    @property
    def file_number(self) -> str:
        return f"B-{self.number:06d}"

    @property
    def serial(self) -> str:
        return f"K-{self.number:06d}"

    @property
    def names(self) -> tuple[str, str]:
        return GIVEN[self.number % len(GIVEN)], f"Copy-{self.number:06d}"


def original(tablet: Tablet) -> Desk:
    """A whole fitting at a tablet that has joined, complete and asking for review."""
    tablet.take_all()
    desk = tablet.desk
    desk.staff().before_the_bench().on_the_bench().tune().close().hand_over()
    desk.request_review()
    return desk


def grow(connection: Connection, desk: Desk, count: int, whole: int) -> list[Copy]:
    """Add ``count`` copies of a desk's fitting, which the store has taken in; return them."""
    copies = [Copy(n, desk.fitting.id, desk.view.person.id) for n in range(count)]
    connection.execute(text("CREATE TEMP TABLE copied (number int, original text, old_person text, fitting text, person text, serial text)"))
    for part in _parts(copies):
        connection.execute(text("INSERT INTO copied VALUES (:n, :o, :q, :f, :p, :s)"), [
            {"n": c.number, "o": c.original, "q": c.original_person, "f": c.fitting, "p": c.person, "s": c.serial} for c in part
        ])
    connection.execute(text("ANALYZE copied"))
    _read_rows(connection)
    _people(connection, copies)
    _spread(connection)
    _entries(connection, list(desk.record.entries.values()), copies, whole)
    return copies


def _read_rows(connection: Connection) -> None:
    """One row for each row of the original, in the database itself."""
    for table in READ_TABLES:
        if "fitting" not in table.c:
            continue
        columns = [c.name for c in table.columns]
        new = {
            "fitting": "copied.fitting", "person": "copied.person",
            "serial": "CASE WHEN t.place = 'knee' THEN copied.serial ELSE t.serial END",
            # Part of the key where two heads stand beside each other; no copy has two.
            "digest": "encode(sha256((t.digest || copied.fitting)::bytea), 'hex')",
        }
        taken = ", ".join(new.get(c, f"t.{c}") if (c != "serial" or table is read_component) else f"t.{c}" for c in columns)
        connection.execute(text(
            f"INSERT INTO {table.name} ({', '.join(columns)}) SELECT {taken} FROM copied JOIN {table.name} t"
            f" ON t.fitting = copied.original WHERE t.clinic = :clinic"
        ), {"clinic": CLINIC})


def _people(connection: Connection, copies: list[Copy]) -> None:
    first = connection.execute(select(read_person).where(read_person.c.clinic == CLINIC)).first()
    plain = dict(first._mapping) if first else {"clinic": CLINIC}
    for part in _parts(copies):
        connection.execute(insert(read_person), [
            {**plain, "person": c.person, "name": " ".join(c.names), "identifier": c.file_number} for c in part
        ])
        connection.execute(text("INSERT INTO read_person_word (clinic, word, person) VALUES (:clinic, :word, :person)"), [
            {"clinic": CLINIC, "word": word, "person": c.person}
            for c in part for word in kept_words(*c.names, c.file_number, c.person)
        ])


def _spread(connection: Connection) -> None:
    """As a clinic of many years: most are accepted, some wait, few are overdue or corrected twice."""
    connection.execute(text(
        "UPDATE read_standing s SET"
        " since = to_char(timestamp '2016-01-01' + (c.number % 3900) * interval '1 day', 'YYYY-MM-DD') || 'T08:00:00.000+00:00',"
        " standing = CASE c.number % 100 WHEN 1 THEN 'waiting' WHEN 2 THEN 'returned' WHEN 3 THEN 'in_progress'"
        " WHEN 4 THEN 'in_progress' ELSE 'accepted' END,"
        " prosthetist = CASE c.number % 8 WHEN 0 THEN s.prosthetist ELSE 'bench-staff-' || (c.number % 8) END,"
        " disputed = CASE WHEN c.number % 400 = 0 THEN 1 ELSE 0 END,"
        " disputed_since = CASE WHEN c.number % 400 = 0 THEN '2026-01-02T08:00:00.000+00:00' END,"
        " review_awaited_on = CASE WHEN c.number % 50 = 0 THEN :past WHEN c.number % 10 = 0 THEN :ahead END"
        " FROM copied c WHERE c.fitting = s.fitting"
    ), {"past": str(date.today() - timedelta(days=9)), "ahead": str(date.today() + timedelta(days=30))})


def _entries(connection: Connection, entries: list[Entry], copies: list[Copy], whole: int) -> None:
    own: dict[str, list[Entry]] = {}
    for entry in sorted(entries, key=lambda e: e.order):
        if entry.subject.type in ("fitting", "person"):
            own.setdefault(entry.subject.id, []).append(entry)
    number, previous, sequence = 0, "", connection.scalar(select(clinic_sequence.c.last)) or 0
    waiting: list[dict] = []
    for copy in copies:
        mine = sorted([*own[copy.original], *own[copy.original_person]], key=lambda e: e.order)
        mine = mine if copy.number < whole else [e for e in mine if e.kind in _THIN]
        digests: dict[str, str] = {}
        for entry in mine:
            number += 1
            made = _copied(entry, copy, number, previous, digests)
            previous, digests[entry.digest] = made.digest, made.digest
            sequence += 1
            waiting.append({
                "digest": made.digest, "entry_id": made.envelope["id"], "clinic": CLINIC,
                "subject_type": made.subject.type, "subject_id": made.subject.id, "kind": made.kind,
                "tablet": _CHAIN, "number": number, "previous": made.envelope["previous"], "clock": made.clock,
                "server_sequence": sequence, "received_at": made.recorded_at, "content": made.plaintext(),
            })
        if len(waiting) >= _AT_ONCE:
            connection.execute(insert(entry_table), waiting)
            waiting = []
    if waiting:
        connection.execute(insert(entry_table), waiting)
    connection.execute(text("UPDATE clinic_sequence SET last = :last"), {"last": sequence})


def _copied(entry: Entry, copy: Copy, number: int, previous: str, digests: dict[str, str]) -> Entry:
    """The entry about the copy: other ids and place in a chain, naming the copies of what it named."""
    envelope = dict(entry.envelope)
    is_fitting = entry.subject.type == "fitting"
    body = {name: digests.get(v, v) if isinstance(v, str) else v for name, v in entry.body.items()}
    body |= ({"person": copy.person} if "person" in entry.body else {})
    if entry.kind == "identity":
        body |= {"given_name": copy.names[0], "family_name": copy.names[1], "file_number": copy.file_number}
    envelope |= {
        "id": str(uuid6.uuid7()), "tablet": _CHAIN, "number": number, "previous": previous,
        "subject": {"type": entry.subject.type, "id": copy.fitting if is_fitting else copy.person}, "body": body,
        "replaces": sorted(digests.get(d, d) for d in entry.replaces),
        "rests_on": sorted(digests.get(d, d) for d in entry.rests_on),
    }
    return entry_from(envelope)


def _parts(items: list[Copy]) -> Iterator[list[Copy]]:
    for start in range(0, len(items), _AT_ONCE):
        yield items[start:start + _AT_ONCE]


def chosen(copies: Iterable[Copy], how_many: int, seed: int = 7) -> list[Copy]:
    """Some of the copies, the same at each run."""
    return random.Random(seed).sample(list(copies), how_many)


def lists_are_whole(connection: Connection) -> bool:
    """Whether every fitting has its row of the lead's list."""
    return not without_standing(connection) and bool(connection.scalar(select(read_standing.c.fitting).limit(1)))
