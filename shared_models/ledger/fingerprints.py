"""Digests in the store: which are there, and one text for a whole set."""

from __future__ import annotations

import hashlib
from typing import Collection, Iterable

from sqlalchemy import Connection, Table, select

from shared_models.ledger.prepared import AT_ONCE, PreparedIn  # noqa: F401
from shared_models.ledger.tables import entry, signature

_KNOWN = {
    table.name: PreparedIn(lambda values, table=table: select(table.c.digest).where(  # type: ignore[misc]
        table.c.digest.in_(values)
    )) for table in (entry, signature)
}


def fingerprint_of(digests: Iterable[str]) -> str:
    """Return the SHA-256 over sorted digests, one a line: equal sets, equal text."""
    found = hashlib.sha256()
    for digest in sorted(set(digests)):
        found.update(f"{digest}\n".encode())
    return found.hexdigest()


def known_digests(
    connection: Connection, table: Table, digests: Collection[str]
) -> set[str]:
    """Return which of ``digests`` the table holds."""
    return {digest for digest, in _KNOWN[table.name].run(connection, list(digests))}
