"""The chain shows what is recorded and open; the shoe stands at its heel height."""

from __future__ import annotations

import pytest

from shared_models.catalogue.sheets import PLACES
from shared_models.drawings.chain import chain_picture, chain_states, shoe_picture
from shared_models.drawings.plain_shapes import Room, text_width
from shared_models.drawings.scene import Area, Label, Line
from shared_models.language import in_language
from tests.fitting_desk import Desk

ROOM = Room(0.7, 0.045)


def labels(picture) -> list[str]:
    return [s.text.replace("\n", " ") for s in picture.scene.shapes if isinstance(s, Label)]


def test_a_piece_without_a_record_is_dashed_and_called_open():
    desk = Desk().staff()
    desk.note("opened", {"person": "person-1", "prosthetist": "demo-prosthetist", "side": "left", "amputation_level": "transfemoral", "socket_stage": "definitive"})
    picture = chain_picture(desk.view, "", ROOM)
    assert set(chain_states(desk.view).values()) == {"open"}
    assert len([s for s in picture.scene.shapes if isinstance(s, Line) and s.dashed and s.closed]) == len(PLACES)
    assert "Knee open" in labels(picture)
    assert "not to scale" in picture.caption


def test_a_recorded_piece_is_filled_and_a_withdrawn_one_is_open_again():
    desk = Desk().staff().before_the_bench()
    assert set(chain_states(desk.view).values()) == {"recorded"}
    assert not [s for s in chain_picture(desk.view, "", ROOM).scene.shapes if isinstance(s, Line) and s.dashed]
    desk.withdraw(desk.head("component/tube"))
    assert chain_states(desk.view)["tube"] == "open"


def test_the_piece_in_hand_is_marked_in_words_and_shape_on_a_plan_of_all():
    desk = Desk().staff().before_the_bench()
    picture = chain_picture(desk.view, "knee", ROOM)
    assert "Knee in hand" in labels(picture) and "Socket recorded" in labels(picture)
    assert [s.text for s in picture.scene.shapes if isinstance(s, Label) and s.bold] == ["Knee\nin hand"]
    assert "Knee: in hand" in picture.scene.says


def test_with_large_type_in_little_room_the_piece_in_hand_keeps_its_name():
    desk = Desk().staff().before_the_bench()
    told = labels(chain_picture(desk.view, "tube", Room(0.6, 0.1)))
    assert "Shin tube and clamp in hand" in told and told.count("recorded") == 4


def test_a_piece_that_two_tablets_changed_apart_is_disputed():
    desk = Desk().staff().before_the_bench()
    other = desk.beside("tablet-b")
    for one, serial in ((desk, "A"), (other, "B")):
        one.correct(one.head("component/knee"), serial=serial)
    desk.take(other)
    assert chain_states(desk.view)["knee"] == "disputed"


@pytest.mark.parametrize("heel", ["1", "10", "34.5", "120"])
def test_the_heel_is_drawn_as_high_as_it_is_measured(heel):
    desk = Desk().staff().before_the_bench()
    picture = shoe_picture(desk.view, {"shoe_heel_height_mm": heel}, ROOM)
    block = next(s for s in picture.scene.shapes if isinstance(s, Area) and s.tone == "ink_soft")
    assert max(y for _, y in block.points) - min(y for _, y in block.points) == pytest.approx(float(heel))
    assert picture.scene.to_scale and f"{heel}\N{NO-BREAK SPACE}mm" in labels(picture)


def test_a_shoe_that_the_leg_was_not_built_for_shows_both_heels():
    desk = Desk().staff().before_the_bench().on_the_bench()
    both = labels(shoe_picture(desk.view, {"shoe_heel_height_mm": "30"}, ROOM))
    assert "leg built for 10\N{NO-BREAK SPACE}mm" in both
    same = labels(shoe_picture(desk.view, {"shoe_heel_height_mm": "10.0"}, ROOM))
    assert not [text for text in same if "built" in text]


def test_a_heel_that_nobody_measured_is_not_drawn():
    desk = Desk().staff().before_the_bench()
    picture = shoe_picture(desk.view, {}, ROOM)
    assert labels(picture) == ["not measured yet"]
    assert not [s for s in picture.scene.shapes if isinstance(s, Area) and s.tone == "ink_soft"]


# The tablet upright at the largest type (a pane of about 280 by 640 px, a line of 31 px), lying, and between.
@pytest.mark.parametrize("room", [Room(0.42, 0.049), Room(0.44, 0.045), ROOM, Room(0.62, 0.07), Room(0.9, 0.03)])
@pytest.mark.parametrize("in_hand", ["", "upper_adapter", "foot"])
def test_no_words_of_the_chain_lie_over_each_other_or_beside_the_plan(room, in_hand):
    scene = chain_picture(Desk().staff().before_the_bench().view, in_hand, room).scene
    # A scene is shown as large as its room allows; type keeps its size, so a smaller plan has larger lines.
    line = room.line / min(room.wide / scene.width, 1 / scene.height)
    words = sorted((s for s in scene.shapes if isinstance(s, Label)), key=lambda s: -s.at[1])
    tops = [(w.at[1] + line * (w.text.count("\n") + 1) / 2, w.at[1] - line * (w.text.count("\n") + 1) / 2) for w in words]
    assert all(low >= top - 1 for (_, low), (top, _) in zip(tops, tops[1:]))
    assert tops[0][0] <= scene.bottom + scene.height + 1 and tops[-1][1] >= scene.bottom - 1
    assert max(w.at[0] + text_width(w.text, line) for w in words) <= scene.left + scene.width + 1


def test_a_long_name_of_another_language_gives_way_to_how_the_piece_stands_in_a_narrow_plan():
    room = Room(0.48, 0.068)
    with in_language("de"):
        scene = chain_picture(Desk().staff().before_the_bench().view, "", room).scene
    line = room.line / min(room.wide / scene.width, 1 / scene.height)
    assert max(s.at[0] + text_width(s.text, line) for s in scene.shapes if isinstance(s, Label)) <= scene.left + scene.width + 1
