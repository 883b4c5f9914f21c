"""The drawings of a trial: the dial of an adjuster, the chart of its trials, how a stair is walked."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from shared_models.drawings.adjuster import AdjusterShown, adjuster_scene, angle_of, bracket_of, reach_of
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Area, Disc, Label, Line
from shared_models.drawings.stairs import FOOT_CM, GROUNDS, RISE_CM, how_scene, standing_leg
from shared_models.drawings.trial_course import (
    CourseShown, FindingMark, TrialPoint, course_scene, finding_sign, paper_of, thinned, window_of,
)

ROOM = Room(1.5, 0.1)
VALVE = AdjusterShown("Flexion valve", "marks", Decimal(0), Decimal(20), Decimal(1), Decimal(3), "more", here=Decimal(8))
TURNS = AdjusterShown("Screw", "turns", Decimal(0), Decimal("3.5"), Decimal("0.25"), Decimal("0.5"), "less", here=Decimal("1.25"))


def labels(scene):
    return [s.text for s in scene.shapes if isinstance(s, Label)]


def test_the_ends_of_a_range_lie_at_the_ends_of_the_dial_and_its_middle_on_top():
    assert [angle_of(VALVE, Decimal(p)) for p in (0, 10, 20)] == [-135, 0, 135]


def test_where_clockwise_means_less_the_dial_runs_the_other_way_so_that_its_arrow_turns_as_the_hand_does():
    assert angle_of(TURNS, Decimal(0)) == 135 and angle_of(TURNS, Decimal("3.5")) == -135
    down = replace(TURNS, there=Decimal("0.75"))
    assert down.turn == "clockwise" and angle_of(down, down.there) > angle_of(down, down.here)
    assert "turn clockwise" in labels(adjuster_scene(down))


def test_what_may_be_right_begins_half_a_step_beyond_what_was_too_low():
    known = replace(VALVE, low=Decimal(8), high=Decimal(16))
    assert bracket_of(known) == (Decimal("8.5"), Decimal("15.5"))
    assert bracket_of(VALVE) == (Decimal(0), Decimal(20))


def test_one_largest_step_reaches_no_further_than_the_range():
    assert reach_of(VALVE) == (5, 11)
    assert reach_of(replace(VALVE, here=Decimal(19))) == (16, 20)
    assert reach_of(replace(VALVE, here=None)) is None


def test_the_suggested_position_is_a_ghost_and_no_turn_is_drawn_where_nothing_is_to_be_turned():
    there = adjuster_scene(replace(VALVE, there=Decimal(11)))
    assert any(isinstance(s, Line) and s.dashed for s in there.shapes) and "11" in labels(there)
    for still in (VALVE, replace(VALVE, there=Decimal(8))):
        scene = adjuster_scene(still)
        assert not any(isinstance(s, Line) and s.dashed for s in scene.shapes)
        assert not [t for t in labels(scene) if t.startswith("turn ")]


def test_a_dial_says_in_words_what_it_shows():
    says = adjuster_scene(replace(VALVE, there=Decimal(11), low=Decimal(8))).says
    assert says == "Flexion valve, 0 to 20 marks; stands at 8; suggested: turn clockwise to 11; clearly too low up to 8."


def points(count, outcome="change"):
    return tuple(TrialPoint(n, Decimal(8 + n % 5), outcome) for n in range(1, count + 1))


COURSE = CourseShown("Flexion valve", Decimal(0), Decimal(20), Decimal(1))


def test_a_chart_shows_what_was_tried_with_a_step_of_room_within_the_range():
    assert window_of(replace(COURSE, points=(TrialPoint(1, Decimal(8), "change"),), there=Decimal(14))) == (7, 15)
    assert window_of(replace(COURSE, points=(TrialPoint(1, Decimal(0), "change"),))) == (0, 2)
    assert window_of(COURSE) == (0, 20)


def test_a_trial_lies_at_its_number_and_its_position():
    shown = replace(COURSE, points=points(4))
    paper, scene = paper_of(shown, ROOM), course_scene(shown, ROOM)
    rings = [s.centre for s in scene.shapes if isinstance(s, Disc)]
    assert rings == [(pytest.approx(paper.x(p.number)), pytest.approx(paper.y(p.position))) for p in shown.points]
    assert rings[0][0] < rings[1][0] and rings[0][1] < rings[1][1]


def test_confirmed_not_right_and_stopped_differ_by_shape_and_a_stop_has_its_word():
    outcomes = ("confirmed", "change", "stopped")
    scene = course_scene(replace(COURSE, points=tuple(TrialPoint(n, Decimal(8), o) for n, o in enumerate(outcomes, 1))), ROOM)
    discs = [s for s in scene.shapes if isinstance(s, Disc)]
    assert [bool(d.edge_tone) for d in discs] == [False, True]
    squares = [s for s in scene.shapes if isinstance(s, Line) and s.closed and len(s.points) == 4]
    assert len(squares) == 1 and squares[0].tone == "stop_edge"
    assert "stop" in labels(scene)


def test_the_open_ground_narrows_from_trial_to_trial():
    course = (
        TrialPoint(1, Decimal(8), "change", low=Decimal(8)),
        TrialPoint(2, Decimal(14), "change", low=Decimal(8), high=Decimal(14)),
    )
    scene = course_scene(replace(COURSE, points=course), ROOM)
    grounds = [s for s in scene.shapes if isinstance(s, Area)]
    heights = [max(p[1] for p in g.points) - min(p[1] for p in g.points) for g in grounds]
    assert len(heights) == 2 and heights[1] < heights[0]


def test_five_hundred_points_stay_and_more_are_thinned_without_losing_a_stop_or_what_was_confirmed():
    assert thinned(points(500)) == points(500)
    many = list(points(3000))
    many[700], many[2100] = replace(many[700], outcome="stopped"), replace(many[2100], outcome="confirmed")
    few = thinned(tuple(many))
    assert len(few) == 500 and few[-1].number == 3000
    assert {701, 2101} <= {p.number for p in few}
    assert [p.number for p in few] == sorted({p.number for p in few})
    assert len(thinned(points(3000, "stopped"))) == 500


def test_half_of_the_prosthetic_foot_stands_over_the_edge_of_the_step():
    leg = standing_leg((0.0, 0.0))
    assert leg.toe[0] == pytest.approx(FOOT_CM / 2) and leg.heel[0] == pytest.approx(-FOOT_CM / 2)
    assert leg.knee[0] > leg.toe[0] - FOOT_CM and leg.hip[1] > leg.knee[1] > RISE_CM


@pytest.mark.parametrize("ground", GROUNDS)
def test_how_a_first_walk_is_done_names_each_place_and_says_it_in_words(ground):
    scene = how_scene(ground, Room(1.0, 0.06))
    told = labels(scene)
    numbers = [t for t in told if t.isdigit()]
    assert len(numbers) >= 3 and all(any(t.startswith(f"{n}  ") for t in told) for n in numbers)
    assert scene.says
    xs = [p[0] for s in scene.shapes if isinstance(s, (Line, Area)) for p in s.points]
    assert min(xs) >= scene.left and max(xs) <= scene.left + scene.width


def marked(*marks):
    return CourseShown("Flexion valve", Decimal(0), Decimal(20), Decimal(1), (
        TrialPoint(1, Decimal(8), "change", marks=marks), TrialPoint(2, Decimal(9), "confirmed"),
    ))


def test_findings_stand_above_their_trial_each_with_a_letter_and_a_sign_of_its_own():
    scene = course_scene(marked(FindingMark("a", "more", True), FindingMark("b", "less"), FindingMark("c", "restore"), FindingMark("d")), ROOM)
    said = {s.text: s.at for s in scene.shapes if isinstance(s, Label) and s.text in "abcd"}
    paper = paper_of(marked(FindingMark("a")), ROOM)
    assert set(said) == set("abcd") and all(at[1] > paper_of(marked(*[FindingMark(x) for x in "abcd"]), ROOM).top for at in said.values())
    assert paper.top > paper_of(marked(*[FindingMark(x) for x in "abcd"]), ROOM).top, "more findings, more room above"
    signs = [finding_sign(FindingMark("a", way), (0, 0), 1.0)[1].points for way in ("more", "less", "restore", "")]
    assert len(set(signs)) == 4
    assert finding_sign(FindingMark("a", "more", True), (0, 0), 1.0)[0].tone != finding_sign(FindingMark("a", "more"), (0, 0), 1.0)[0].tone
    assert "1 at 8, not yet right (found: a, b, c, d)" in scene.says


def test_more_findings_than_have_room_are_counted_and_none_lies_outside_of_the_drawing():
    scene = course_scene(marked(*(FindingMark(letter, "more") for letter in "abcdefg")), ROOM)
    assert "+4" in labels(scene) and "g" not in labels(scene)
    for shape in scene.shapes:
        if isinstance(shape, Label):
            assert 0 <= shape.at[1] <= scene.height


def test_every_position_tried_is_written_where_there_is_room():
    points = tuple(TrialPoint(n + 1, Decimal(p), "change") for n, p in enumerate((4, 8, 12, 12)))
    shown = CourseShown("Flexion valve", Decimal(0), Decimal(20), Decimal(1), points)
    assert {"3", "13", "8", "12"} - set(labels(course_scene(shown, Room(1.5, 0.1)))) == {"12"}, "12 would touch 13"
