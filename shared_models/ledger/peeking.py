"""A first look at a tablet's store: who has a PIN here, before anything else is read.

Uses the SQLite driver alone and changes nothing, so that the locked page need
not wait until the store is examined and opened; that comes behind it and has
the last word.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from shared_models.ledger.revisions import KNOWN_REVISIONS


@dataclass(frozen=True)
class Peek:
    """Staff ids that have a PIN, by name, and whether only practice lies here."""

    people: tuple[str, ...]
    is_practice: bool


def peek(path: Path, practice_from: str, practice_behind: str) -> Peek | None:
    """Look at a store; None when it is new, of another schema, or can't be read just so.

    Clinics from ``practice_from`` up to before ``practice_behind`` are practice.
    """
    if not path.is_file():
        return None
    try:
        with closing(sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode=ro", uri=True)) as connection:
            revision = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            kind = connection.execute("SELECT store_kind FROM about").fetchone()
            if revision != (KNOWN_REVISIONS[-1],) or kind != ("tablet",):
                return None
            people = connection.execute("SELECT staff_id FROM key_slot ORDER BY staff_id").fetchall()
            practice = any(
                connection.execute(
                    f"SELECT 1 FROM {table} WHERE clinic >= ? AND clinic < ? LIMIT 1",
                    (practice_from, practice_behind),
                ).fetchone()
                for table in ("sync_state", "entry")
            )
    except sqlite3.Error:
        return None
    return Peek(tuple(staff for (staff,) in people), practice)
