"""The audit log: who read or wrote what, when, from where, with what outcome.

The program adds rows and reads them; it has no way to change one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timezone
from typing import Any, Iterable

from sqlalchemy import Connection, bindparam, insert, select

from shared_models.ledger.engine import Store
from shared_models.ledger.prepared import Prepared
from shared_models.ledger.tables import audit
from shared_models.quantities.moments import moment_text, now_here


@dataclass(frozen=True)
class AuditRow:
    """One act; ``at`` in UTC, ``subject`` as ``fitting/<id>`` or "" for none."""

    who: str
    what: str
    clinic: str
    subject: str
    outcome: str
    from_where: str
    at: str = ""


def _add(connection: Connection, values: list[dict[str, Any]]) -> None:
    if len(values) > 1:
        connection.execute(insert(audit), values)
    else:
        _ADD.run(connection, **values[0])


_ADD = Prepared(insert(audit).values({c.name: bindparam(c.name) for c in audit.c if c.name != "id"}))


class AuditTrail:
    """The audit log of a server's store."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def note(self, rows: Iterable[AuditRow], within: Connection | None = None) -> None:
        """Add rows, in the open transaction ``within`` where one is given."""
        at = moment_text(now_here().astimezone(timezone.utc))
        values = [
            {"at": at, "who": r.who[:100] or "-", "what": r.what, "clinic": r.clinic or "-",
             "subject": r.subject, "outcome": r.outcome, "from_where": r.from_where}
            for r in rows
        ]
        if not values:
            return
        if within is not None:
            _add(within, values)
            return
        with self._store.writing() as connection:
            _add(connection, values)

    def rows(self, clinic: str | None = None) -> list[AuditRow]:
        """Return the log, oldest first."""
        wanted = select(audit).order_by(audit.c.id)
        if clinic is not None:
            wanted = wanted.where(audit.c.clinic == clinic)
        with self._store.reading() as connection:
            found = connection.execute(wanted).all()
        return [
            AuditRow(r.who, r.what, r.clinic, r.subject, r.outcome, r.from_where, r.at)
            for r in found
        ]
