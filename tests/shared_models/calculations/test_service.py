"""Service intervals: date arithmetic checked against python-dateutil, steps against a worked example."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.service import (
    DUE_SOON,
    IN_TIME,
    OVERDUE,
    months_later,
    service_due,
    steps_walked,
)



@given(st.dates(date(1990, 1, 1), date(2200, 12, 31)), st.integers(1, 240))
def test_months_later_are_those_of_dateutil(day, months):
    assert months_later(day, months) == day + relativedelta(months=months)


@pytest.mark.parametrize("since, months, due", [
    # XML Schema 1.1 part 2 (W3C 2012), appendix E.3.3, as ISO 8601 calendar dates: a day that the month lacks is its last.
    (date(2000, 1, 30), 1, date(2000, 2, 29)),
    (date(2001, 1, 30), 1, date(2001, 2, 28)),
    (date(2024, 2, 29), 24, date(2026, 2, 28)),
    (date(2026, 12, 31), 2, date(2027, 2, 28)),
])
def test_a_day_that_a_month_has_not_is_its_last(since, months, due):
    assert months_later(since, months) == due


def test_an_interval_past_the_last_year_of_the_calendar_says_nothing():
    assert months_later(date(9990, 1, 1), 240) is None
    assert service_due(date(2026, 1, 1), None, 1_000_000, 1).by_steps is not None
    assert service_due(date(9000, 1, 1), None, 100_000_000, 1).by_steps is None


def test_three_thousand_steps_a_day_reach_three_hundred_thousand_on_the_hundredth_day():
    # Worked by hand: 300 000 / 3 000 = 100 days from 1 January 2026 is 11 April 2026 (30 + 28 + 31 + 11).
    due = service_due(date(2026, 1, 1), 6, 300_000, 3_000)
    assert due.by_steps == date(2026, 4, 11) and due.by_months == date(2026, 7, 1)
    assert due.due_on == date(2026, 4, 11) and due.decided_by == "steps"
    assert steps_walked(date(2026, 1, 1), date(2026, 4, 11), 3_000) == 300_000


@given(st.integers(1, 1_000_000), st.integers(1, 40_000))
def test_by_steps_it_is_due_on_the_first_day_that_reaches_the_interval(steps, a_day):
    since = date(2026, 1, 1)
    due = service_due(since, None, steps, a_day).by_steps
    assert steps_walked(since, due, a_day) >= steps > steps_walked(since, due - timedelta(days=1), a_day)


@pytest.mark.parametrize("days, state", [(-31, IN_TIME), (-30, DUE_SOON), (0, DUE_SOON), (1, OVERDUE)])
def test_a_service_is_soon_due_for_a_month_and_overdue_from_the_day_after(days, state):
    due = service_due(date(2024, 1, 15), 24, None, None)
    assert due.state(date(2026, 1, 15) + timedelta(days=days)) == state


def test_where_nothing_can_be_told_nothing_is_said():
    due = service_due(date(2026, 1, 1), None, 1_000_000, None)
    assert due.due_on is None and due.state(date(2050, 1, 1)) == "" and due.decided_by == ""
