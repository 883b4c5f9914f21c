"""The alignment page, pressed as a prosthetist would press it."""

from __future__ import annotations

import pytest

from tests.journeys.at_work import alone
from tests.journeys.tablet_desk import TabletDesk
from tests.journeys.test_fitting_pages import SIZES, hands, must_fit, show_fitting

SLOT = "alignment/static"
BOARD = {
    "load_line_method": "two_scales", "board_length_mm": "600", "scale_resolution_kg": "0.1",
    "empty_back_kg": "0", "empty_front_kg": "0", "scale_back_kg": "22.0", "scale_front_kg": "18.0",
    "heel_from_back_support_mm": "140", "knee_from_heel_mm": "96", "distances_within_mm": "1",
}
REST = {"height_difference_mm": "-4", "weight_on_sound_side_kg": "44", "balance": "even"}


@pytest.fixture
def at_work(tmp_path):
    """A tablet whose fitting stands between the bench and the standing alignment."""
    tablet, session = alone(tmp_path / "tablet")
    desk = TabletDesk(tablet, session)
    desk.before_the_bench().on_the_bench()
    yield tablet, session, desk
    tablet.close()


def said(finger) -> str:
    return "\n".join(f"{note.lead} {note.text}" for note in finger.find_all("alignment:note") if note.test_name == "alignment:note")


def test_the_load_line_comes_from_two_scales_and_is_kept_with_its_readings(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({**BOARD, **REST})
    assert "Load line 34.0 ± 1.9 mm in front of the knee centre." in said(finger)
    finger.tap("save")
    body = page.view.head(SLOT).body
    assert body["load_line_offset_mm"] == "34.0" and body["weight_on_prosthesis_kg"] == "40.0"
    assert {key: body[key] for key in BOARD} == BOARD, "kept as typed"
    assert page.verdict.step("static").state == "met"


def test_only_the_fields_of_the_way_chosen_are_asked(at_work, on_screen, finger):
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    assert finger.is_there("field:load_line_offset_mm") and not finger.is_there("field:scale_back_kg")
    hands(finger).fill({"load_line_method": "two_scales"})
    assert finger.is_there("field:scale_back_kg") and not finger.is_there("field:load_line_offset_mm")
    order = [w.test_name for w in finger.find_all("field:")]
    assert order.index("field:board_length_mm") < order.index("field:height_difference_mm")
    hands(finger).fill({"load_line_method": "direct"})
    assert finger.is_there("field:load_line_offset_mm") and not finger.is_there("field:scale_back_kg")


def test_what_was_typed_for_the_other_way_stays_typed_and_out_of_the_record(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({"load_line_method": "two_scales", "scale_back_kg": "22.0"})
    hands(finger).fill({"load_line_method": "direct", "load_line_offset_mm": "35", "weight_on_prosthesis_kg": "40", **REST})
    finger.tap("save")
    assert page.view.head(SLOT).body == {
        "load_line_method": "direct", "load_line_offset_mm": "35", "weight_on_prosthesis_kg": "40", **REST,
    }


def test_the_move_is_suggested_beside_the_reading_and_follows_each_digit(at_work, on_screen, finger):
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({"load_line_offset_mm": "27"})
    assert "To bring it to 34 mm: at 'Cove slide' slide what is above it 7.0 mm forward." in said(finger)
    hands(finger).fill({"load_line_offset_mm": "35"})
    assert "To bring it to" not in said(finger) and "Asked 34 ± 5 mm: within." in said(finger)


def test_scales_that_are_not_complete_are_not_saved_and_the_empty_ones_are_shown(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({**{k: v for k, v in BOARD.items() if k != "scale_front_kg"}, **REST})
    finger.tap("save")
    assert page.view.head(SLOT) is None
    assert finger.find("field:scale_front_kg").message_kind == "refusal"
    assert "Still to type for the two scales: Front scale" in said(finger)


@pytest.mark.parametrize(("changed", "sentence"), [
    ({"empty_back_kg": "30"}, "Back scale: it shows 8.00 kg less than with the empty board"),
    ({"weight_on_sound_side_kg": "5"}, "The two scales show 45.0 kg in sum, and this person weighs 82.5 kg"),
    ({"heel_from_back_support_mm": "-290"}, "the weight stands 560 mm in front of the shoe's back edge"),
])
def test_scales_that_can_not_be_right_are_refused_with_what_would_be_and_stay_typed(at_work, on_screen, finger, changed, sentence):
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({**BOARD, **REST, **changed})
    finger.tap("save")
    assert page.view.head(SLOT) is None
    assert sentence in finger.find("form:trouble").lead
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    assert finger.find("field:scale_back_kg").text == "22.0", "the draft was kept"


def test_how_the_adapters_stand_is_asked_only_when_wanted(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({"load_line_offset_mm": "27"})
    assert not finger.is_there("field:slide_above_knee_now_mm")
    finger.tap("fold:1")
    hands(finger).fill({"slide_above_knee_now_mm": "10"})
    assert "To bring it to 34 mm: at 'Elm joint' tip what is above it 0.9° back" in said(finger)
    hands(finger).fill({"weight_on_prosthesis_kg": "40", **REST, "kept_because": "looked at"})
    finger.tap("save")
    assert page.view.head(SLOT).body["slide_above_knee_now_mm"] == "10"


def test_a_two_scale_reading_is_corrected_and_worked_out_anew(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({**BOARD, **REST})
    finger.tap("save")
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    assert "Load line 34.0 ± 1.9 mm" in said(finger), "said beside the recorded reading too"
    finger.tap("correct")
    hands(finger).fill({"knee_from_heel_mm": "94"})
    finger.tap("save")
    assert page.view.head(SLOT).body["load_line_offset_mm"] == "36.0"


def test_the_board_is_remembered_and_what_it_read_is_not(at_work, on_screen, finger):
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({**BOARD, **REST})
    finger.tap("save")
    show_fitting(on_screen, finger, at_work, "alignment_recheck", "alignment/recheck")
    hands(finger).fill({"load_line_method": "two_scales"})
    assert finger.find("field:board_length_mm").text == "600"
    assert finger.find("field:scale_back_kg").text == ""


@pytest.mark.parametrize("way_up", SIZES)
@pytest.mark.parametrize("read_by", ["direct", "two_scales"])
def test_the_alignment_page_fits_the_tablet_either_way_up(at_work, on_screen, finger, window, way_up, read_by):
    window.set_size(*SIZES[way_up])
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    finger.tap("fold:1")
    typed = {**BOARD, "knee_from_heel_mm": "107"} if read_by == "two_scales" else {"load_line_offset_mm": "22", "reading_within_mm": "2"}
    hands(finger).fill({**typed, "height_difference_mm": "-45"})
    finger.settle()
    assert "To bring it to" in said(finger) and "Not reachable with this tube" in said(finger)
    must_fit(window, page)


def scene(finger, plane: str = "side"):
    return finger.find(f"drawing:{plane}").scene


def test_the_drawing_follows_each_digit_and_stands_beside_the_fields(at_work, on_screen, finger):
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    assert "not read yet" in scene(finger).says
    finger.tap("field:load_line_offset_mm")
    finger.tap("key:4")
    assert scene(finger).says.startswith("Load line: 4")
    finger.tap("key:6")
    assert "12 too far forward" in scene(finger).says
    view = finger.find("drawing:side")
    assert view.get_parent_window() is not None and page.has_picture
    assert not overlaps(view, finger.find("field:load_line_offset_mm"))


def overlaps(one, other) -> bool:
    from mobile.device.finding import window_box

    a, b = window_box(one), window_box(other)
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def test_the_plane_of_the_field_in_hand_comes_into_sight_and_a_tab_brings_the_other(at_work, on_screen, finger, window):
    window.set_size(1280, 800)
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    assert finger.is_there("drawing:side") and not finger.is_there("drawing:front")
    hands(finger).fill({"weight_on_prosthesis_kg": "36", "weight_on_sound_side_kg": "44"})
    assert finger.is_there("drawing:front") and not finger.is_there("drawing:side")
    assert "45" in scene(finger, "front").says
    if finger.is_there("plane=side"):
        finger.tap("plane=side")
        assert finger.is_there("drawing:side")


def test_a_figure_that_can_not_be_is_not_drawn(at_work, on_screen, finger):
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({"load_line_offset_mm": "900"})
    assert "not read yet" in scene(finger).says
    assert finger.find("field:load_line_offset_mm").text == "900", "kept as typed"


def test_a_recorded_alignment_shows_its_drawing(at_work, on_screen, finger):
    _, _, desk = at_work
    desk.stand("36")
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    assert scene(finger).says.startswith("Load line: 36")


def test_in_landscape_the_rail_is_narrow_beside_drawing_and_keypad_and_wide_elsewhere(at_work, on_screen, finger, window):
    window.set_size(1280, 800)
    page = show_fitting(on_screen, finger, at_work, "static", SLOT)
    assert page.rail.width < 100 and finger.sees("Standing alignment")
    page.go("person")
    finger.settle()
    assert page.rail.width > 250 and not page.has_picture


def test_the_gentlest_move_is_said_and_the_other_ways_at_one_press(at_work, on_screen, finger):
    show_fitting(on_screen, finger, at_work, "static", SLOT)
    hands(finger).fill({"load_line_offset_mm": "27"})
    assert "To bring it to 34 mm" in said(finger) and "Or: " not in said(finger)
    button = next(b for b in finger.find_all("alignment:note:act") if b.text == "Other ways")
    finger.tap(button)
    assert "Or: at 'Elm joint'" in said(finger)
    hands(finger).enter("load_line_offset_mm", "26")
    assert "Or: at 'Elm joint'" in said(finger), "they stay while one types on"
