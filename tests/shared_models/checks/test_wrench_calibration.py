"""A wrench is in date, due soon or out of date by the same limits that the verdict uses."""

from __future__ import annotations

from datetime import date

import pytest

from shared_models.checks.rules_torque import calibration_state

DAY = date(2026, 11, 20)


@pytest.mark.parametrize("calibrated, state", [
    ("2026-11-20", "in_date"), ("2025-12-21", "in_date"), ("2025-12-20", "due_soon"), ("2025-11-21", "due_soon"),
    ("2025-11-20", "out_of_date"), ("1970-01-01", "out_of_date"), ("2026-11-21", ""), ("", ""), ("last spring", ""),
])
def test_a_wrench_is_due_a_year_after_its_calibration_and_that_is_said_a_month_before(calibrated, state):
    assert calibration_state(calibrated, DAY) == state


@pytest.mark.parametrize("cycles, state", [(0, "in_date"), (4499, "in_date"), (4500, "due_soon"), (4999, "due_soon"), (5000, "out_of_date")])
def test_a_wrench_that_is_counted_is_due_by_its_uses_too(cycles, state):
    assert calibration_state("2026-10-01", DAY, cycles) == state
