"""The rows behind the lead clinician's list: where a fitting stands, and words to find people by."""

from __future__ import annotations

from typing import Any, Collection, Iterable

from sqlalchemy import Connection, delete, insert, select, update

from shared_models.checks.lead_list import OpenEvents, awaited, events_to_follow, standing_of
from shared_models.checks.verdict import Verdict
from shared_models.entries.fitting import FittingView
from shared_models.ledger.read_tables import read_fitting, read_person_word, read_standing
from shared_models.quantities.comparing import kept_words


def standing_row(view: FittingView, verdict: Verdict) -> dict[str, Any]:
    """Return the row of a fitting.

    Whether its planned review is awaited is told by ``keep_awaited``, what is to
    be followed up by ``keep_open_events``: both take all visits of the person.
    """
    standing = standing_of(view, verdict)
    return {
        "standing": standing.group, "since": standing.since, "disputed": standing.disputed,
        "disputed_since": standing.disputed_since or None, "review_awaited_on": None,
        "prosthetist": view.prosthetist or None, "state": verdict.state, "review": verdict.review,
        "changed": verdict.changed_since_review, "missing": missing_in(verdict),
        "open_events": 0, "serious_events": 0, "event_open_since": None,
    }


def missing_in(verdict: Verdict) -> int:
    """Return how many remarks keep a fitting from being complete."""
    steps = [s for s in verdict.steps if s.state in ("open", "stale", "disputed")]
    loose = sum(1 for r in verdict.remarks if r.blocks)
    return sum(max(1, sum(1 for r in s.remarks if r.blocks)) for s in steps) + loose


def keep_awaited(connection: Connection, clinic: str, person: str) -> None:
    """Tell which of a person's planned reviews are still open, from the rows of all their fittings."""
    rows = connection.execute(
        select(read_fitting.c.fitting, read_fitting.c.side, read_fitting.c.started_at, read_fitting.c.review_due_on)
        .where(read_fitting.c.clinic == clinic, read_fitting.c.person == person)
    ).all()
    still = awaited((r.fitting, r.side or "", r.started_at, r.review_due_on) for r in rows)
    for row in rows:
        connection.execute(update(read_standing).where(
            read_standing.c.clinic == clinic, read_standing.c.fitting == row.fitting,
        ).values(review_awaited_on=still.get(row.fitting)))


def keep_open_events(connection: Connection, clinic: str, views: Collection[FittingView]) -> None:
    """Tell which falls, pain and faults of a person are still open, from all their fittings and visits."""
    still = events_to_follow(views)
    for view in views:
        found = still.get(view.id, OpenEvents(0, 0, ""))
        connection.execute(update(read_standing).where(
            read_standing.c.clinic == clinic, read_standing.c.fitting == view.id,
        ).values(open_events=found.count, serious_events=found.serious, event_open_since=found.since or None))


def keep_words(connection: Connection, clinic: str, person: str, texts: Iterable[str | None]) -> None:
    """Keep by which words a person is found."""
    connection.execute(delete(read_person_word).where(
        read_person_word.c.clinic == clinic, read_person_word.c.person == person
    ))
    words = sorted(kept_words(*texts))
    if words:
        connection.execute(insert(read_person_word), [
            {"clinic": clinic, "word": word, "person": person} for word in words
        ])


def without_standing(connection: Connection) -> list[str]:
    """Return the clinics that have a fitting of which the list has no row."""
    return list(connection.scalars(
        select(read_fitting.c.clinic).distinct()
        .outerjoin(read_standing, (read_standing.c.clinic == read_fitting.c.clinic)
                   & (read_standing.c.fitting == read_fitting.c.fitting))
        .where(read_standing.c.fitting.is_(None)).order_by(read_fitting.c.clinic)
    ))
