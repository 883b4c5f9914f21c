"""Digests in the store: which are there, and one text for a whole set."""

from __future__ import annotations

import hashlib
from typing import Collection, Iterable

from sqlalchemy import Connection, Table, select

AT_ONCE = 400  # well below the variables that one SQLite statement takes


def fingerprint_of(digests: Iterable[str]) -> str:
    """Return the SHA-256 over sorted digests, one a line: equal sets, equal text."""
    lines = "".join(f"{digest}\n" for digest in sorted(set(digests)))
    return hashlib.sha256(lines.encode()).hexdigest()


def known_digests(
    connection: Connection, table: Table, digests: Collection[str]
) -> set[str]:
    """Return which of ``digests`` the table holds."""
    found: set[str] = set()
    asked = list(digests)
    for start in range(0, len(asked), AT_ONCE):
        part = asked[start:start + AT_ONCE]
        found.update(connection.scalars(
            select(table.c.digest).where(table.c.digest.in_(part))
        ))
    return found
