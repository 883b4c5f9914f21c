"""The list of a clinic's fittings: grouped by what the lead has to do."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.entries.record import Record
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.server_queries import FittingRow, fittings_of_clinic
from shared_models.wording.dates import moment_words
from shared_models.wording.states import VERDICT, review_word
from sync_server.services.signing_in import Reviewer
from sync_server.services.station import Station

#: Groups of the list, in the order of what waits for the lead.
GROUPS = {
    "waiting": "Waiting for review",
    "returned": "Returned",
    "in_progress": "In progress",
    "accepted": "Accepted",
}


@dataclass(frozen=True)
class ListedFitting:
    """One line of the list, in words."""

    fitting: str
    group: str
    name: str
    file_number: str
    side: str
    prosthetist: str
    state: str
    state_words: str
    review_words: str
    missing: int
    changed: str


@dataclass(frozen=True)
class Listing:
    """The lines that a filter and a search leave, and the count of each group."""

    groups: dict[str, list[ListedFitting]]
    counts: dict[str, int]
    show: str
    search: str

    @property
    def shown(self) -> int:
        """How many lines are left."""
        return sum(len(lines) for lines in self.groups.values())


def listing_for(
    station: Station, reviewer: Reviewer, show: str, search: str, from_where: str
) -> Listing:
    """Return the clinic's fittings by group; note that they were read."""
    clinic = reviewer.account.clinic
    with station.reading(clinic) as reading:
        staff = reading.staff_record()
    show = show if show in GROUPS else ""
    lines = [_line(row, staff) for row in fittings_of_clinic(station.store, clinic)]
    found = [line for line in lines if _matches(line, search)]
    kept = [line for line in found if show in ("", line.group)]
    station.audit.note(
        AuditRow(reviewer.account.login, "list", clinic, subject, "shown", from_where)
        for subject in [f"fitting/{line.fitting}" for line in kept] or [""]
    )
    return Listing(
        {g: [line for line in kept if line.group == g] for g in GROUPS if show in ("", g)},
        {g: sum(line.group == g for line in found) for g in GROUPS}, show, search,
    )


def _line(row: FittingRow, staff: Record) -> ListedFitting:
    return ListedFitting(
        fitting=row.fitting, group=group_of(row.review, row.changed_since_review),
        name=row.name or "name not recorded", file_number=row.file_number or "none",
        side=row.side or "side not recorded",
        prosthetist=staff.name_of(row.prosthetist) if row.prosthetist else "not recorded",
        state=row.state, state_words=VERDICT.get(row.state, row.state),
        review_words=review_word(row.review, row.changed_since_review),
        missing=row.missing, changed=moment_words(row.last_entry_at),
    )


def group_of(review: str, changed: bool) -> str:
    """Return which group a fitting stands in.

    An accepted fitting that changed since waits again: what was accepted is
    no longer what is there.
    """
    if review == "":
        return "in_progress"
    if review == "rejected":
        return "returned"
    if review == "accepted" and not changed:
        return "accepted"
    return "waiting"


def _matches(line: ListedFitting, search: str) -> bool:
    words = search.casefold().split()
    text = f"{line.name} {line.file_number} {line.side} {line.prosthetist}".casefold()
    return all(word in text for word in words)
