"""Where a fitting stands in the lead clinician's morning list, and what makes one overdue."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timezone
from typing import Collection, Iterable

from shared_models.checks.events import open_events
from shared_models.checks.parts_over_time import visits_up_to
from shared_models.checks.verdict import Verdict
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import day_of, moment_from, moment_text

WAITING, RETURNED, IN_PROGRESS, ACCEPTED = "waiting", "returned", "in_progress", "accepted"
#: After so many days without contact somebody should ask after a tablet.  The project's own
#: choice: longer than a week at an outreach clinic without a line, so that it says something.
SYNC_OVERDUE_DAYS = 8


@dataclass(frozen=True)
class Standing:
    """Where a fitting stands: the group, since when (UTC), and its double corrections.

    ``disputed_since`` is when the second of two corrections of one entry was
    made, "" without any.
    """

    group: str
    since: str
    disputed: int
    disputed_since: str


def standing_of(view: FittingView, verdict: Verdict) -> Standing:
    """Return where a fitting stands by its verdict."""
    group = group_of(verdict.review, verdict.changed_since_review)
    newest = max(_in_utc(e.recorded_at) for e in view.entries())
    heads = view.heads("review")
    # What waits because it changed after it was accepted waits since that change.
    asked = group in (WAITING, RETURNED) and verdict.review != "accepted"
    since = max((_in_utc(h.recorded_at) for h in heads), default=newest) if asked else newest
    second = [sorted(_in_utc(h.recorded_at) for h in heads)[1] for heads in _made_twice(view)]
    return Standing(group, since, len(second), min(second, default=""))


def group_of(review: str, changed: bool) -> str:
    """Return which group a fitting stands in.

    An accepted fitting that changed since waits again: what was accepted is
    no longer what is there.
    """
    if review == "":
        return IN_PROGRESS
    if review == "rejected":
        return RETURNED
    if review == "accepted" and not changed:
        return ACCEPTED
    return WAITING


def awaited(visits: Iterable[tuple[str, str, str, str | None]]) -> dict[str, str]:
    """Return the planned reviews to which the person has not come yet: fitting -> ISO day.

    ``visits`` are a person's fittings and visits: id, side, moment of opening,
    planned day.  Whoever was seen again for the same side has come, so only the
    plan of the latest is still open.
    """
    latest: dict[str, tuple[str, str, str | None]] = {}
    for fitting, side, opened_at, planned_on in visits:
        this = (_in_utc(opened_at), fitting, planned_on)
        if side not in latest or this[:2] > latest[side][:2]:
            latest[side] = this
    return {fitting: day for _, fitting, day in latest.values() if day and _is_day(day)}


@dataclass(frozen=True)
class OpenEvents:
    """Falls, pain and faults that nobody has closed: how many, with how much harm, since which ISO day."""

    count: int
    serious: int
    since: str


def events_to_follow(views: Collection[FittingView]) -> dict[str, OpenEvents]:
    """Return what is still open by the fitting or visit at which a person was seen last.

    ``views`` are all fittings and visits of one person; a follow-up at any of them counts.
    """
    before, found = {v.after for v in views}, {}
    for view in views:
        here = {v.id for v in visits_up_to(view)}
        still = [e for e in open_events(view, views) if e.entry.subject.id in here] if view.id not in before else []
        if still:
            since = min(e.happened_on if _is_day(e.happened_on) else day_of(e.entry.happened_at).isoformat() for e in still)
            found[view.id] = OpenEvents(len(still), sum(e.is_serious for e in still), since)
    return found


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _made_twice(view: FittingView) -> list[tuple]:
    """The heads of every place where two corrections of one entry stand beside each other."""
    names = [n for n in view.record.slots(view.subject)] + ["identity"]
    found = [tuple(view.slot(n).heads()) for n in names]
    return [heads for heads in found if len(heads) > 1]


def _in_utc(moment: str) -> str:
    """Moments in one offset compare as texts."""
    try:
        return moment_text(moment_from(moment).astimezone(timezone.utc))
    except OverflowError:  # within hours of the first or last day of the calendar
        return moment
