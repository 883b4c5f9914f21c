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


def test_a_person_who_came_to_walk_more_is_due_by_what_was_walked_in_each_spell():
    # Worked by hand: 100 days of 1 000 are 100 000; 200 000 more at 4 000 a day are 50 days from 11 April 2026: 19 in April, 31 in May.
    since, visit = date(2026, 1, 1), date(2026, 4, 11)
    due = service_due(since, None, 300_000, 4_000, ((visit, 1_000),))
    assert due.by_steps == date(2026, 5, 31)
    # By the last figure alone it would have been due on 17 March, before the visit at which it was said.
    assert service_due(since, None, 300_000, 4_000).by_steps == date(2026, 3, 17)


@given(
    st.integers(1, 400_000), st.lists(st.tuples(st.integers(0, 120), st.integers(0, 9_000)), max_size=4), st.integers(0, 9_000),
    st.integers(-200, 200),
)
def test_the_day_by_steps_is_the_one_that_counting_day_by_day_comes_to(steps, spells, a_day, started):
    """Counting each day by itself is another way than the sums that are tested."""
    first, walked, until = date(2026, 1, 1), [], date(2026, 1, 1)
    for days, pace in spells:
        until += timedelta(days=days)
        walked.append((until, pace))
    since = first + timedelta(days=started)
    count, day = 0, since
    while count < steps and (day - since).days < 2_000:
        count += next((pace for end, pace in walked if day < end), a_day)
        day += timedelta(days=1)
    found = service_due(since, None, steps, a_day, walked).by_steps
    assert (found == day) if count >= steps else (found is None or (found - since).days > 2_000)
