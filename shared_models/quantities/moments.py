"""Moments of wall-clock time, always with their offset from UTC.

A record made at an outreach clinic is read elsewhere, so a time without its
offset would be ambiguous.  Text form: RFC 3339 / ISO 8601 to the millisecond,
``2026-03-04T10:42:07.120+02:00``.
"""

from __future__ import annotations

from datetime import date, datetime, timezone


class NotAMoment(ValueError):
    """The text is not an ISO 8601 moment with an offset."""


def moment_text(moment: datetime) -> str:
    """Return ``moment`` as text; raise NotAMoment when it has no offset."""
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise NotAMoment("a moment needs its offset from UTC")
    return moment.isoformat(timespec="milliseconds")


def moment_from(text: str) -> datetime:
    """Return the moment that ``text`` writes; raise NotAMoment otherwise."""
    try:
        moment = datetime.fromisoformat(text)
    except (TypeError, ValueError) as error:
        raise NotAMoment(f"{text!r} is not an ISO 8601 moment") from error
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise NotAMoment(f"{text!r} lacks its offset from UTC")
    return moment


def now_here() -> datetime:
    """Return the wall clock of this machine with its local offset."""
    return datetime.now(timezone.utc).astimezone()


def day_of(text: str) -> date:
    """Return the local calendar day of the moment that ``text`` writes."""
    return moment_from(text).date()
