"""An alignment is judged by its line and by how sure that line is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from shared_models.catalogue.sheets import demo_sheet
from shared_models.checks.alignment_reading import SCALE_FIELDS, read_alignment
from shared_models.entries.envelope import Subject
from shared_models.wording.alignment import alignment_notes
from shared_models.wording.sentences import sentence_of
from tests.fitting_desk import LEAD, Desk

SCALES = {
    "load_line_method": "two_scales", "board_length_mm": "600", "scale_back_kg": "22.0",
    "scale_front_kg": "18.0", "empty_back_kg": "0", "empty_front_kg": "0", "scale_resolution_kg": "0.1",
    "heel_from_back_support_mm": "140", "knee_from_heel_mm": "96", "distances_within_mm": "1",
    "load_line_offset_mm": "34.0", "height_difference_mm": "-4", "weight_on_prosthesis_kg": "40.0",
    "weight_on_sound_side_kg": "44", "balance": "even",
}
DIRECT = {
    "load_line_offset_mm": "36", "height_difference_mm": "-4", "weight_on_prosthesis_kg": "40",
    "weight_on_sound_side_kg": "44", "balance": "even",
}


@dataclass
class Judged:
    """State of a step, its remarks by code, and their sentences."""

    state: str
    codes: dict[str, bool]
    said: str


@pytest.fixture
def desk() -> Desk:
    return Desk().staff().before_the_bench().on_the_bench()


def stand(desk: Desk, body: dict[str, Any], kind: str = "static_alignment", step: str = "static") -> Judged:
    entry = desk.note(kind, body)
    found = desk.verdict().step(step)
    mine = [r for r in found.remarks if r.cause == entry.digest and not r.code.startswith("stale_")]
    return Judged(
        found.state, {r.code: r.blocks for r in mine}, " ".join(sentence_of(r, desk.view) for r in mine)
    )


def notes(desk: Desk, body: dict[str, Any], kind: str = "static_alignment") -> str:
    return "\n".join(n.sentence for n in alignment_notes(read_alignment(desk.view, kind, body), desk.view.edition))


def test_a_load_line_from_two_scales_meets_its_step(desk):
    assert stand(desk, SCALES) == Judged("met", {}, "")


def test_it_is_the_scales_that_are_judged_and_not_only_what_is_written_beside_them(desk):
    found = stand(desk, {**SCALES, "knee_from_heel_mm": "118", "load_line_offset_mm": "12.0"})
    assert found.codes == {"load_line_off": True}
    found = stand(desk, {**SCALES, "knee_from_heel_mm": "118"})
    assert found.codes == {"load_line_not_as_scales": True, "load_line_off": True}
    assert "recorded as 34 mm, and its two scales give 12 mm" in found.said


def test_an_interval_across_the_edge_is_doubted_and_does_not_block(desk):
    found = stand(desk, {**SCALES, "knee_from_heel_mm": "91.5", "load_line_offset_mm": "38.5"})
    assert (found.state, found.codes) == ("met", {"load_line_unsure": False})
    assert "38.5 ± 1.9 mm (95 %) lies across an edge of 34 ± 5 mm" in found.said


def test_a_direct_reading_is_doubted_the_same_way_once_it_is_said_how_sure_it_is(desk):
    assert stand(desk, {**DIRECT, "load_line_offset_mm": "38", "reading_within_mm": "3"}).codes == {"load_line_unsure": False}
    assert stand(desk, {**DIRECT, "load_line_offset_mm": "38"}).codes == {}
    outside = stand(desk, {**DIRECT, "load_line_offset_mm": "40", "reading_within_mm": "3"})
    assert outside.codes == {"load_line_off": True, "load_line_unsure": False}


def test_too_little_weight_makes_two_scales_void(desk):
    void = {**SCALES, "scale_back_kg": "14.0", "scale_front_kg": "11.4545", "weight_on_prosthesis_kg": "25.5", "weight_on_sound_side_kg": "60"}
    found = stand(desk, void)
    assert found.codes == {"load_line_void": True} and found.state == "open"
    assert "only 29.8 % of the weight stood on the prosthesis" in found.said
    off = {**void, "knee_from_heel_mm": "60", "load_line_offset_mm": "70.0"}
    assert stand(desk, off).codes == {"load_line_void": True}, "a void line is neither on nor off its target"
    assert stand(desk, {**void, "kept_because": "can't load more today"}).codes == {"load_line_void": False}
    assert "Void: 29.8 %" in notes(desk, void) and "To bring it to" not in notes(desk, void)


def test_without_the_sound_side_weighed_the_share_is_that_much_at_most(desk):
    desk.tune()
    closing = {k: v for k, v in SCALES.items() if k in (*SCALE_FIELDS, "load_line_method")}
    light = {**closing, "scale_back_kg": "14.0", "scale_front_kg": "11.4545", "load_line_offset_mm": "34.0"}
    assert stand(desk, light, "alignment_closing", "alignment_closing").codes == {"load_line_void": True}
    assert "Void: at most 30.9 %" in notes(desk, light, "alignment_closing"), "25.45 of 82.5 kg"


@pytest.mark.parametrize(("changed", "code", "words"), [
    ({"empty_back_kg": "30"}, "scales_impossible", "Back scale: it shows 8.00 kg less than with the empty board"),
    ({"scale_back_kg": "0.3", "scale_front_kg": "0.2"}, "scales_impossible", "nobody stands on it"),
    ({"heel_from_back_support_mm": "500"}, "scales_impossible", "-20 to 360 mm is right"),
    ({"scale_front_kg": ""}, "scales_incomplete", "'Front scale, prosthesis on the board' is missing"),
    ({"weight_on_sound_side_kg": "5"}, "scales_far_from_mass", "45.0 kg in sum, and this person weighs 82.5 kg"),
])
def test_scales_that_can_not_be_right_block_and_say_what_would_be(desk, changed, code, words):
    found = stand(desk, {**SCALES, **changed})
    assert found.codes.get(code) is True and found.state == "open"
    assert words in found.said


def test_scales_a_little_off_the_mass_are_doubted_only(desk):
    found = stand(desk, {**SCALES, "weight_on_sound_side_kg": "36"})
    assert found.codes == {"scales_doubted": False}


@pytest.mark.parametrize("weights", [("40", "44"), ("40", "5"), ("120", "100"), ("0", "0"), ("10", "60")])
@pytest.mark.parametrize("line", ["36", "39", "40", "-20"])
def test_a_record_without_the_newer_fields_is_judged_by_the_rules_it_was_made_under(desk, line, weights):
    """Only the four codes that existed before the newer fields did."""
    own, other = weights
    found = stand(desk, {**DIRECT, "load_line_offset_mm": line, "weight_on_prosthesis_kg": own, "weight_on_sound_side_kg": other})
    expected = set()
    if abs(float(line) - 34) > 5:
        expected.add("load_line_off")
    if own == other == "0":
        expected.add("no_weight")
    elif float(own) / (float(own) + float(other)) < 0.35:
        expected.add("little_weight_on_prosthesis")
    assert found.codes == dict.fromkeys(expected, True)


def test_a_whole_fitting_of_before_is_complete_as_it_was():
    assert Desk.finished().verdict().state == "complete"


# What is said beside a reading ---------------------------------------------------


def test_the_move_is_said_with_its_reason_its_doubt_and_what_it_does(desk):
    said = notes(desk, {**SCALES, "knee_from_heel_mm": "103"})
    assert "Load line 27.0 ± 1.9 mm in front of the knee centre." in said
    assert "Asked 34 ± 5 mm: outside." in said
    assert "To bring it to 34 mm: at 'Cove slide' slide what is above it 7.0 mm forward. The foot keeps its angle, the height stays." in said
    assert "Because the load line lies 7.0 ± 1.9 mm behind its target." in said
    assert "Or: at 'Elm joint' tip what is above it 0.9° back, and 0.9° forward again at 'Alder upper joint'." in said


def test_how_the_adapters_stand_now_is_taken_off_what_is_left(desk):
    body = {**SCALES, "knee_from_heel_mm": "103"}
    assert "Counted as if every adapter stood in its middle" in notes(desk, body)
    ended = notes(desk, {**body, "slide_above_knee_now_mm": "10"})
    assert "slide what is above it" not in ended.partition("To bring it to")[2].partition("Or:")[0]
    assert "Counted as if" not in ended


def test_what_no_adapter_reaches_is_said_plainly_with_the_nearest(desk):
    body = {**DIRECT, "load_line_offset_mm": "-40"}
    said = notes(desk, body)
    assert "Not reachable: no adapter of this leg brings it to 34 ± 5 mm by itself." in said
    assert "The nearest is 11.7 mm: at 'Elm joint' tip what is above it 7.0° back" in said, "−40 + 424 · sin 7°"


def test_a_move_smaller_than_the_reading_is_sure_is_not_suggested(desk):
    said = notes(desk, {**DIRECT, "load_line_offset_mm": "28", "reading_within_mm": "9"})
    assert "Read again before anything is moved." in said and "To bring it to" not in said


def test_moment_share_and_height_are_said(desk):
    said = notes(desk, {**DIRECT, "height_difference_mm": "-14"})
    assert "Weight on the prosthesis 47.6 %: 40.0 kg, 44 kg on the sound side." in said
    assert "Moment about the knee 14.1 N·m, extending" in said, "40 · 9.80665 · 36 / 1000"
    assert "The prosthesis is 14 mm short. Equal with a tube 14 mm longer, 252 mm between foot and knee." in said
    assert "14 mm under the prosthesis" in said
    assert "bending: the knee gives way unless it is damped" in notes(desk, {**DIRECT, "load_line_offset_mm": "-3"})


def test_another_heel_is_carried_through_the_leg(desk):
    desk.note("footwear", {"shoe_heel_height_mm": "20", "shoe": "boot"})
    said = notes(desk, DIRECT)
    assert "The shoe's heel is 10 mm higher than built in." in said
    assert "tips the whole leg 3.3° forward" in said and "29.2 mm back against the knee" in said
    assert "At 'Elm joint' tip what is above it 3.3° back to set it upright again." in said


def test_a_sheet_without_a_figure_leaves_its_result_not_available_and_never_a_default(desk):
    body = demo_sheet("foot_elm")
    del body["build"]
    sheet = desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", "demo-foot-elm"))
    desk.component("foot", sheet)
    said = notes(desk, {**DIRECT, "load_line_offset_mm": "20"})
    assert "Not available: the sheet lacks a figure (Elm demo foot (invented): its height from sole to upper end)." in said
    assert "To bring it to" not in said


def test_a_knee_sheet_without_a_target_is_named(desk):
    body = demo_sheet("knee_alder")
    del body["alignment"]
    sheet = desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", "demo-knee-alder"))
    desk.component("knee", sheet)
    assert "the sheet lacks a figure (Alder demo knee (invented): where the load line passes)" in notes(desk, DIRECT)


def test_the_bench_is_corrected_by_the_same_leg(desk):
    bench = {**desk.head("alignment/bench").body, "reference_line_offset_mm": "-8"}
    said = notes(desk, bench, "bench_alignment")
    assert "Reference line 8 mm behind the knee centre." in said
    assert "To bring it to 0 mm: at 'Cove slide' slide what is above it 8.0 mm forward." in said
    assert "From the front, the socket's reference point stands 24.9 mm outside the knee centre." in said, "286 · sin 5°"


@pytest.mark.parametrize("body", [
    {}, {"load_line_offset_mm": "wide"}, {"load_line_offset_mm": "9999999"}, {"load_line_method": "two_scales"},
    {"load_line_method": ["two_scales"]}, {**SCALES, "board_length_mm": "0"}, {**DIRECT, "height_difference_mm": "9999"},
    {**DIRECT, "tilt_at_foot_now_deg": "1000"},
])
def test_whatever_a_record_holds_something_sensible_is_said(desk, body):
    for kind in ("static_alignment", "alignment_recheck", "alignment_closing", "bench_alignment"):
        for note in alignment_notes(read_alignment(desk.view, kind, body), desk.view.edition):
            assert note.lead and "not stated" not in note.sentence
