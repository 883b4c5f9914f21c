"""What is typed in pounds, inches or inch-pounds is the same figure in metric, exactly."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.quantities.units import (
    CUSTOMARY,
    FAMILIES,
    agrees,
    factor_between,
    in_tenths,
    rounded,
    shown_in,
    typed_from,
)

#: Another library's names of the same units; it counts them from its own table of definitions.
PINT = {
    "kg": "kilogram", "lb": "pound", "m": "meter", "cm": "centimeter", "mm": "millimeter",
    "in": "inch", "ft": "foot", "N·m": "newton * meter", "lbf·in": "force_pound * inch",
    "lbf·ft": "force_pound * foot", "kgf·cm": "kilogram_force * centimeter",
    "N": "newton", "lbf": "force_pound", "kgf": "kilogram_force",
}
REGISTRY = pint.UnitRegistry(non_int_type=Fraction)
PAIRS = [(a, b) for units in FAMILIES.values() for a in units for b in units]


@pytest.mark.parametrize(("unit", "other", "exact"), [
    ("lb", "kg", "0.45359237"), ("in", "mm", "25.4"), ("ft", "m", "0.3048"),
    ("lbf", "N", "4.4482216152605"), ("lbf·in", "N·m", "0.1129848290276167"),
    ("lbf·ft", "N·m", "1.3558179483314004"), ("kgf·cm", "N·m", "0.0980665"),
])
def test_one_of_a_unit_is_what_its_definition_gives(unit, other, exact):
    """NIST Special Publication 811 (2008), appendix B.8: exact factors for length, mass, force and torque."""
    assert factor_between(unit, other) == Fraction(Decimal(exact))


@pytest.mark.parametrize(("unit", "other"), PAIRS)
def test_another_library_counts_every_factor_alike(unit, other):
    one = REGISTRY.Quantity(Fraction(1), PINT[unit]).to(PINT[other])
    assert float(one.magnitude) == pytest.approx(float(factor_between(unit, other)), rel=1e-14)


@pytest.mark.parametrize(("words", "exact", "unit"), [
    ("180 lb", "180", "lb"), ("180lbs", "180", "lb"), ("180.5 pounds", "180.5", "lb"),
    ("62 in-lb", "62", "lbf·in"), ("62 in·lbf", "62", "lbf·in"), ("62 lbf in", "62", "lbf·in"),
    ("15 Nm", "15", "N·m"), ("15 N·m", "15", "N·m"), ("5 ft-lb", "5", "lbf·ft"),
    ("1 1/8 in", "1.125", "in"), ("1/8\"", "0.125", "in"), ("-3/16 in", "-0.1875", "in"),
    ("5 ft 11 in", "71", "in"), ("5'11\"", "71", "in"), ("5’ 11″", "71", "in"), ("1,5 in", "1.5", "in"),
    ("−2 in", "-2", "in"),
])
def test_a_figure_is_read_with_its_unit_as_people_write_it(words, exact, unit):
    typed = typed_from(words)
    assert typed is not None and (typed.exact, typed.unit) == (Fraction(exact), unit)


@pytest.mark.parametrize("words", [
    "lb", "180", "180 stone", "1/7 in", "9/8 in", "1/8 lb", "5 ft 13 in", "5 ft -3 in", "5.5 ft 3 in",
    "1e3 lb", "nan lb", "1..2 lb", "5 ft 11 lb", "5 ft 11", "12 in in",
])
def test_what_states_no_figure_or_no_known_unit_is_not_guessed(words):
    assert typed_from(words) is None


@pytest.mark.parametrize(("words", "unit", "recorded"), [
    ("180 lb", "kg", "81.6"), ("180.5 lb", "kg", "81.87"), ("220 lb", "kg", "99.8"), ("62 in-lb", "N·m", "7.01"),
    ("1 in", "mm", "25.4"), ("1/8 in", "mm", "3.2"), ("5 ft 11 in", "mm", "1803.4"), ("33 ft", "m", "10.1"),
])
def test_a_figure_is_recorded_to_no_finer_place_than_it_was_typed(words, unit, recorded):
    """By arithmetic from the exact factors: 180 lb is 81.6466266 kg, 62 lbf·in 7.00505940 N·m, 33 ft 10.0584 m."""
    assert rounded(typed_from(words).into(unit)) == recorded


@given(
    figure=st.decimals("0", "9999", places=2, allow_nan=False, allow_infinity=False),
    units=st.sampled_from([(b, a) for a, b in CUSTOMARY.items()]),
    limits=st.lists(st.decimals("0", "9999", places=1), max_size=3),
)
def test_rounding_never_moves_a_figure_over_a_limit_or_onto_one(figure, units, limits):
    typed = typed_from(f"{figure} {units[0]}").into(units[1])
    recorded = Fraction(rounded(typed, limits))
    assert agrees(Decimal(rounded(typed, limits)), typed)
    for limit in map(Fraction, limits):
        assert (typed.exact > limit) == (recorded > limit)
        assert (typed.exact < limit) == (recorded < limit)


@given(
    figure=st.decimals("0", "9999", places=1, allow_nan=False, allow_infinity=False),
    units=st.sampled_from([(b, a) for a, b in CUSTOMARY.items()]),
)
def test_a_recorded_figure_reads_back_as_it_was_typed(figure, units):
    there, back = units
    recorded = rounded(typed_from(f"{figure} {there}").into(back))
    assert Decimal(shown_in(recorded, back, there)) == figure


def test_a_figure_that_is_another_one_does_not_agree_with_what_was_typed():
    typed = typed_from("180 lb").into("kg")
    assert agrees(Decimal("81.6"), typed) and not agrees(Decimal("82"), typed)


def test_a_sum_shows_on_which_side_of_a_limit_it_lies():
    assert in_tenths(Fraction("100.0150000001"), [Decimal(100)]) == "100.02"
    assert in_tenths(Fraction("88.55")) == "88.55"
