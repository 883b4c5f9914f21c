"""The walking figure as a drawing."""

from __future__ import annotations

from decimal import Decimal

from shared_models.calculations.model_leg.people import model_person
from shared_models.calculations.model_leg.steps_down import StepsDown
from shared_models.calculations.model_leg.strides import LevelStride
from shared_models.drawings.scene import Area, Disc, Line
from shared_models.drawings.walker import AHEAD_MM, OVER_MM, UNDER_MM, Floor, Shown, walker_scene


def points(scene):
    for shape in scene.shapes:
        if isinstance(shape, (Line, Area)):
            yield from shape.points
        elif isinstance(shape, Disc):
            yield shape.centre


def rounded(found):
    return sorted((round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in found)


def test_the_figure_stays_in_its_view_all_stride_long_on_every_ground():
    person = model_person(1029)
    places = {"swing_flexion": Decimal(0), "stance_threshold": Decimal(24)}
    for motion, floor in [
        (LevelStride(person, places), Floor()),
        *((m, Floor(m.ground, m.going_m, m.rise_m)) for m in (StepsDown(person, places, g) for g in ("ramp", "low_steps", "stairs"))),
    ]:
        for k in range(50):
            pose = motion.at(3 * motion.period_s + k * motion.period_s / 50)
            scene = walker_scene(pose, floor, to_the_right=True)
            knee = next(s for s in scene.shapes if isinstance(s, Disc)).centre
            assert abs(knee[0]) < 500 and 200 < knee[1] < 800
            feet = [s for s in scene.shapes if isinstance(s, Area)][1].points
            assert all(abs(x) < AHEAD_MM and -UNDER_MM < y < OVER_MM for x, y in feet)


def test_a_left_prosthesis_is_seen_from_the_left():
    pose = LevelStride(model_person(1024), {}).at(0.2)
    right = walker_scene(pose, Floor(), to_the_right=True)
    left = walker_scene(pose, Floor(), to_the_right=False)
    assert rounded((-x, y) for x, y in points(right)) == rounded(points(left))


def test_what_would_be_heard_is_drawn_as_strokes_and_the_heels_line_only_when_asked():
    pose = LevelStride(model_person(1024), {}).at(0.2)
    plain = walker_scene(pose, Floor(), True)
    assert not any(s.tone == "doubt" for s in plain.shapes if isinstance(s, Line))
    told = walker_scene(pose, Floor(), True, Shown(clack=1.0, heel_mm=300.0))
    marks = [s for s in told.shapes if isinstance(s, Line) and s.tone == "doubt"]
    assert sum(s.dashed for s in marks) == 1 and len(marks) > 3
    assert "prosthesis" in plain.says
