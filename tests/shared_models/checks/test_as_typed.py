"""What was typed in pounds, inches or inch-pounds stands in the record beside the metric figure."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.catalogue.edition import load_edition
from shared_models.checks.as_typed import AS_TYPED, exact_figure, without
from shared_models.checks.bodies import body_troubles
from shared_models.checks.entering import Limits, limits_in, limits_of, read_amount, read_form
from shared_models.checks.masses import masses_of
from shared_models.checks.torque_reading import in_wrench_unit, torque_reading
from shared_models.checks.verdict import judge
from shared_models.wording.course_lines import field_words
from shared_models.wording.entering import refusal_words
from tests.fitting_desk import PROSTHETIST, Desk

EDITION = load_edition()
BODY = EDITION.kinds["body"]
MASS = BODY.field("body_mass_kg")


def desk_with_person() -> Desk:
    desk = Desk().staff()
    desk.note("opened", {
        "person": desk.person.id, "prosthetist": PROSTHETIST, "side": "left",
        "amputation_level": "transfemoral", "socket_stage": "definitive",
    })
    return desk


def read(**typed: str):
    return read_form(BODY, typed, EDITION.choices, date(2026, 5, 12))


def test_a_mass_typed_in_pounds_is_recorded_in_kilograms_beside_what_was_typed():
    """180 lb = 81.6466266 kg: NIST SP 811, 1 lb = 0.45359237 kg exactly."""
    body = read(body_mass_kg="180 lb", carried_load_kg="6").body
    assert body == {"body_mass_kg": "81.6", "carried_load_kg": "6", AS_TYPED: {"body_mass_kg": "180 lb"}}


def test_a_figure_in_the_record_s_own_unit_has_nothing_beside_it():
    assert read(body_mass_kg="81.6 kg", carried_load_kg="6").body == {"body_mass_kg": "81.6", "carried_load_kg": "6"}


@pytest.mark.parametrize(("typed", "says"), [
    ("180 stone", "not known here"), ("180 mm", "is a length, and a mass is asked"), ("heavy lb", "is not a number"), ("1..2 lb", "can't be read"),
    ("5000 lb", "above what is possible"), ("2 lb", "below what is possible"), ("180 lb lb", "not known here"),
])
def test_what_can_not_be_taken_is_refused_in_words_that_say_what_would_be_right(typed, says):
    refused = read(body_mass_kg=typed, carried_load_kg="6").refused["body_mass_kg"]
    assert says in refusal_words(refused), refusal_words(refused)


def test_a_limit_is_told_in_the_unit_that_was_typed():
    refused = read(body_mass_kg="5000 lb", carried_load_kg="6").refused["body_mass_kg"]
    own = limits_in(limits_of(MASS), "lb")
    assert own.words() in refusal_words(refused) and "lb" in own.words()


@given(
    figure=st.decimals("-40", "400", places=2, allow_nan=False, allow_infinity=False),
    units=st.sampled_from([("kg", "lb"), ("mm", "in"), ("m", "ft"), ("N·m", "lbf·in")]),
    highest=st.decimals("0", "200", places=1),
)
def test_a_limit_judges_the_exact_figure_and_the_recorded_one_alike(figure, units, highest):
    """The limit is held against what was typed, exactly; rounding decides nothing."""
    limits = Limits(units[0], "-5", str(highest))
    reading = read_amount(f"{figure} {units[1]}", limits)
    from shared_models.quantities.units import typed_from
    exact = typed_from(f"{figure} {units[1]}").into(units[0]).exact
    assert (reading.refusal == "") is (-5 <= exact <= highest)
    if not reading.refusal:
        again = read_amount(reading.value, limits)
        assert not again.refusal and again.doubt == reading.doubt


@given(
    lowest=st.decimals("-200", "0", places=1), highest=st.decimals("1", "400", places=1),
    units=st.sampled_from([("kg", "lb"), ("mm", "in"), ("m", "ft"), ("N·m", "lbf·in")]),
)
def test_a_limit_as_it_is_told_can_itself_be_typed(lowest, highest, units):
    limits = Limits(units[0], str(lowest), str(highest))
    own = limits_in(limits, units[1])
    for told in (own.lowest, own.highest):
        if Decimal(own.lowest) <= Decimal(own.highest):
            assert read_amount(f"{told} {units[1]}", limits).refusal == ""


def test_whoever_reads_the_record_reads_both():
    desk = desk_with_person()
    desk.note("body", {"body_mass_kg": "81.6", "carried_load_kg": "6", AS_TYPED: {"body_mass_kg": "180 lb"}})
    assert field_words(desk.view, MASS, desk.view.head("body")) == "81.6 kg (typed as 180 lb)"


def remarks(body: dict) -> list[str]:
    desk = desk_with_person()
    desk.note("body", body)
    verdict = judge(desk.view, date(2026, 5, 12))
    return [r.code for step in verdict.steps for r in step.remarks if r.slot == "body"]


def test_an_entry_whose_figure_is_not_what_was_typed_is_remarked():
    """However it came here, signed or not: it is kept as it is, and said."""
    assert "typed_disagrees" in remarks({"body_mass_kg": "91.6", "carried_load_kg": "6", AS_TYPED: {"body_mass_kg": "180 lb"}})
    assert "typed_disagrees" in remarks({"body_mass_kg": "81.6", "carried_load_kg": "6", AS_TYPED: {"body_mass_kg": "180 ells"}})
    assert "typed_disagrees" not in remarks({"body_mass_kg": "81.6", "carried_load_kg": "6", AS_TYPED: {"body_mass_kg": "180 lb"}})


@pytest.mark.parametrize("typed", [["180 lb"], "180 lb", {"body_mass_kg": 180}, {"body_mass_kg": "1" * 41}])
def test_typed_words_of_another_form_are_a_trouble_of_the_body(typed):
    desk = desk_with_person()
    desk.note("body", {"body_mass_kg": "81.6", "carried_load_kg": "6", AS_TYPED: typed})
    assert AS_TYPED in body_troubles(desk.view.head("body"))
    assert field_words(desk.view, MASS, desk.view.head("body")).startswith("81.6 kg")


def test_two_masses_are_added_as_they_were_typed_and_not_as_they_were_rounded():
    """249.9 lb + 25.7 lb = 275.6 lb = 125.010057 kg; the recorded 113.35 and 11.66 make 125.01.

    249.7 lb + 25.9 lb is the same sum.  By arithmetic.
    """
    body = read(body_mass_kg="249.9 lb", carried_load_kg="25.7 lb").body
    desk = desk_with_person()
    desk.note("body", body)
    total = sum(exact_figure(body, key, "kg") for key in ("body_mass_kg", "carried_load_kg"))
    assert float(total) == pytest.approx(275.6 * 0.45359237, rel=1e-12)
    assert masses_of(desk.view).combined_kg == pytest.approx(275.6 * 0.45359237, rel=1e-12)


def test_a_field_left_out_takes_what_was_typed_in_it_with_it():
    body = {"a": "1", "b": "2", AS_TYPED: {"a": "1 in", "b": "2 in"}}
    assert without(body, ["a"]) == {"b": "2", AS_TYPED: {"b": "2 in"}}
    assert without(body, ["a", "b"]) == {}


def test_a_unit_behind_a_torque_says_what_the_wrench_shows():
    """62 lbf·in = 7.005059399712235 N·m (NIST SP 811: 0.1129848290276167 N·m each)."""
    read = in_wrench_unit({"screw": "s", "reading_nm": "7.01", AS_TYPED: {"reading_nm": "62 in-lb"}})
    assert read == {"screw": "s", "reading_unit": "lbf_in", "reading_as_typed": "62", "reading_nm": "7.0051"}
    assert torque_reading(read).reading_nm == pytest.approx(7.005059399712235)


def test_a_reading_in_another_unit_does_not_change_what_the_wrench_s_range_says():
    """5 N·m = 44.25 lbf·in."""
    read = in_wrench_unit({
        "reading_nm": "7.01", "wrench_lowest": "5", "wrench_highest": "25", AS_TYPED: {"reading_nm": "62 in-lb"},
    })
    assert read[AS_TYPED] == {"wrench_lowest": "5 N·m", "wrench_highest": "25 N·m"}
    assert float(read["wrench_lowest"]) == pytest.approx(5 / 0.1129848290276167, abs=0.5)


def test_a_reading_typed_in_newton_metres_on_a_wrench_in_inch_pounds_is_newton_metres():
    read = in_wrench_unit({"reading_unit": "lbf_in", "reading_as_typed": "62.0", "reading_nm": "7", AS_TYPED: {"reading_as_typed": "7 Nm"}})
    assert read == {"reading_unit": "n_m", "reading_nm": "7"}
