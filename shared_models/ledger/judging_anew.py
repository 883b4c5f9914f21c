"""Which fittings are to be judged anew: marked at once, worked off in pieces.

What very many verdicts rest on (a name or a role of the staff list, a key, a
sheet that was waited for) must not be followed in the transaction that stores
it: every push and every page would wait for it.  There the fittings that it
concerns are only marked.  Whoever serves the clinic then judges some at a time,
each piece in a transaction of its own that takes the marks away with it, so that
a process that ends in between leaves nothing half done and another goes on.

A mark means: what the read tables say of this fitting may be out of date.
"""

from __future__ import annotations

from datetime import date
from typing import Any, Collection

from sqlalchemy import Connection, Select, delete, func, literal, select
from sqlalchemy.dialects import postgresql, sqlite

from shared_models.ledger.read_tables import judge_anew, read_component, read_staff
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.server_read_rows import READ_TABLES, keep_read_rows
from shared_models.ledger.tables import entry as entry_table

#: As many are judged within the transaction that stores what concerns them.
AT_ONCE = 100
#: How many make a piece: no push waits for more.
PIECE = 10
SORTS = ("fitting", "person")


def concerned(
    connection: Connection, clinic: str, staff: Collection[str], sheets: Collection[str]
) -> list[str] | None:
    """Return the fittings that members of staff or sheets concern; None when they are more than ``AT_ONCE``."""
    if not staff and not sheets:
        return []
    found: set[str] = set()
    for asked in _concerned(clinic, staff, sheets):
        found.update(connection.scalars(asked.distinct().limit(AT_ONCE + 1)))
    return sorted(found) if len(found) <= AT_ONCE else None


def mark_concerned(
    connection: Connection, clinic: str, staff: Collection[str], sheets: Collection[str]
) -> None:
    """Mark the fittings that members of staff or sheets concern."""
    for asked in _concerned(clinic, staff, sheets):
        _mark(connection, clinic, "fitting", asked)


def mark_all(connection: Connection, clinic: str) -> int:
    """Mark all fittings and persons of a clinic; return how many fittings there are.

    Rows of what has no entry are thrown away.
    """
    for table in READ_TABLES:
        column = table.c.fitting if "fitting" in table.c else table.c.person
        behind = _with_entries(clinic, column.name).where(entry_table.c.subject_id == column).exists()
        connection.execute(delete(table).where(table.c.clinic == clinic, ~behind))
    for sort in SORTS:
        _mark(connection, clinic, sort, _with_entries(clinic, sort))
    return connection.scalar(
        select(func.count(entry_table.c.subject_id.distinct()))
        .where(entry_table.c.clinic == clinic, entry_table.c.subject_type == "fitting")
    ) or 0


def waiting(connection: Connection, clinic: str) -> int:
    """Return how many fittings of a clinic are still to be judged anew."""
    return connection.scalar(
        select(func.count()).select_from(judge_anew)
        .where(judge_anew.c.clinic == clinic, judge_anew.c.sort == "fitting")
    ) or 0


def clinics_waiting(connection: Connection) -> dict[str, int]:
    """Return the clinics with anything marked, and how much it is."""
    return dict(connection.execute(  # type: ignore[arg-type]
        select(judge_anew.c.clinic, func.count()).group_by(judge_anew.c.clinic).order_by(judge_anew.c.clinic)
    ).all())


def judge_piece(
    reading: ClinicReading, day: date, most: int = PIECE, without: Collection[tuple[str, str]] = ()
) -> list[tuple[str, str]]:
    """Make the rows of some that are marked, and take their marks away, within the open transaction.

    Returns which they were: sort and id.  ``without`` are left for later.
    """
    marked = judge_anew.c
    piece = next_marked(reading, most, without)
    by_sort = {sort: [id_ for s, id_ in piece if s == sort] for sort in SORTS}
    keep_read_rows(reading, by_sort["fitting"], day, by_sort["person"])
    for sort, ids in by_sort.items():
        reading.connection.execute(delete(judge_anew).where(
            marked.clinic == reading.clinic, marked.sort == sort, marked.subject.in_(ids),
        ))
    return piece


def next_marked(
    reading: ClinicReading, most: int, without: Collection[tuple[str, str]] = ()
) -> list[tuple[str, str]]:
    """Return at most so many that are marked, always in the same order."""
    rows = reading.connection.execute(
        select(judge_anew.c.sort, judge_anew.c.subject).where(judge_anew.c.clinic == reading.clinic)
        .order_by(judge_anew.c.sort, judge_anew.c.subject).limit(most + len(without))
    ).all()
    return [(row.sort, row.subject) for row in rows if (row.sort, row.subject) not in without][:most]


def _concerned(clinic: str, staff: Collection[str], sheets: Collection[str]) -> list[Select[Any]]:
    ways = []
    if staff:
        ways.append(select(read_staff.c.fitting).where(
            read_staff.c.clinic == clinic, read_staff.c.staff.in_(sorted(staff))
        ))
    if sheets:  # fittings that name a version of a sheet which had not arrived
        ways.append(select(read_component.c.fitting).where(
            read_component.c.clinic == clinic, read_component.c.sheet.in_(sorted(sheets)),
            read_component.c.sheet_version.is_(None),
        ))
    return ways


def _with_entries(clinic: str, sort: str) -> Select[Any]:
    return select(entry_table.c.subject_id).where(
        entry_table.c.clinic == clinic, entry_table.c.subject_type == sort
    )


def _mark(connection: Connection, clinic: str, sort: str, subjects: Select[Any]) -> None:
    """Mark what is not marked yet.

    By the key, not by looking first: PostgreSQL would go through the rows that it
    is just adding for each further one.
    """
    insert = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    (subject,) = subjects.selected_columns
    connection.execute(insert(judge_anew).from_select(
        ["clinic", "sort", "subject"], subjects.with_only_columns(literal(clinic), literal(sort), subject).distinct(),
    ).on_conflict_do_nothing())
