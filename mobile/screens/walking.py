"""A model person's walk as what the walkway shows: scenes in time, and contacts to tap."""

from __future__ import annotations

from shared_models.calculations.model_leg.strides import LevelStride
from shared_models.drawings.walker import Floor, Shown, walker_scene
from mobile.flows.practice import Practice
from mobile.widgets.walkway import Walk

#: What is heard is drawn for so long, in s, from this strength on.
_HEARD_S, _HEARD_FROM = 0.16, 0.45


def walk_of(practice: Practice, slot: str, with_line: bool = False) -> Walk:
    """Return a person's walk in a trial; ``with_line`` draws how high the heel should come."""
    motion = practice.motion(slot)
    level = isinstance(motion, LevelStride)
    floor = Floor() if level else Floor(motion.ground, motion.going_m, motion.rise_m)
    heel_mm = _heel_mm(practice, slot) if with_line and level else None
    right, prosthesis = practice.to_the_right, "right" if practice.to_the_right else "left"
    sound = "left" if right else "right"

    def scene_at(elapsed_s: float):
        within_s = elapsed_s % motion.period_s
        heard = [e for e in motion.events if 0 <= within_s - e.at_s < _HEARD_S and e.strength >= _HEARD_FROM]
        clack = max((e.strength for e in heard if e.what == "stop"), default=0.0)
        landing = max((e.strength for e in heard if e.what == "contact" and not level and e.side == "sound"), default=0.0)
        return walker_scene(motion.at(elapsed_s), floor, right, Shown(clack, landing, "", heel_mm))

    contacts = tuple(
        (e.at_s, prosthesis if e.side == "prosthetic" else sound) for e in motion.events if e.what == "contact"
    )
    return Walk(scene_at, motion.period_s, practice.strides(slot), contacts)


def _heel_mm(practice: Practice, slot: str) -> float:
    """Return how high the heel comes at the setting that suits."""
    best = LevelStride(practice.person.walker, {})
    return 1000 * max(pose.prosthesis.heel[1] for pose in best.poses)
