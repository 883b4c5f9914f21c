"""What was measured in the walks, drawn: heel rise, speed, symmetry, stairs, and each step of a timing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.timing.figures import Basis
from shared_models.checks.walk_timing import figures_of
from shared_models.drawings import measure_chart as chart
from shared_models.drawings.measure_chart import MeasureShown, Taken, measure_scene, sign_shapes, spread_of, ticks_between
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Disc, Label, Line
from shared_models.drawings.step_times import steps_scene, steps_shown
from shared_models.drawings.walk_measures import HEEL_RISE, measures_of, walks_of
from tests.fitting_desk import Desk

ROOM = Room(1.43, 0.062)


def rise(finding: str, grade: str, **more) -> dict:
    return {"finding": finding, "grade": grade, "perceived": "seen", **more}


def contacts(*seconds: float, first: str = "left", landing: int = -1) -> str:
    sides = ("left", "right") if first == "left" else ("right", "left")
    return ", ".join(
        f"{sides[n % 2]} {at:.3f}{' landing' if n == landing else ''}" for n, at in enumerate(seconds)
    )


def timing(trial, text: str, **more) -> dict:
    return {
        "timing": trial.digest[:8], "trial": trial.digest, "way": "level", "instrument": "thumb taps on the tablet",
        "event": "foot first touches the floor", "contacts": text, **more,
    }


def even(count: int, step_s: float) -> str:
    return contacts(*(n * step_s for n in range(count)))


@pytest.fixture
def desk() -> Desk:
    return Desk.finished()


def by_name(view) -> dict[str, MeasureShown]:
    return {shown.name: shown for shown in measures_of(view, walks_of(view))}


def test_the_edition_has_the_findings_that_the_heel_rise_is_read_from(desk):
    known = {f.key: f for f in desk.view.edition.findings}
    for key, way in HEEL_RISE.items():
        # Too high asks for more resistance against bending, too little for less.
        assert known[key].turn == ("more" if way > 0 else "less")


def test_the_heel_rise_of_a_walk_is_what_was_graded_and_nothing_noted_is_not_right(desk):
    desk.walk("swing_flexion", "change", findings=[rise("heel_rise_too_high", "marked")])
    desk.walk("swing_flexion", "change", findings=[rise("heel_rise_too_high", "none"), rise("heel_rise_too_low", "slight")])
    desk.walk("swing_flexion", findings=[rise("heel_rise_too_high", "none")])
    taken = by_name(desk.view)["Heel rise"].taken
    assert [(t.value, t.sign) for t in taken] == [(0, "dot"), (2, "up"), (-1, "down"), (0, "ring")]
    says = by_name(desk.view)["Heel rise"].says
    assert "nothing noted of the heel" in says and "marked high" in says and "slight low" in says and "right" in says


def test_a_walk_with_too_high_at_one_pace_and_too_low_at_another_shows_both(desk):
    desk.walk("swing_flexion", "change", findings=[
        rise("heel_rise_too_high", "slight", pace="fast"), rise("heel_rise_too_low", "marked", pace="slow")])
    assert sorted(t.value for t in by_name(desk.view)["Heel rise"].taken[1:]) == [-2, 1]


def test_speed_is_distance_over_time_and_stopwatch_and_contacts_are_told_apart(desk):
    one = desk.walk("swing_extension", marked_distance_m="10", marked_time_s="8")
    desk.note("walk_timing", timing(one, even(24, 0.6), distance_m="13.8"))
    shown = by_name(desk.view)["Walking speed"]
    assert {(t.sign, round(t.value, 9)) for t in shown.taken} == {("ring", 1.25), ("disc", 1.0)}
    assert len({t.number for t in shown.taken}) == 1
    assert "1.25 m/s, stopwatch, marked distance" in shown.says


def test_what_was_never_measured_has_no_chart(desk):
    found = by_name(desk.view)
    assert "Walking speed" not in found and "Step times, symmetry index" not in found
    assert found["Down the stairs, time a step"].taken[0].value == pytest.approx(7.2 / 6)


def test_a_symmetry_that_is_not_worth_showing_is_not_drawn(desk):
    one = desk.walk("swing_extension")
    desk.note("walk_timing", timing(one, even(5, 0.6)))
    assert "Step times, symmetry index" not in by_name(desk.view)
    two = desk.walk("swing_extension")
    desk.note("walk_timing", timing(two, even(24, 0.6)))
    shown = by_name(desk.view)["Step times, symmetry index"]
    assert len(shown.taken) == 1 and shown.taken[0].value == pytest.approx(0, abs=1e-6) and shown.line_at == 0
    assert shown.taken[0].low < 0 < shown.taken[0].high


def test_stairs_show_the_step_of_each_side_as_the_figures_state_it(desk):
    down = desk.walk("stairs", steps="24", time_s="18")
    entry = desk.note("walk_timing", timing(down, contacts(*(n * 0.7 + (0.1 if n % 2 else 0) for n in range(25))), way="down"))
    figures = figures_of(entry.body, "left", 24)
    shown = by_name(desk.view)["Down the stairs, time a step"]
    last = {t.sign: t.value for t in shown.taken if t.number == max(t.number for t in shown.taken)}
    assert last["diamond"] == 0.75
    assert last["disc"] == figures.block.figure("step_time_s", "left", "mean").value == pytest.approx(0.6)
    assert last["ring"] == pytest.approx(0.8)
    assert dict(shown.key)["disc"] == "prosthesis (left)"


def test_a_trial_that_was_taken_out_is_no_walk(desk):
    walks = len(walks_of(desk.view))
    wrong = desk.walk("swing_extension")
    assert len(walks_of(desk.view)) == walks + 1
    desk.withdraw(wrong)
    assert len(walks_of(desk.view)) == walks


def test_no_two_signs_look_the_same_without_colour():
    def looks(sign):
        return str([(type(s).__name__, getattr(s, "points", getattr(s, "radius", "")), getattr(s, "fill_tone", "") == "field") for s in sign_shapes(sign, (0, 0), 1.0)])
    signs = (chart.RING, chart.DISC, chart.UP, chart.DOWN, chart.DIAMOND, chart.DOT)
    assert len({looks(sign) for sign in signs}) == len(signs)


@given(st.lists(st.floats(-500, 500), min_size=1, max_size=30), st.integers(1, 60))
def test_every_sign_lies_in_the_drawing_between_the_first_and_last_figure_of_the_axis(values, more):
    taken = tuple(Taken(n + 1, value) for n, value in enumerate(values))
    scene = measure_scene(MeasureShown("x", "m", len(values) + more, taken), ROOM)
    for shape in scene.shapes:
        if isinstance(shape, Disc):
            assert 0 <= shape.centre[0] <= scene.width and 0 <= shape.centre[1] <= scene.height
    ticks = ticks_between(*spread_of(values))
    assert 2 <= len(ticks) <= 5 and ticks[0] <= min(values) and max(values) <= ticks[-1]
    gaps = [b - a for a, b in zip(ticks, ticks[1:])]
    assert max(gaps) == pytest.approx(min(gaps))


def test_figures_below_nought_are_not_on_the_axis_of_what_can_not_be_below_nought():
    assert ticks_between(*spread_of([0.1, 1.2]))[0] == 0


def shown_of(text: str, prosthesis: str = "left", **more):
    body = {"instrument": "taps", "event": "lands", "way": "level", "contacts": text, **more}
    return steps_shown(figures_of(body, prosthesis))


def test_each_step_belongs_to_the_side_that_lands_and_what_is_left_out_is_crossed():
    shown = shown_of(contacts(*(n * 0.6 for n in range(12)), 12.0, 12.6, 13.2))
    assert [s.side for s in shown.steps[:2]] == ["right", "left"] and shown.steps[0].time_s == pytest.approx(0.6)
    assert any(not s.is_counted and s.time_s > 5 for s in shown.steps), "a pause is no step"
    scene = steps_scene(shown, ROOM)
    discs = [s for s in scene.shapes if isinstance(s, Disc)]
    assert all(0 <= d.centre[1] <= scene.height for d in discs)
    texts = [s.text for s in scene.shapes if isinstance(s, Label)]
    assert "prosthesis (left), mean 0.60 s" in texts and "left out (start, stop, landing, pause)" in texts
    assert "left out" in scene.says


def test_sides_are_named_as_sides_where_nobody_knows_which_is_the_prosthesis():
    assert shown_of(even(12, 0.6), "").side_words == ("left", "right")


def test_the_means_drawn_are_the_means_of_the_figures():
    text = contacts(*(n * 0.65 + (0.05 if n % 2 else 0) for n in range(25)))
    figures = figures_of({"instrument": "t", "event": "e", "way": "level", "contacts": text}, "right")
    shown = steps_shown(figures)
    for side, (_, mean) in zip(shown.sides, shown.means):
        assert mean == pytest.approx(figures.block.figure("step_time_s", side, "mean").value)
    through = [s for s in steps_scene(shown, ROOM).shapes if isinstance(s, Line) and s.pen_dp == 1.5 and len(s.points) == 2]
    assert [line.dashed for line in through] == [False, True]


def test_a_timing_with_one_contact_has_no_steps_to_draw():
    from shared_models.calculations.timing.contacts import Contact

    figures = figures_of({"instrument": "t", "event": "e", "way": "level", "contacts": even(12, 0.6)}, "left")
    bare = type(figures)(**{**figures.__dict__, "contacts": (Contact("left", 0.0),), "basis": Basis("t")})
    assert steps_shown(bare) is None
