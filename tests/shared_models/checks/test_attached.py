"""Photos and drawn signatures beside a fitting: shown, judged by what they stand under, blocking nothing."""

from __future__ import annotations

import pytest

from shared_models.checks.attached import bytes_named, drawn_in, photos_in
from shared_models.checks.bodies import body_troubles
from shared_models.checks.strokes import Stroke, strokes_body
from tests.fitting_desk import Desk

LINE = strokes_body([Stroke(((0.1, 0.2), (0.5, 0.6)))])
PHOTO = {
    "photo": "p-1", "shows": "skin", "sha256": "ab" * 32, "media_type": "image/jpeg",
    "size_kb": "12", "width_px": "400", "height_px": "300", "marks": LINE,
}


def signed(desk: Desk, under: str = "consent", **more):
    body = {"under": under, "who": "person", "printed_name": "Mira Solberg", "strokes": LINE}
    return desk.note("drawn_signature", {**body, **more})


@pytest.fixture(scope="module")
def closed() -> Desk:
    return Desk.finished()


@pytest.fixture
def desk(closed) -> Desk:
    return closed.beside("tablet-b")


def test_neither_a_photo_nor_a_drawn_line_nor_their_lack_changes_the_verdict(desk):
    before = desk.verdict()
    assert before.is_complete and not drawn_in(desk.view, "consent")
    for entry in (signed(desk), desk.note("photo", PHOTO)):
        assert body_troubles(entry) == []
    after = desk.verdict()
    assert (after.state, after.steps, after.remarks) == (before.state, before.steps, before.remarks)


def test_a_drawn_line_stands_until_what_it_is_under_says_something_else(desk):
    signed(desk, "handover")
    assert drawn_in(desk.view, "handover")[0].stands
    handover = desk.head("handover")
    desk.correct(handover, whom_to_call=str(handover.body["whom_to_call"]))
    assert drawn_in(desk.view, "handover")[0].stands, "a correction that changes nothing said"
    desk.correct(desk.head("handover"), whom_to_call="the other bench, Wednesdays")
    assert not drawn_in(desk.view, "handover")[0].stands
    signed(desk, "handover")
    assert drawn_in(desk.view, "handover")[0].stands, "signed again under what it says now"


def test_drawn_before_there_was_anything_to_sign_it_does_not_stand():
    desk = Desk().staff()
    signed(desk)
    assert drawn_in(desk.view, "consent")[0].stands
    desk.note("consent", {"given": True, "given_by": "person"})
    assert not drawn_in(desk.view, "consent")[0].stands


def test_who_does_not_sign_is_recorded_with_the_reason(desk):
    entry = signed(desk, strokes=[], not_signed_because="can_not")
    drawn = drawn_in(desk.view, "consent")[0]
    assert body_troubles(entry) == [] and (drawn.because, drawn.strokes) == ("can_not", ())


def test_drawn_apart_on_two_tablets_both_are_shown_and_nothing_is_blocked(closed):
    one, two = closed.beside("tablet-b"), closed.beside("tablet-c")
    signed(one), signed(two, printed_name="Mira S.")
    one.take(two)
    assert len(drawn_in(one.view, "consent")) == 2
    assert one.verdict().is_complete


def test_a_photo_taken_out_is_no_longer_shown_and_a_correction_keeps_its_place(desk):
    first = desk.note("photo", PHOTO)
    desk.note("photo", {**PHOTO, "photo": "p-2", "shows": "shoe"})
    desk.correct(first, shows="component")
    assert [p.shows for p in photos_in(desk.view)] == ["component", "shoe"]
    desk.withdraw(desk.head("photo/p-2"))
    desk.correct(desk.note("photo", {**PHOTO, "photo": "p-3"}), shows="shoe")
    desk.withdraw(desk.head("photo/p-3"))
    assert [(p.shows, round(p.wide, 3), len(p.marks)) for p in photos_in(desk.view)] == [("component", 1.333, 1)]


def test_only_a_new_photo_asks_for_its_bytes(desk):
    photo = desk.note("photo", PHOTO)
    assert bytes_named(photo) == ("ab" * 32,)
    assert bytes_named(desk.correct(photo, shows="shoe")) == () == bytes_named(signed(desk))


@pytest.mark.parametrize("marks", [
    "a line", [{"as": "line"}], [{"as": "wave", "width": 3, "points": [1, 2]}],
    [{"as": "line", "width": 3, "points": [1, 20001]}], [{"as": "line", "width": 3, "points": [1]}],
    [{"as": "line", "width": True, "points": [1, 2]}],
])
def test_marks_of_another_form_are_found_before_they_are_taken_in(desk, marks):
    assert body_troubles(desk.note("photo", {**PHOTO, "marks": marks})) == ["marks"]
