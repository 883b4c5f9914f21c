"""Shares, the moment about the knee, masses, and scales that can't be right."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given, strategies as st

from shared_models.calculations.alignment.weights import (
    STANDARD_GRAVITY_M_S2,
    combined_mass_kg,
    knee_moment_nm,
    part_of_person,
    share_percent,
    standing,
)
from shared_models.quantities.refusals import Refusal

UNITS = pint.UnitRegistry()
KILOS = st.floats(1.0, 120.0)


def test_gravity_is_the_standard_one():
    """3rd General Conference on Weights and Measures, 1901; NIST SP 811, appendix B.8."""
    assert STANDARD_GRAVITY_M_S2 == (1 * UNITS.standard_gravity).to("m/s**2").magnitude == 9.80665


@pytest.mark.parametrize(("offset_mm", "moment_nm"), [(15, 5.8840), (10, 3.9227), (30, 11.7680)])
def test_forty_kilograms_in_front_of_the_knee_extend_it(offset_mm, moment_nm):
    """By arithmetic from standard gravity: 40 · 9.80665 · a / 1000.  10 to 30 mm in
    front is where the load line runs after below-knee amputation: Blumentritt S,
    Prosthet Orthot Int 1997;21:107-113; 15 mm is the lower bound of Blumentritt S
    et al., Prosthet Orthot Int 1999;23:231-238."""
    assert knee_moment_nm(40, offset_mm) == pytest.approx(moment_nm, abs=5e-5)


@given(KILOS, st.floats(-100, 100))
def test_the_moment_agrees_with_pint_in_other_units_and_back(weight, offset):
    """Oracle: pint, pounds and inches (exact by NIST SP 811)."""
    force = (weight * UNITS.kilogram).to("pound") * UNITS.standard_gravity
    moment = force * (offset * UNITS.millimeter).to("inch")
    assert moment.to("newton * meter").magnitude == pytest.approx(knee_moment_nm(weight, offset), abs=1e-9)


@given(KILOS, st.floats(0.1, 100))
def test_a_line_behind_the_knee_bends_it_as_much_as_one_in_front_extends_it(weight, offset):
    assert knee_moment_nm(weight, -offset) == -knee_moment_nm(weight, offset) < 0


def test_36_and_44_kg_are_a_share_of_45_percent():
    """By arithmetic: 100 · 36 / (36 + 44)."""
    assert share_percent(36.0, 44.0) == pytest.approx(45.0)
    assert share_percent(Decimal(36), Decimal(44)) == Decimal(45)


@given(KILOS, KILOS)
def test_the_two_sides_change_places_and_make_a_hundred(own, other):
    assert share_percent(own, other) + share_percent(other, own) == pytest.approx(100.0)


def test_no_weight_on_either_side_is_no_share():
    with pytest.raises(Refusal, match="alignment_no_weight"):
        share_percent(0.0, 0.0)


def test_carried_load_counts_to_what_the_leg_bears():
    assert combined_mass_kg(82.5, 6) == 88.5
    with pytest.raises(Refusal, match="alignment_too_low"):
        combined_mass_kg(82.5, -1)


@pytest.mark.parametrize("total", [82.5, 85.0, 88.5])
def test_anything_from_bare_to_loaded_is_right(total):
    assert not standing(total, 82.5, 6).doubted


@pytest.mark.parametrize("total", [75.0, 95.0])
def test_scales_a_little_further_off_are_doubted(total):
    assert standing(total, 82.5, 6).doubted


@pytest.mark.parametrize("total", [50.0, 120.0])
def test_scales_far_from_the_person_are_refused_with_both_figures(total):
    with pytest.raises(Refusal) as refused:
        standing(total, 82.5, 6)
    assert refused.value.code == "alignment_scales_far_from_mass"
    assert refused.value.figures == {"total": f"{total:.1f}", "lowest": "82.5", "highest": "88.5"}


def test_one_foot_never_bears_more_than_the_person():
    assert part_of_person(60, 82.5, 6) and not part_of_person(95, 82.5, 6)
    with pytest.raises(Refusal, match="alignment_more_than_person"):
        part_of_person(120, 82.5, 6)


@pytest.mark.parametrize("total", [-1.0, float("nan"), float("-inf")])
def test_scales_that_read_less_than_nothing_are_refused(total):
    with pytest.raises(Refusal) as refused:
        standing(total, 82.5)
    assert refused.value.figures["field"] == "The two scales in sum"
