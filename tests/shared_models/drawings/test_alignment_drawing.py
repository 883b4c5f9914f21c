"""The drawings of an alignment show what is read, to scale, and nothing that nobody read."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.checks.alignment_reading import read_alignment
from shared_models.checks.alignment_weights import Weights
from shared_models.drawings.alignment import FRONT, SIDE, alignment_picture, plane_of, planes_of
from shared_models.drawings.alignment_front import outward, reference_point
from shared_models.drawings.alignment_inset import Inset
from shared_models.drawings.alignment_side import ghost_leg, side_leg, socket_corners
from shared_models.drawings.balance import balance_bar, share_place
from shared_models.drawings.leg_figures import leg_figures
from shared_models.drawings.plain_shapes import Room, cut
from shared_models.drawings.scene import Area, Disc, Label, Line, Scene
from tests.fitting_desk import Desk

ROOM = Room(0.8, 0.05)
STATIC, BENCH = "static_alignment", "bench_alignment"


@pytest.fixture(scope="module")
def fitted():
    return Desk().staff().before_the_bench().on_the_bench()


@pytest.fixture(scope="module")
def mirrored():
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.correct(desk.head("opened"), side="right")
    return desk


def drawn(view, body, plane=SIDE, kind=STATIC, room=ROOM) -> Scene:
    return alignment_picture(view, kind, body, plane, room).scene


def words(scene: Scene) -> list[str]:
    return [shape.text.replace("\n", " ").replace("\N{NO-BREAK SPACE}", " ") for shape in scene.shapes if isinstance(shape, Label)]


def floor_of(scene: Scene) -> float:
    """Height of the floor, the line right across the drawing."""
    return next(
        s.points[0][1] for s in scene.shapes
        if isinstance(s, Line) and s.points[-1][0] - s.points[0][0] == pytest.approx(scene.width)
    )


def upright_lines(scene: Scene, tone: str, dashed: bool) -> list[float]:
    """The x of every upright line of a tone that begins at or near the floor."""
    floor = floor_of(scene)
    return [
        s.points[0][0] for s in scene.shapes
        if isinstance(s, Line) and s.tone == tone and s.dashed == dashed and len(s.points) == 2
        and s.points[0][0] == s.points[1][0] and s.points[0][1] < floor + 60
    ]


@given(tenths=st.integers(-1500, 1500))
def test_the_load_line_is_drawn_as_many_millimetres_from_the_knee_centre_as_it_is_read(fitted, tenths):
    offset = tenths / 10
    scene = drawn(fitted.view, {"load_line_offset_mm": str(offset)})
    tone = "doubt" if abs(offset - 34) > 5 else "ink"
    assert upright_lines(scene, tone, dashed=True)[0] == pytest.approx(offset, abs=1e-9)
    assert scene.to_scale, "a millimetre across is a millimetre up"
    assert scene.left < offset < scene.left + scene.width


def test_plus_lies_in_front_which_is_at_the_right_on_both_sides(fitted, mirrored):
    for view in (fitted.view, mirrored.view):
        scene = drawn(view, {"load_line_offset_mm": "15"})
        assert upright_lines(scene, "doubt", dashed=True)[0] == 15.0
        assert "front" in words(scene)
    behind = drawn(fitted.view, {"load_line_offset_mm": "-15"})
    assert upright_lines(behind, "doubt", dashed=True)[0] == -15.0
    assert "\N{MINUS SIGN}15 mm" in words(behind)


def test_a_left_prosthesis_is_said_to_be_seen_from_the_midline(fitted, mirrored):
    left = alignment_picture(fitted.view, STATIC, {}, SIDE, ROOM).caption
    right = alignment_picture(mirrored.view, STATIC, {}, SIDE, ROOM).caption
    assert "Seen from the midline" in left and "Seen from the prosthesis side" in right


def test_the_band_reaches_from_edge_to_edge_of_what_the_sheet_asks(fitted):
    scene = drawn(fitted.view, {})
    band = next(s for s in scene.shapes if isinstance(s, Area) and s.tone == "working_soft")
    assert {x for x, _ in band.points} == {29.0, 39.0}
    assert "asked 34 ± 5" in words(scene)
    bench = drawn(fitted.view, {}, kind=BENCH)
    band = next(s for s in bench.shapes if isinstance(s, Area) and s.tone == "working_soft")
    assert {x for x, _ in band.points} == {-3.0, 3.0}


def test_what_is_not_read_is_not_drawn(fitted):
    scene = drawn(fitted.view, {})
    assert "not read yet" in words(scene)
    assert not upright_lines(scene, "ink", True) and not upright_lines(scene, "doubt", True)
    assert not [text for text in words(scene) if "mm" in text]
    front = drawn(fitted.view, {}, FRONT)
    assert not [text for text in words(front) if "mm" in text or "kg" in text]


def test_without_a_build_height_the_leg_is_drawn_in_a_usual_length_and_says_so():
    view = Desk().staff().before_the_bench().view
    picture = alignment_picture(view, BENCH, {}, SIDE, ROOM)
    assert "Leg length not recorded, drawn at 484 mm." in picture.caption
    assert "its flexion is not read yet" in picture.caption
    measured = alignment_picture(view, BENCH, {"build_height_mm": "512", "socket_flexion_deg": "8"}, SIDE, ROOM)
    assert "not recorded" not in measured.caption and "not read yet" not in measured.caption
    assert floor_of(measured.scene) == pytest.approx(-512), "the knee centre at the height that was measured"


def test_a_reading_outside_is_told_in_words_as_well_as_in_colour(fitted):
    assert "12 too far forward" in words(drawn(fitted.view, {"load_line_offset_mm": "46"}))
    assert "7 too far back" in words(drawn(fitted.view, {"load_line_offset_mm": "27"}))
    assert "as asked" in words(drawn(fitted.view, {"load_line_offset_mm": "35"}))
    assert "near the edge" in words(drawn(fitted.view, {"load_line_offset_mm": "37", "reading_within_mm": "6"}))


@given(offset=st.integers(-40, 110), slide=st.integers(-12, 12))
def test_the_ghost_stands_where_the_suggested_move_brings_it(fitted, offset, slide):
    body = {"load_line_offset_mm": str(offset), "slide_above_knee_now_mm": str(slide)}
    reading = read_alignment(fitted.view, STATIC, body)
    ghost = ghost_leg(leg_figures(fitted.view, STATIC, body, reading), reading)
    if reading.move is None:
        assert ghost is None
        return
    assert offset - ghost[0].knee[0] == pytest.approx(reading.move.offset_mm, abs=1e-6)


def test_a_slide_above_the_knee_moves_foot_and_knee_and_leaves_the_socket(fitted):
    body = {"load_line_offset_mm": "46"}
    reading = read_alignment(fitted.view, STATIC, body)
    leg = leg_figures(fitted.view, STATIC, body, reading)
    after, keeps = ghost_leg(leg, reading)
    now = side_leg(leg, leg.chain)
    assert keeps == "socket"
    assert after.points[0][0] - now.points[0][0] == pytest.approx(12.0)
    assert after.socket_foot == pytest.approx(now.socket_foot)
    assert "foot and knee 12.0 mm forward" in words(drawn(fitted.view, body))


def test_nothing_is_suggested_in_the_drawing_where_the_line_is_as_asked(fitted):
    assert not [t for t in words(drawn(fitted.view, {"load_line_offset_mm": "36"})) if "foot and knee" in t]


def test_a_flexed_socket_takes_its_upper_end_back_and_its_lower_end_forward():
    corners = socket_corners((0.0, 0.0), -20.0, 262.0)
    middle = (corners[1][0] + corners[2][0]) / 2
    assert middle == pytest.approx(-262 * math.sin(math.radians(20)))


def test_an_adducted_socket_has_its_lower_end_towards_the_midline_on_both_sides(fitted, mirrored):
    for desk, at_right in ((fitted, True), (mirrored, False)):
        body = {**desk.head("alignment/bench").body}
        reading = read_alignment(desk.view, BENCH, body)
        beside, _ = reference_point(leg_figures(desk.view, BENCH, body, reading), reading)
        assert beside == pytest.approx(reading.outward_mm, abs=1e-6) and beside > 0
        assert (outward(desk.view.opened.body["side"]) > 0) is at_right
        assert f"{beside:.1f} mm outside" in words(drawn(desk.view, body, FRONT, BENCH))


def test_a_left_and_a_right_prosthesis_are_mirror_images_from_the_front(fitted, mirrored):
    body = {"height_difference_mm": "-6", "weight_on_prosthesis_kg": "36", "weight_on_sound_side_kg": "44"}
    left, right = drawn(fitted.view, body, FRONT), drawn(mirrored.view, body, FRONT)
    assert places(left, 1) == places(right, -1)
    assert places(left, 1) != places(right, 1), "and not the same"


def places(scene: Scene, way: int) -> list:
    """Every disc and thick line, with x counted in a way."""
    found = []
    for shape in scene.shapes:
        if isinstance(shape, Disc):
            found.append((round(way * shape.centre[0], 6) + 0.0, round(shape.centre[1], 6)))
        elif isinstance(shape, Line) and shape.pen_dp > 3:
            found.append(tuple((round(way * x, 6) + 0.0, round(y, 6)) for x, y in shape.points))
    return sorted(found, key=str)


@pytest.mark.parametrize(("typed", "said"), [("-6", "6 mm short"), ("4", "4 mm long"), ("0", "equally high")])
def test_the_pelvis_is_as_much_lower_as_is_read_and_never_more(fitted, typed, said):
    scene = drawn(fitted.view, {"height_difference_mm": typed}, FRONT)
    pelvis = next(s for s in scene.shapes if isinstance(s, Line) and s.pen_dp == 5.0)
    sound, own = pelvis.points
    assert own[1] - sound[1] == pytest.approx(float(typed)) and scene.to_scale
    assert own[0] > 0 > sound[0], "a left prosthesis stands at the right, seen from the front"
    assert said in words(scene)


def test_a_height_that_is_not_borne_is_doubted():
    view = Desk().staff().before_the_bench().on_the_bench().view
    pelvis = [s.tone for s in drawn(view, {"height_difference_mm": "-11"}, FRONT).shapes if isinstance(s, Line) and s.pen_dp == 5.0]
    assert pelvis == ["doubt"]
    assert "11 mm short" in words(drawn(view, {"height_difference_mm": "-11"}, FRONT))


@given(own=st.integers(1, 120), other=st.integers(1, 120), away=st.sampled_from([1, -1]))
def test_the_bar_is_filled_as_far_as_the_weight_is_shared_from_the_prosthesis_end(own, other, away):
    share = 100 * own / (own + other)
    shapes = balance_bar(Weights(own, other, share), away, (-100.0, 0.0, 200.0, 20.0), 10.0)
    filled = next(s for s in shapes if isinstance(s, Area) and s.tone in ("working", "doubt"))
    xs = [x for x, _ in filled.points]
    assert max(xs) - min(xs) == pytest.approx(2 * share)
    assert (max(xs) if away > 0 else -min(xs)) == pytest.approx(100.0)
    assert (filled.tone == "doubt") is (share < 35), "below the rule's own limit"


def test_the_doubted_range_of_the_bar_ends_at_the_share_that_the_rule_asks():
    assert share_place(35, -1, 0.0, 100.0) == 35.0 and share_place(35, 1, 0.0, 100.0) == 65.0


@given(st.floats(-150, 150), st.sampled_from([0.5, 0.7, 1.0, 1.6]), st.sampled_from([0.04, 0.06, 0.08]))
def test_the_inset_is_magnified_alike_both_ways_and_shows_what_it_must(fitted, offset, wide, line):
    body = {"load_line_offset_mm": f"{offset:.1f}"}
    reading = read_alignment(fitted.view, STATIC, body)
    frame = Inset(120.0, 560.0, -498.0, line * 1000, reading, None)
    if not frame.times:
        return
    knee, ahead, up = frame.at((0, 0)), frame.at((10, 0)), frame.at((0, 10))
    assert ahead[0] - knee[0] == pytest.approx(up[1] - knee[1]) == pytest.approx(10 * frame.times)
    for x in (0.0, reading.line.offset_mm, 29.0, 39.0):
        assert frame.left <= frame.at((x, 0))[0] <= frame.right
    scene = drawn(fitted.view, body, room=Room(wide, line))
    assert all(math.isfinite(n) for s in scene.shapes if isinstance(s, Line) for p in s.points for n in p)


def test_a_line_is_cut_at_a_frame_and_left_out_beyond_it():
    box = (0.0, 0.0, 10.0, 10.0)
    assert cut((5, -5), (5, 20), box) == ((5, 0), (5, 10))
    assert cut((-5, 5), (20, 5), box) == ((0, 5), (10, 5))
    assert cut((11, 0), (11, 9), box) is None and cut((-4, 0), (0, -4), box) is None


def test_the_closing_alignment_reads_nothing_from_the_front(fitted):
    view = fitted.view
    assert planes_of(view, "alignment_closing") == (SIDE,)
    assert planes_of(view, STATIC) == planes_of(view, BENCH) == (SIDE, FRONT)
    assert plane_of("weight_on_prosthesis_kg") == FRONT and plane_of("load_line_offset_mm") == SIDE


def test_the_shoe_stands_on_the_board_where_it_was_measured(fitted):
    body = {
        "load_line_method": "two_scales", "board_length_mm": "600", "scale_resolution_kg": "0.1",
        "empty_back_kg": "0", "empty_front_kg": "0", "scale_back_kg": "22.0", "scale_front_kg": "18.0",
        "heel_from_back_support_mm": "140", "knee_from_heel_mm": "96", "distances_within_mm": "1",
    }
    scene = drawn(fitted.view, body)
    outline = next(s for s in scene.shapes if isinstance(s, Line) and s.closed and len(s.points) == 8)
    assert min(x for x, _ in outline.points) == -96.0
    assert "34.0 ± 1.9 mm" in words(scene)
    assert upright_lines(scene, "ink", dashed=True)[0] == pytest.approx(34.0)


def test_a_drawing_tells_in_words_what_it_shows(fitted):
    assert drawn(fitted.view, {"load_line_offset_mm": "46"}).says.replace("\N{NO-BREAK SPACE}", " ") == "Load line: 46 mm, 12 too far forward, asked 34 ± 5."
    assert "not read yet" in drawn(fitted.view, {}).says
    assert replace(drawn(fitted.view, {}), says="").says == ""


@given(offset=st.integers(-150, 150), wide=st.sampled_from([1.0, 1.6, 3.0]))
def test_where_there_is_little_height_the_knee_alone_is_drawn_to_scale(fitted, offset, wide):
    scene = drawn(fitted.view, {"load_line_offset_mm": str(offset)}, room=Room(wide, 0.2))
    assert scene.to_scale and scene.left <= min(offset, 0) and max(offset, 39) <= scene.left + scene.width
    tone = "doubt" if abs(offset - 34) > 5 else "ink"
    assert [s for s in scene.shapes if isinstance(s, Line) and s.tone == tone and s.dashed and s.points[0][0] == offset]
    weights = drawn(fitted.view, {"weight_on_prosthesis_kg": "20", "weight_on_sound_side_kg": "60"}, FRONT, room=Room(wide, 0.2))
    assert "20 kg" in words(weights) and any("25 %, too little" in text for text in words(weights))
