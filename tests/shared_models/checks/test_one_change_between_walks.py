"""One thing is changed, then it is walked: a second change before the next walk is said, with its reason."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import demo_sheet
from shared_models.catalogue.soundness import self_check
from shared_models.checks.changed_since import changed_since_walk, second_change
from shared_models.entries.envelope import Subject
from shared_models.wording.course_lines import course_of
from shared_models.wording.sentences import sentence_of
from tests.fitting_desk import LEAD, Desk

BENCH = {"reference_line_offset_mm": "0", "heel_height_mm": "10", "socket_flexion_deg": "10", "socket_adduction_deg": "5", "build_height_mm": "498"}
STOOD = {"load_line_offset_mm": "36", "height_difference_mm": "-4", "weight_on_prosthesis_kg": "40", "weight_on_sound_side_kg": "44", "balance": "even"}


def walked() -> Desk:
    """A desk whose person has walked once, with the threshold at 1."""
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.stand()
    desk.turn("stance_threshold", "1")
    desk.walk("stance_threshold")
    return desk


def said(desk: Desk) -> dict[str, str]:
    """What the verdict says of second changes, by where it stands; it stops nobody."""
    found = {}
    for step in desk.verdict().steps:
        for remark in step.remarks:
            if remark.code.startswith("second_change"):
                assert not remark.blocks
                found[remark.slot] = sentence_of(remark, desk.view)
    return found


def changed(desk: Desk) -> set[str]:
    return {c.code for c in changed_since_walk(desk.view)}


def another_foot(desk: Desk) -> None:
    sheet = next(e for e in desk.record.entries.values() if e.body.get("part") == "foot")
    desk.component("foot", sheet, serial="F-2")


ONE = {
    "an adjuster": (lambda d: d.turn("swing_flexion", "9"), {"setting/swing_flexion"}),
    "the load line": (lambda d: d.stand("30"), {"alignment/static#load_line_offset_mm"}),
    "a figure of the bench": (lambda d: d.note("bench_alignment", {**BENCH, "socket_flexion_deg": "13"}), {"alignment/bench#socket_flexion_deg"}),
    "a screw that was moved": (lambda d: d.note("screw_moved", {"screw": "foot.front", "what": "moved", "why": "toe out"}), {"screw_moved/foot.front"}),
    "a component": (another_foot, {"component/foot"}),
    "the shoe": (lambda d: d.note("footwear", {"shoe_heel_height_mm": "20", "shoe": "boot"}), {"footwear"}),
}


@pytest.mark.parametrize("what", ONE)
def test_together_with_a_turn_before_the_same_walk_it_is_a_second_change(what):
    change, codes = ONE[what]
    desk = walked()
    change(desk)
    assert changed(desk) == codes
    assert said(desk) == {}, "one change is no matter"
    desk.turn("swing_extension", "9")
    assert "and no reason is given" in said(desk)["setting/swing_extension"]
    desk.walk("stance_threshold")
    assert changed(desk) == set(), "walked with it"
    desk.turn("swing_extension", "10")
    assert said(desk) == {}, "one change since that walk"


def test_a_turn_comes_first_and_the_alignment_second():
    desk = walked()
    desk.turn("swing_flexion", "9")
    desk.stand("30")
    assert said(desk) == {"alignment/static": "Standing alignment: changed before the same walk as swing flexion, and no reason is given. That walk tells of neither alone."}


def test_two_figures_of_one_alignment_are_two_changes_and_are_asked_about_before_they_are_saved():
    desk = walked()
    both = {**STOOD, "load_line_offset_mm": "30", "height_difference_mm": "4"}
    assert len(second_change(desk.view, "alignment/static", both)) == 2
    assert second_change(desk.view, "alignment/static", {**STOOD, "load_line_offset_mm": "30"}) == ()


def test_two_adapters_that_stand_elsewhere_are_two_changes_and_the_line_that_follows_them_is_none():
    desk = Desk().staff().before_the_bench().on_the_bench()
    set_ = {**STOOD, "slide_above_knee_now_mm": "0", "tilt_at_foot_now_deg": "1"}
    desk.note("static_alignment", set_)
    desk.walk("stance_threshold")
    slid = {**set_, "slide_above_knee_now_mm": "4", "load_line_offset_mm": "31"}
    assert second_change(desk.view, "alignment/static", slid) == ()
    found = second_change(desk.view, "alignment/static", {**slid, "tilt_at_foot_now_deg": "2"})
    assert {c.figure for c in found} == {"slide_above_knee_now_mm", "tilt_at_foot_now_deg"}


def test_the_reason_stated_stands_in_the_verdict_and_in_the_course():
    desk = walked()
    desk.turn("swing_flexion", "9")
    why = "the person can't come again this week"
    desk.note("footwear", {"shoe_heel_height_mm": "10", "shoe": "boot", "besides_because": why})
    assert said(desk) == {"footwear": f"Footwear: changed before the same walk as swing flexion, because: {why}"}
    line, = (line for line in course_of(desk.view) if any(why in note for note in line.notes))
    assert line.what == "Footwear"


def test_before_the_first_walk_nothing_is_asked():
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.stand()
    for change, _ in ONE.values():
        change(desk)
    assert changed(desk) == set() and said(desk) == {}


def test_an_alignment_disturbed_on_purpose_is_only_looked_at_again():
    desk = walked()
    another_foot(desk)
    desk.note("bench_alignment", {**BENCH, "build_height_mm": "500"})
    desk.note("screw_moved", {"screw": "foot.front", "what": "moved", "why": "the new foot"})
    desk.stand("30")
    desk.note("alignment_recheck", {"load_line_offset_mm": "29", "height_difference_mm": "-2"})
    assert changed(desk) == {"component/foot"} and said(desk) == {}


def test_slackened_tightened_and_refitted_is_no_tuning():
    desk = walked()
    desk.turn("swing_flexion", "9")
    desk.note("screw_moved", {"screw": "foot.front", "what": "slackened", "why": "to clean it"})
    desk.interim("foot.front")
    desk.stand("36")
    desk.tighten("foot.front")
    desk.caps()
    desk.closing_alignment()
    assert changed(desk) == {"setting/swing_flexion"} and said(desk) == {}


def test_a_line_read_anew_within_what_its_readings_are_right_to_is_no_change():
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.note("static_alignment", {**STOOD, "reading_within_mm": "3"})
    desk.walk("stance_threshold")
    desk.note("static_alignment", {**STOOD, "reading_within_mm": "3", "load_line_offset_mm": "41"})
    assert changed(desk) == set()
    desk.note("static_alignment", {**STOOD, "reading_within_mm": "3", "load_line_offset_mm": "43"})
    assert changed(desk) == {"alignment/static#load_line_offset_mm"}


def test_a_typing_error_that_is_corrected_moves_no_part_of_the_leg():
    desk = walked()
    desk.correct(desk.head("alignment/static"), load_line_offset_mm="30")
    desk.correct(desk.head("footwear"), shoe="boot")
    desk.correct(desk.head("component/foot"), serial="F-9")
    assert changed(desk) == set()


def test_what_is_put_back_or_was_found_so_is_no_second_change():
    desk = walked()
    desk.turn("swing_flexion", "9")
    desk.turn("swing_extension", "9", "found")
    desk.turn("stance_threshold", "0", "restored")
    assert said(desk) == {}


def test_another_knee_has_not_been_walked_on_yet():
    desk = walked()
    body = {**demo_sheet("knee_alder"), "sheet": "other-knee", "name": "Other knee"}
    sheet = desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", "other-knee"))
    desk.component("knee", sheet, serial="K-2")
    desk.turn("swing_flexion", "9")
    desk.stand("30")
    assert changed(desk) == set() and said(desk) == {}


def test_at_a_visit_changes_count_from_how_the_leg_was_found():
    desk = Desk.finished().visit().asked()
    desk.compared()
    desk.found(load_line="33", swing_flexion="10").ready_again()
    desk.turn("swing_flexion", "10", "other")
    assert changed(desk) == set(), "it stands as the person walked in"
    desk.turn("swing_flexion", "11")
    assert changed(desk) == {"setting/swing_flexion"} and said(desk) == {}
    another_foot(desk)
    assert set(said(desk)) == {"component/foot"}


def test_the_shoe_in_which_the_person_comes_to_a_visit_is_no_change_and_the_next_one_is():
    desk = Desk.finished().visit()
    desk.note("footwear", {"shoe_heel_height_mm": "20", "shoe": "boot"})
    assert changed(desk) == set()
    desk.note("footwear", {"shoe_heel_height_mm": "10", "shoe": "boot"})
    assert changed(desk) == {"footwear"}


def test_two_tablets_that_each_change_one_thing_show_that_there_were_two():
    left = walked()
    right = left.beside("tablet-b")
    left.turn("swing_flexion", "9")
    right.turn("swing_extension", "9")
    assert said(left) == said(right) == {}
    left.take(right)
    assert len(said(left)) == 1


@pytest.mark.parametrize("spoilt, trouble", [
    ({"figures": ("toe_out_deg",)}, "goes by toe_out_deg"), ({"slots": ("jig/*",)}, "names the slot jig/*"),
    ({"each": "leg"}, "one for each leg"), ({"told_by": ("adjuster",)}, "told by adjuster"),
    ({"only": {"reason": ("bored",)}}, "counts bored"), ({"found_at": "seen/*"}, "found at seen/*"),
])
def test_an_edition_whose_changes_name_what_is_not_there_is_found_out(spoilt, trouble):
    edition = load_edition()
    adjuster = next(c for c in edition.changes if c.key == "adjuster")
    troubles = self_check(replace(edition, changes=(replace(adjuster, **spoilt),)))
    assert any(trouble in said for said in troubles), troubles


def test_the_edition_counts_neither_torques_nor_caps_as_changes():
    slots = {slot for change in load_edition().changes for slot in change.slots}
    assert not any(slot.startswith(("torque", "cap", "alignment/closing")) for slot in slots)
