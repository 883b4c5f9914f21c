"""What stands between a hazard of a fitting and the person who wears it."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.tuning import Tried, suggest
from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import FUNCTIONS, demo_sheet, sheet_from
from shared_models.checks.entering import limits_of, read_amount
from tests.fitting_desk import Desk

KNEE = sheet_from(demo_sheet("knee_alder"))
EDITION = load_edition()
UNIT_ENDINGS = {
    "mm": "mm", "kg": "kg", "°": "deg", "N·m": "nm", "s": "s", "m": "m", "of 10": "0_10",
    "points": "points", "steps": "steps", "kB": "kb", "pixels": "px",
}
#: A count of something that the name itself says.
COUNTED = {
    "min": {"minutes_walked"}, "steps": {"steps", "steps_a_day"}, "falls": {"falls"}, "h": {"hours_worn_a_day"}, "times": {"wrench_cycles"}, "entries": {"known_to", "count"},
}


def test_every_amount_states_its_unit_in_its_name() -> None:
    measured = [
        field for kind in EDITION.kinds.values() for field in kind.fields
        if field.unit and not field.unit.startswith("@")
    ]
    assert len(measured) > 20
    wrong = [
        f"{field.key} in {field.unit}" for field in measured
        if field.key not in COUNTED.get(field.unit, ())
        and not re.search(rf"_{UNIT_ENDINGS.get(field.unit, '!')}$", field.key)
    ]
    assert not wrong


def test_a_torque_is_recorded_in_newton_metres_even_when_the_wrench_shows_another_unit() -> None:
    """What the wrench showed may stand beside it, in the unit that is said with it."""
    readings = {
        f.key: (f.unit, f.required) for k in EDITION.kinds.values() for f in k.fields
        if "torque" in k.key and f.key.startswith("reading") and f.unit
    }
    assert readings == {"reading_nm": ("N·m", True), "reading_as_typed": ("@reading_unit", False)}


@pytest.mark.parametrize("reading", ["10.4", "11.6"])
def test_a_torque_outside_the_sheets_window_meets_nothing(reading: str) -> None:
    """The sheet says 11 N·m within 5 %."""
    desk = Desk.finished()
    desk.final_torque("knee.top_front", reading)
    step = desk.verdict().step("torque")
    assert step.state == "open"
    assert [r.code for r in step.remarks] == ["torque_outside"]


def test_a_torque_read_off_in_inch_pounds_is_refused_with_the_range() -> None:
    """11 N·m are 97.4 inch pounds, more than any screw of this class bears."""
    field = EDITION.kinds["torque_final"].field("reading_nm")
    found = read_amount("97.4", limits_of(field))
    assert (found.refusal, found.figures["range"]) == ("above_range", "0.1 to 60 N·m")


@pytest.mark.parametrize("reading", ["10.45", "11", "11.55"])
def test_a_torque_at_the_edge_of_the_window_is_taken(reading: str) -> None:
    desk = Desk.finished()
    desk.final_torque("knee.top_front", reading)
    assert desk.verdict().step("torque").state == "met"


def test_corrections_made_apart_stay_disputed_until_somebody_settles_them() -> None:
    desk = Desk.finished()
    other = desk.beside("tablet-b")
    wrong = desk.head("alignment/static")
    desk.correct(wrong, load_line_offset_mm="35")
    other.correct(wrong, load_line_offset_mm="33")
    desk.take(other)
    assert desk.verdict().step("static").state == "disputed"
    assert desk.verdict().state == "incomplete"

    desk.note("static_alignment", {**wrong.body, "load_line_offset_mm": "33"}, settles=True)

    assert desk.verdict().step("static").state == "met"
    assert {e.body["load_line_offset_mm"] for e in desk.view.slot("alignment/static").entries.values()} == {"36", "35", "33"}


@pytest.mark.parametrize(("mass", "load", "state"), [
    ("112", "6", "met"), ("112.5", "6", "open"), ("118.5", "0", "open"),
])
def test_a_person_above_the_weakest_parts_limit_is_never_suitable(mass, load, state) -> None:
    """The demo knee bears 118 kg with the load carried; a reason changes nothing."""
    desk = Desk().staff().before_the_bench(mass, load)
    desk.note("candidacy", {"suitable": "yes", "because": "the person asked for it"})
    step = desk.verdict().step("candidacy")
    assert step.state == state
    assert ("mass_above_limit" in {r.code for r in step.remarks}) == (state == "open")


_findings = st.lists(st.fixed_dictionaries({
    "finding": st.sampled_from([f.key for f in EDITION.findings]),
    "grade": st.sampled_from(["none", "slight", "marked"]),
}), max_size=4)


@given(st.sampled_from(FUNCTIONS), st.integers(0, 100), _findings, st.integers(0, 100))
def test_no_suggestion_leaves_the_sheets_range_or_its_largest_step(function, at, findings, confirmed) -> None:
    adjuster = KNEE.adjuster(function)
    span = adjuster.highest - adjuster.lowest
    position = adjuster.lowest + (Decimal(at) * span / 100).quantize(Decimal(1))
    last = adjuster.lowest + (Decimal(confirmed) * span / 100).quantize(Decimal(1))

    found = suggest(adjuster, position, [Tried(position, tuple(findings))], EDITION.findings, last)

    if found.position is not None:
        assert adjuster.lowest <= found.position <= adjuster.highest
    if found.action == "turn":
        assert 0 < abs(found.position - position) <= adjuster.largest_step


@given(st.integers(1, 24), st.integers(0, 24), _findings)
def test_no_damping_when_loaded_restores_before_anything_else(at, confirmed, beside) -> None:
    adjuster = KNEE.adjuster("stance_threshold")
    seen = [*beside, {"finding": "no_damping_when_loaded", "grade": "slight"}]

    found = suggest(adjuster, Decimal(at), [Tried(Decimal(at), tuple(seen))], EDITION.findings, Decimal(confirmed))

    # A position confirmed at or above the one where damping was missing is no safe one.
    back = Decimal(confirmed) if confirmed < at else adjuster.lowest
    assert (found.action, found.position) == ("restore", back)
