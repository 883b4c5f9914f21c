"""What a wrench can tell, and when it is due."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.torque import (
    CLASSES,
    CYCLES_BETWEEN_CALIBRATIONS,
    calibration_due,
    compare,
    deviation_percent,
    months_between,
    permissible_nm,
    permissible_percent,
    shown,
    within_range,
)
from shared_models.catalogue.edition import load_edition
from shared_models.quantities.refusals import Refusal

TORQUES = st.decimals("0.1", "200", places=2)


@pytest.mark.parametrize(("torque", "lowest", "highest"), [
    ("15", "14.4", "15.6"), ("12", "11.52", "12.48"), ("10", "9.4", "10.6"),
])
def test_a_setting_wrench_of_class_a_may_be_off_so_much(torque, lowest, highest):
    """ISO 6789-1:2017 (from memory): 6 % up to and with 10 N·m, 4 % above."""
    off = permissible_nm("2a", torque)
    assert (shown(Fraction(torque) - off), shown(Fraction(torque) + off)) == (lowest, highest)


@pytest.mark.parametrize("wrench_class", ["1a", "1d", "2d", "2e", "2f", "2g"])
def test_bending_bars_and_screwdrivers_are_believed_to_six_percent_at_any_torque(wrench_class):
    """ISO 6789-1:2017, from memory."""
    assert permissible_percent(wrench_class, "5") == permissible_percent(wrench_class, "50") == 6


@pytest.mark.parametrize("wrench_class", ["1b", "1c", "1e", "2a", "2b", "2c"])
def test_other_classes_are_believed_to_four_percent_above_ten_newton_metres(wrench_class):
    """ISO 6789-1:2017, from memory."""
    assert [permissible_percent(wrench_class, t) for t in ("10", "10.01")] == [6, 4]


def test_every_class_that_can_be_chosen_has_its_deviation():
    assert set(load_edition().choices["wrench_class"]) == set(CLASSES)


def test_the_deviation_is_counted_from_the_reference_and_not_from_the_wrench():
    """ISO 6789-1:2017, deviation of a torque tool (from memory): set 15.0, reference 14.6."""
    assert shown(deviation_percent("15.0", "14.6"), 4) == "2.7397"
    assert shown(deviation_percent("14.6", "15.0"), 4) == "-2.6667"


@given(torque=TORQUES, percent=st.decimals("-5", "5", places=2))
def test_a_wrench_that_shows_so_much_too_high_has_that_deviation(torque, percent):
    shows = Fraction(torque) * (1 + Fraction(percent) / 100)
    assert deviation_percent(shows, torque) == Fraction(percent)


# The reading against the sheet -------------------------------------------------


@given(figure=TORQUES, tolerance=st.decimals("0", "20", places=1), shift=st.decimals("-1", "1", places=3))
def test_a_torque_is_within_exactly_when_it_lies_between_the_ends_of_the_window(figure, tolerance, shift):
    """Against plain decimal arithmetic, which has no rounding here."""
    slack = figure * tolerance / 100
    torque = max(figure + slack * shift * 2, Decimal("0.001"))
    judged = compare(torque, figure, tolerance)
    assert judged.is_within == (figure - slack <= torque <= figure + slack)
    assert (judged.off_nm > 0) == (torque > figure + slack)
    assert judged.half_window_nm == Fraction(slack)


def test_a_torque_outside_says_by_how_much():
    """11 N·m within 5 % is 10.45 to 11.55 N·m."""
    assert [shown(compare(t, "11", "5").off_nm) for t in ("10.4", "10.45", "11.55", "11.6")] == ["-0.05", "0", "0", "0.05"]


@pytest.mark.parametrize("tolerance", ["-1", "100"])
def test_a_tolerance_that_cannot_be_is_refused(tolerance):
    with pytest.raises(Refusal) as refused:
        compare("11", "11", tolerance)
    assert refused.value.code == "torque_tolerance_outside"


# Range and calibration -----------------------------------------------------------


@pytest.mark.parametrize(("setting", "inside"), [("1.99", False), ("2", True), ("25", True), ("25.1", False)])
def test_a_wrench_measures_from_its_lowest_mark_to_its_highest(setting, inside):
    """ISO 6789-1:2017: the range begins at the lowest marked value."""
    assert within_range(setting, "2", "25") is inside


@pytest.mark.parametrize(("lowest", "highest"), [("25", "2"), ("5", "5"), ("-1", "25")])
def test_a_range_that_does_not_run_upwards_is_refused(lowest, highest):
    with pytest.raises(Refusal) as refused:
        within_range("5", lowest, highest)
    assert refused.value.code == "wrench_range_turned"


@pytest.mark.parametrize(("months", "cycles", "due"), [
    (11, None, ""), (12, None, "months"), (11, 4999, ""), (11, 5000, "cycles"), (14, 9000, "months"), (0, 0, ""),
])
def test_a_wrench_is_due_after_a_year_or_five_thousand_cycles_whichever_comes_first(months, cycles, due):
    """ISO 6789-1:2017, conformance during use (from memory)."""
    assert CYCLES_BETWEEN_CALIBRATIONS == 5000
    assert calibration_due(months, cycles) == due


def test_an_age_below_nothing_is_refused():
    with pytest.raises(Refusal):
        calibration_due(-1)
    with pytest.raises(Refusal):
        calibration_due(3, -1)


@pytest.mark.parametrize(("earlier", "later", "months"), [
    ("2025-11-25", date(2026, 11, 24), 11), ("2025-11-25", date(2026, 11, 25), 12),
    ("2026-01-31", date(2026, 2, 28), 0), ("2026-12-01", date(2026, 11, 30), -1),
])
def test_a_month_is_whole_once_its_day_has_come(earlier, later, months):
    assert months_between(earlier, later) == months
