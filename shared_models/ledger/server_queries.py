"""Queries over the read tables and the verdicts."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any, Mapping

from sqlalchemy import select

from shared_models.ledger.engine import Store
from shared_models.ledger.read_tables import read_fitting, read_person
from shared_models.ledger.tables import verdict


@dataclass(frozen=True)
class FittingRow:
    """A fitting as a list shows it; None where nothing is recorded.

    ``prosthetist`` is a staff id; ``verdict`` the kept verdict in plain form.
    """

    fitting: str
    person: str
    name: str | None
    born_on: str | None
    file_number: str | None
    side: str | None
    prosthetist: str | None
    state: str
    review: str
    last_entry_at: str
    fingerprint: str
    verdict: Mapping[str, Any] = field(repr=False)

    @property
    def changed_since_review(self) -> bool:
        """Whether the fitting is no longer what its review saw."""
        return bool(self.verdict.get("changed_since_review"))

    @property
    def missing(self) -> int:
        """How many remarks keep the fitting from being complete."""
        steps = [s for s in self.verdict["steps"] if s["state"] in ("open", "stale", "disputed")]
        loose = [r for r in self.verdict["remarks"] if r["blocks"]]
        return sum(max(1, sum(r["blocks"] for r in s["remarks"])) for s in steps) + len(loose)


def fittings_of_clinic(store: Store, clinic: str) -> list[FittingRow]:
    """Return every fitting of a clinic, the latest changed first."""
    wanted = (
        select(
            read_fitting, read_person.c.name, read_person.c.born_on,
            read_person.c.identifier, verdict.c.state, verdict.c.review,
            verdict.c.detail, verdict.c.fingerprint,
        )
        .join(verdict, (verdict.c.fitting == read_fitting.c.fitting)
              & (verdict.c.clinic == read_fitting.c.clinic))
        .outerjoin(read_person, (read_person.c.person == read_fitting.c.person)
                   & (read_person.c.clinic == read_fitting.c.clinic))
        .where(read_fitting.c.clinic == clinic)
        .order_by(read_fitting.c.last_entry_at.desc(), read_fitting.c.fitting)
    )
    with store.reading() as connection:
        rows = connection.execute(wanted).all()
    return [
        FittingRow(
            row.fitting, row.person, row.name, row.born_on, row.identifier, row.side,
            row.prosthetist, row.state, row.review, row.last_entry_at, row.fingerprint,
            json.loads(row.detail),
        )
        for row in rows
    ]
