"""When a part is due for service: by the calendar, and by the steps walked on it.

The interval is the maker's and stands on the component sheet.  Steps are an
estimate: what the person says of a day, times the days.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Sequence

#: A spell: the day on which it ended, and the steps walked a day in it.
Walked = tuple[date, int]
IN_TIME, DUE_SOON, OVERDUE = "in_time", "due_soon", "overdue"
BY_MONTHS, BY_STEPS = "months", "steps"
#: So many days before it is due a service is said to be due soon: common practice.
SOON_DAYS = 30


@dataclass(frozen=True)
class ServiceDue:
    """When a service is due: the earlier of the two days; None where an interval says nothing.

    ``decided_by``: ``months`` or ``steps``, '' when neither can be told.
    """

    since: date
    by_months: date | None
    by_steps: date | None

    @property
    def due_on(self) -> date | None:
        """The earlier of the two days."""
        return min((d for d in (self.by_months, self.by_steps) if d), default=None)

    @property
    def decided_by(self) -> str:
        """Which of the two comes first; the calendar when both fall on one day."""
        if self.due_on is None:
            return ""
        return BY_MONTHS if self.due_on == self.by_months else BY_STEPS

    def state(self, day: date) -> str:
        """``in_time``, ``due_soon`` or ``overdue`` on a day; '' when it can't be told.

        On the day itself the service is due, and not yet overdue.
        """
        if self.due_on is None:
            return ""
        if day > self.due_on:
            return OVERDUE
        return DUE_SOON if day >= self.due_on - timedelta(days=SOON_DAYS) else IN_TIME


def service_due(
    since: date, months: int | None, steps: int | None, steps_a_day: int | None, walked: Sequence[Walked] = (),
) -> ServiceDue:
    """Return when a part that started, or was serviced, on ``since`` is due.

    ``months`` and ``steps`` are the interval; ``walked`` is what the person
    walked a day in each spell that is over, oldest first, ``steps_a_day`` what
    they walk since then, None when nobody knows.  By steps it is due on the first
    day at whose end the estimate has reached the interval.
    """
    by_months = months_later(since, months) if months else None
    by_steps = _reached(since, steps, (*walked, (date.max, steps_a_day))) if steps and steps_a_day is not None else None
    return ServiceDue(since, by_months, by_steps)


def _reached(since: date, steps: int, spells: Sequence[Walked]) -> date | None:
    """The day on which so many steps are walked; None where the calendar ends before."""
    left, start = steps, since
    for until, a_day in spells:
        days = (until - start).days
        if days <= 0:
            continue
        if a_day > 0 and -(-left // a_day) <= days:
            return start + timedelta(days=-(-left // a_day))
        left, start = left - a_day * days, until
    return None


def months_later(day: date, months: int) -> date | None:
    """Return the same day of a later month, its last day where it has no such day; None past the year 9999."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    if year > date.max.year:
        return None
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def steps_walked(since: date, day: date, steps_a_day: int) -> int:
    """Return the estimate of the steps walked from one day to another, 0 when it lies ahead."""
    return max((day - since).days, 0) * steps_a_day
