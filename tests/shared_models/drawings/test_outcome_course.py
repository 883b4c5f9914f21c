"""Outcome measures over a person's fittings, against the published minimal detectable change."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.drawings.outcome_course import OutcomeCourse, OutcomePoint, outcome_scene, places_of
from shared_models.drawings.outcome_values import outcome_courses
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Area, Disc, Label
from shared_models.entries.envelope import Subject
from shared_models.entries.fitting import FittingView
from tests.fitting_desk import Desk

ROOM = Room(1.43, 0.062)
DAY = date(2026, 1, 5)


def course(*values: float, detectable: float | None = 3.6, days=None, changed=None) -> OutcomeCourse:
    days = days or [DAY + timedelta(days=30 * n) for n in range(len(values))]
    points = tuple(
        OutcomePoint(day, value, (changed or [None] * len(values))[n]) for n, (day, value) in enumerate(zip(days, values))
    )
    return OutcomeCourse("Timed up and go", "s", 1, points, detectable, "lower")


@pytest.fixture
def desk() -> Desk:
    """Four fittings of one person: 9.9 s, 14.0 s, 10.4 s, and 10.3 s with a stick."""
    found = Desk.finished()
    opened = dict(found.head("opened").body)
    for n, (seconds, aid) in enumerate((("14.0", "none"), ("10.4", "none"), ("10.3", "stick"))):
        found.fitting = Subject("fitting", f"fitting-{n + 2}")
        found.note("opened", opened)
        found.note("outcome_measures", {"timed_up_and_go_s": seconds, "aid": aid})
    return found


def up_and_go(desk: Desk, fitting: str = "fitting-4") -> OutcomeCourse:
    others = [FittingView(desk.record, f"fitting-{n}") for n in (1, 2, 3, 4)]
    found = {c.name: c for c in outcome_courses(FittingView(desk.record, fitting), others)}
    return found["Timed up and go"]


def test_each_value_is_held_against_the_one_before_it_by_the_published_change(desk):
    # Resnik and Borgia 2011: 3.6 s; 9.9 to 14.0 is beyond it, 14.0 to 10.4 just reaches it.
    shown = up_and_go(desk)
    assert [(p.value, p.changed) for p in shown.points] == [(9.9, None), (14.0, True), (10.4, True), (10.3, None)]
    assert shown.detectable == 3.6 and shown.better == "lower"
    assert shown.points[1].says.startswith("worse since") and shown.points[2].says.startswith("better since")
    assert shown.points[3].says.startswith("not compared since") and "aid was" in shown.points[3].says
    assert shown.points[0].says == "the first value recorded here"


def test_the_values_of_the_fitting_in_sight_are_told_apart_and_nobody_elses_are_shown(desk):
    assert [p.is_this for p in up_and_go(desk, "fitting-2").points] == [False, True, False, False]
    desk.fitting = Subject("fitting", "fitting-9")
    desk.note("opened", {**FittingView(desk.record, "fitting-1").head("opened").body, "person": "person-2"})
    desk.note("outcome_measures", {"timed_up_and_go_s": "30", "aid": "none"})
    others = [FittingView(desk.record, f"fitting-{n}") for n in (2, 3, 9)]
    found = outcome_courses(FittingView(desk.record, "fitting-1"), others)
    assert all(p.value != 30 for c in found for p in c.points)


def test_a_measure_taken_once_is_drawn_only_where_it_is_known_what_would_be_a_change():
    found = Desk.finished()
    names = [c.name for c in outcome_courses(found.view, [])]
    assert names == ["Timed up and go", "Two-minute walk"], "a speed has no published change here"


def test_the_band_spans_the_detectable_change_on_both_sides_of_the_value_it_starts_from():
    scene = outcome_scene(course(10.0, 12.0), ROOM)
    first, second = [s for s in scene.shapes if isinstance(s, Area) and s.tone == "working_soft"]
    height = first.points[2][1] - first.points[1][1]
    ring = next(s for s in scene.shapes if isinstance(s, Area) and s.tone == "field")  # the first value's diamond
    middle = (first.points[2][1] + first.points[1][1]) / 2
    assert middle == pytest.approx(sum(y for _, y in ring.points) / 4)
    assert height == pytest.approx(second.points[2][1] - second.points[1][1])
    assert first.points[1][0] == pytest.approx(second.points[0][0]), "it runs to the next value"


def test_changed_not_changed_and_not_compared_are_told_by_shape_and_in_words():
    scene = outcome_scene(course(10.0, 12.0, 20.0, changed=[None, False, True]), ROOM)
    assert [d.fill_tone for d in scene.shapes if isinstance(d, Disc)] == ["field", "ink"]
    assert "12.0 s, not told apart from the one before; 6 Mar 2026 20.0 s, changed" in scene.says
    assert "lower is better; band: ± 3.6 s" in [s.text for s in scene.shapes if isinstance(s, Label)]


def test_without_a_published_change_there_is_no_band_and_it_says_so():
    scene = outcome_scene(course(1.0, 1.2, detectable=None), ROOM)
    assert not any(isinstance(s, Area) and s.tone == "working_soft" for s in scene.shapes)
    assert "no published detectable change" in scene.says


@given(st.lists(st.integers(0, 4000), min_size=1, max_size=12))
def test_days_keep_their_order_and_can_be_told_apart_however_close_they_are(offsets):
    days = sorted(DAY + timedelta(days=n) for n in offsets)
    places = places_of(days)
    assert places == sorted(places) and places[0] == 0 and (len(places) == 1 or places[-1] == pytest.approx(1))
    assert all(b - a >= 0.04 for a, b in zip(places, places[1:]))
    scene = outcome_scene(course(*[5.0] * len(days), days=days), ROOM)
    for shape in scene.shapes:
        if isinstance(shape, Label):
            assert 0 <= shape.at[0] <= scene.width and 0 <= shape.at[1] <= scene.height
