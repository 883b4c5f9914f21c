"""The load line from two scales under a board, and from a direct reading."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, strategies as st
from uncertainties import ufloat

from shared_models.calculations.alignment.load_line import (
    TwoScales,
    board_centre_mm,
    direct_load_line,
    load_line_from,
    one_scale_centre_mm,
    sensitivity_mm_per_kg,
)
from shared_models.quantities.refusals import Refusal

SCALES = TwoScales(600, 22.0, 18.0, 0.0, 0.0, 0.1, 140.0, 96.0, 1.0)


def test_two_supports_of_22_and_18_kg_bear_270_mm_from_the_first():
    """Lever balance, by arithmetic: 18 · 600 / (22 + 18)."""
    assert board_centre_mm(600, 22.0, 18.0) == pytest.approx(270.0, abs=1e-9)


def test_one_scale_under_the_front_says_the_same_when_the_weight_is_known():
    """Reaction board with one scale, by arithmetic: (18 − 0) · 600 / 40."""
    assert one_scale_centre_mm(600, 20.5, 2.5, 40.0) == pytest.approx(270.0, abs=1e-9)


def test_a_kilogram_more_moves_the_line_by_825_and_675_mm():
    """The lever's derivatives, by arithmetic: L · R₁ / ΣR² and −L · R₂ / ΣR²; with
    ± 0.1 kg on each scale the root of squares is 1.07 mm."""
    on_back, on_front = sensitivity_mm_per_kg(600, 22.0, 18.0)
    assert (on_front, on_back) == (pytest.approx(8.25), pytest.approx(-6.75))
    assert ((0.1 * on_back) ** 2 + (0.1 * on_front) ** 2) ** 0.5 == pytest.approx(1.07, abs=0.005)


def test_the_board_itself_is_taken_off():
    """A board of 5 kg that lies 2 kg on the back and 3 kg on the front changes nothing."""
    heavier = replace(SCALES, back_kg=24.0, front_kg=21.0, empty_back_kg=2.0, empty_front_kg=3.0)
    assert load_line_from(heavier).offset_mm == pytest.approx(load_line_from(SCALES).offset_mm)
    assert load_line_from(heavier).weight_kg == pytest.approx(40.0)


def test_the_line_is_counted_from_the_knee_centre_forward():
    found = load_line_from(SCALES)
    assert found.from_heel_mm == pytest.approx(130.0)
    assert found.offset_mm == pytest.approx(34.0)
    assert load_line_from(replace(SCALES, knee_from_heel_mm=150.0)).offset_mm == pytest.approx(-20.0)


_READINGS = st.builds(
    TwoScales, board_length_mm=st.floats(400, 900), back_kg=st.floats(12, 40), front_kg=st.floats(12, 40),
    empty_back_kg=st.floats(0, 5), empty_front_kg=st.floats(0, 5), resolution_kg=st.floats(0.01, 1.0),
    heel_from_back_support_mm=st.floats(60, 110), knee_from_heel_mm=st.floats(20, 180),
    distances_within_mm=st.floats(0.1, 10.0),
).map(lambda r: replace(r, board_length_mm=r.board_length_mm * 0.6))


@given(_READINGS)
def test_the_uncertainties_package_propagates_to_the_same_figure(scales):
    """Oracle: `uncertainties` (linear propagation, JCGM 100:2008, 5.1.2)."""
    step, placed = scales.resolution_kg / 12**0.5, scales.distances_within_mm / 3**0.5
    back = ufloat(scales.back_kg, step) - ufloat(scales.empty_back_kg, step)
    front = ufloat(scales.front_kg, step) - ufloat(scales.empty_front_kg, step)
    offset = front * ufloat(scales.board_length_mm, placed) / (back + front)
    offset -= ufloat(scales.heel_from_back_support_mm, placed) + ufloat(scales.knee_from_heel_mm, placed)
    try:
        found = load_line_from(scales)
    except Refusal as refusal:
        assert refusal.code == "alignment_weight_off_the_foot"
        return
    assert found.offset_mm == pytest.approx(offset.nominal_value, abs=1e-9)
    assert found.standard_mm == pytest.approx(offset.std_dev, rel=1e-9)
    by_source = sum(doubt.standard_mm**2 for doubt in found.doubts) ** 0.5
    assert by_source == pytest.approx(found.standard_mm), "the parts make the whole"


@given(_READINGS, st.floats(0.1, 0.9))
def test_finer_scales_and_nearer_placing_make_it_surer(scales, finer):
    try:
        coarse = load_line_from(scales)
    except Refusal:
        return
    for better in (
        replace(scales, resolution_kg=scales.resolution_kg * finer),
        replace(scales, distances_within_mm=scales.distances_within_mm * finer),
    ):
        found = load_line_from(better)
        assert found.standard_mm < coarse.standard_mm
        assert found.half_width_95_mm < coarse.half_width_95_mm * 1.001


def test_a_direct_reading_is_as_sure_as_it_was_said_to_be():
    """Rectangle of ± 2 mm: JCGM 100:2008, 4.3.7; 95 % of its width by arithmetic."""
    found = direct_load_line(31.0, 2.0)
    assert found.standard_mm == pytest.approx(2 / 3**0.5)
    assert found.half_width_95_mm == pytest.approx(1.9)
    bare = direct_load_line(31.0)
    assert (bare.standard_mm, bare.half_width_95_mm, bare.interval_mm) == (None, None, (31.0, 31.0))


def test_an_interval_across_the_edge_of_tolerance_can_not_tell():
    assert direct_load_line(38.0, 2.0).straddles(34, 5)
    assert direct_load_line(40.0, 2.0).straddles(34, 5), "outside, but perhaps not"
    assert not direct_load_line(34.0, 2.0).straddles(34, 5)
    assert not direct_load_line(50.0, 2.0).straddles(34, 5)
    assert not direct_load_line(38.9).straddles(34, 5), "nobody said how sure it is"


@pytest.mark.parametrize(("changed", "code", "field"), [
    ({"back_kg": -0.2}, "alignment_too_low", "Back scale"),
    ({"front_kg": float("nan")}, "alignment_not_a_figure", "Front scale"),
    ({"front_kg": float("inf")}, "alignment_not_a_figure", "Front scale"),
    ({"board_length_mm": 0.0}, "alignment_too_low", "Board, support to support"),
    ({"board_length_mm": 5000.0}, "alignment_too_high", "Board, support to support"),
    ({"resolution_kg": 0.0}, "alignment_too_low", "Smallest step of the scales"),
    ({"distances_within_mm": -1.0}, "alignment_too_low", "Distances right to within"),
    ({"empty_front_kg": 19.0}, "alignment_below_empty_board", "Front scale"),
])
def test_scales_that_can_not_read_so_are_refused_by_name(changed, code, field):
    with pytest.raises(Refusal) as refused:
        load_line_from(replace(SCALES, **changed))
    assert (refused.value.code, refused.value.figures["field"]) == (code, field)


def test_an_empty_board_and_a_weight_off_the_foot_are_refused():
    with pytest.raises(Refusal, match="alignment_nobody_on_board"):
        load_line_from(replace(SCALES, back_kg=0.5, front_kg=0.4))
    with pytest.raises(Refusal, match="alignment_weight_off_the_foot"):
        load_line_from(replace(SCALES, heel_from_back_support_mm=400.0))


def test_an_empty_scale_a_step_low_is_rounding_and_not_a_fault():
    tipped = replace(SCALES, back_kg=0.0, empty_back_kg=0.1, front_kg=40.0, heel_from_back_support_mm=500)
    assert load_line_from(tipped).from_heel_mm == pytest.approx(100.0)
