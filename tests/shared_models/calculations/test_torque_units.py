"""A reading in another unit is the same torque, exactly."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.torque import UNITS, from_nm, shown, to_nm
from shared_models.catalogue.edition import load_edition
from shared_models.quantities.refusals import Refusal

#: NIST Special Publication 811 (2008), appendix B: exact by the definitions of
#: pound, inch and standard acceleration of fall.
EXACT = {
    "n_m": "1", "lbf_in": "0.1129848290276167", "lbf_ft": "1.3558179483314004",
    "kgf_cm": "0.0980665",
}
#: How pint, another library, writes the same units.
PINT = {"n_m": "N*m", "lbf_in": "force_pound*inch", "lbf_ft": "force_pound*foot", "kgf_cm": "kilogram_force*centimeter"}
REGISTRY = pint.UnitRegistry()
AMOUNTS = st.decimals("0.01", "9999", places=2, allow_nan=False, allow_infinity=False)


@pytest.mark.parametrize("unit", sorted(EXACT))
def test_one_of_a_unit_is_exactly_what_its_definition_gives(unit):
    assert to_nm(1, unit) == Fraction(Decimal(EXACT[unit]))


def test_the_units_that_can_be_chosen_are_those_that_are_converted():
    assert set(load_edition().choices["torque_unit"]) == set(UNITS) == set(EXACT)


@pytest.mark.parametrize(("unit", "reading"), [
    ("lbf_in", "132.7612"), ("lbf_ft", "11.06343"), ("kgf_cm", "152.9574"),
])
def test_fifteen_newton_metres_read_in_another_unit(unit, reading):
    """From the factors of NIST SP 811, to the figures given."""
    places = len(reading.partition(".")[2])
    assert shown(from_nm(15, unit), places) == reading


def test_a_digit_swap_found_in_a_printed_table_would_be_noticed():
    """A public conversion page gives 8.50745782 lbf·in for 1 N·m; it is 8.850745791."""
    right = from_nm(1, "lbf_in")
    assert shown(right, 9) == "8.850745791"
    assert abs(right - Fraction("8.50745782")) / right > Fraction(38, 1000)
    assert to_nm("8.50745782", "lbf_in") < Fraction("0.962")


@given(amount=AMOUNTS, unit=st.sampled_from(sorted(UNITS)))
def test_there_and_back_is_exact(amount, unit):
    assert from_nm(to_nm(amount, unit), unit) == Fraction(amount)


@given(amount=AMOUNTS, unit=st.sampled_from(sorted(UNITS)))
def test_another_library_converts_alike(amount, unit):
    """Against pint, to its double precision."""
    there = REGISTRY.Quantity(float(amount), PINT[unit]).to("N*m").magnitude
    assert there == pytest.approx(float(to_nm(amount, unit)), rel=1e-12)


def test_the_short_form_nm_is_no_torque_to_the_other_library():
    """pint reads '15 Nm' as a fineness of yarn: an oracle must be asked in full."""
    assert not REGISTRY.Quantity("15 Nm").check("[force]*[length]")
    assert REGISTRY.Quantity("15 N*m").check("[force]*[length]")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "twelve", None])
def test_a_reading_that_is_no_figure_is_refused_with_its_value(value):
    with pytest.raises(Refusal) as refused:
        to_nm(value, "lbf_in")
    assert refused.value.code == "torque_figure_impossible"
    assert refused.value.figures["field"] == "reading"


@pytest.mark.parametrize("value", ["0", "-3", Decimal("-0.1")])
def test_a_torque_of_nothing_or_less_is_refused(value):
    with pytest.raises(Refusal) as refused:
        to_nm(value, "n_m")
    assert refused.value.code == "torque_not_above_zero"


def test_a_unit_that_nobody_defined_is_refused_with_those_that_are():
    with pytest.raises(Refusal) as refused:
        to_nm("10", "Nm")
    assert refused.value.code == "torque_unit_unknown" and "kgf_cm" in refused.value.figures["known"]


@pytest.mark.parametrize(("figure", "places", "read"), [
    (Fraction(13), 3, "13"), (Fraction(1, 3), 3, "0.333"), (Fraction(-1, 200), 2, "0"),
    (Fraction("12.4999"), 2, "12.5"), (Fraction(-5, 4), 1, "-1.2"),
])
def test_a_figure_is_shown_without_a_needless_tail(figure, places, read):
    assert shown(figure, places) == read
