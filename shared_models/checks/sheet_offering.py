"""Which version of a component sheet is offered for a part that is built in."""

from __future__ import annotations

from shared_models.checks.sheet_taking import may_be_offered
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.record import Record


def offered_version(record: Record, sheet: str) -> Entry | None:
    """Return the newest version that contradicts nothing; None where there is none, or while two are disputed."""
    subject = Subject("component_sheet", sheet)
    head = record.head(subject, "sheet")
    if head is None or may_be_offered(head.body):
        return head
    before = [e for e in record.slot(subject, "sheet").history() if e.kind == "component_sheet" and e != head]
    return next((entry for entry in reversed(before) if may_be_offered(entry.body)), None)
