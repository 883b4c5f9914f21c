"""Giving entries out: a page of a clinic's sequence, and where the server stands."""

from __future__ import annotations

from datetime import date

from shared_models.checks.verdict import Verdict, judge
from shared_models.exchange.answers import Standing
from shared_models.exchange.pull import Pull, page_of
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.opening import program_version
from shared_models.ledger.held_attachments import lacking_of
from shared_models.ledger.tablet_access import Access
from sync_server.services.intake import PERSONAL
from sync_server.services.station import Station


def page_for(station: Station, access: Access, after: int, limit: int, from_where: str) -> Pull:
    """Return what a clinic has after a sequence number, and note who was read."""
    items = station.entries.feed_written(access.clinic, after, limit + 1)
    pull = page_of(access.clinic, station.entries.epoch, items, after, limit)
    subjects = {
        f"{found.item.subject.type}/{found.item.subject.id}" for found in items[:len(pull.items)]
        if found.item.subject is not None and found.item.subject.type in PERSONAL
    }
    station.audit.note(
        AuditRow(access.tablet, "pull", access.clinic, subject, "given", from_where)
        for subject in sorted(subjects)
    )
    return pull


def verdict_for(
    station: Station, access: Access, fitting: str, day: date, from_where: str
) -> tuple[Verdict, frozenset[str]] | None:
    """Return the server's verdict on a fitting as of a day; None where there is none.

    It is judged from the entries alone, as a tablet can judge it; beside it stand
    the hashes of the photos that this server has not whole.
    """
    with station.reading(access.clinic) as reading:
        view = reading.view(fitting)
        found = (judge(view, day), lacking_of(reading.connection, view, access.clinic)) if view else None
    station.audit.note([AuditRow(
        access.tablet, "verdict", access.clinic, f"fitting/{fitting}",
        "given" if found else "refused: not_found", from_where,
    )])
    return found


def standing_for(station: Station, access: Access, chain: str = "") -> Standing:
    """Return the ends of a clinic's chains as the server holds them, or of the one asked for."""
    clinic = access.clinic
    known = station.standings.get(clinic)
    if known and known[0] == station.entries.last_sequence(clinic):
        last, ends, forked = known  # entries are only ever added, each with the next number
    else:
        found = station.entries.standing(clinic, known[0] if known else 0, known[2] if known else ())
        last, ends, forked = station.standings[clinic] = found
    if chain:
        ends = {chain: ends[chain]} if chain in ends else {}
        forked = tuple(tablet for tablet in forked if tablet == chain)
    return Standing(clinic, station.entries.epoch, program_version(), last, ends, forked)
