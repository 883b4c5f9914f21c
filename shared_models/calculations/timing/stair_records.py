"""How stairs and slopes were taken: an ordinal record of our own, and two scales.

The two published scales (Hafner BJ et al. Arch Phys Med Rehabil
2007;88:207-17) are known here by their ranges only, from memory; the wording
of their levels is not here.  A score from a form on paper can be kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping

from shared_models.quantities.refusals import Refusal

#: Each from worst to best; common practice.
PATTERNS = ("sideways", "step_to", "step_over_step")
#: A trial that gives no pattern to rank.
NOT_WALKED = ("not_attempted", "refused", "unable")
RAILS = ("two", "one", "none")
AIDS = ("other", "one_stick", "none")
HELPER_CONTACTS = ("hands_on", "standby", "none")
DIRECTIONS = ("up", "down")
_RANKED: Mapping[str, tuple[str, ...]] = {
    "pattern": PATTERNS, "rail": RAILS, "aid": AIDS, "helper_contact": HELPER_CONTACTS,
}
#: Ranges of the two scales: 14 and 12 ordinal steps.
STAIR_SCALE = (0, 13)
HILL_SCALE = (0, 11)


@dataclass(frozen=True)
class StairTrial:
    """One flight or ramp, up or down, as seen.

    Step over step: each foot lands on another tread at every step of the
    trial.  ``leading_side`` is the side that goes first in step-to, '' in the
    others.  ``rise_mm`` is that of one tread, None on a ramp.
    """

    direction: str
    pattern: str
    rail: str
    aid: str
    helper_contact: str
    steps: int
    rise_mm: float | None
    time_s: float | None
    leading_side: str = ""


def check_trial(trial: StairTrial) -> None:
    """Refuse a choice, count, rise or time that can't be, naming it."""
    _choose("direction", trial.direction, DIRECTIONS)
    _choose("pattern", trial.pattern, PATTERNS + NOT_WALKED)
    for field in ("rail", "aid", "helper_contact"):
        _choose(field, getattr(trial, field), _RANKED[field])
    _choose("leading_side", trial.leading_side, ("", "left", "right"))
    if isinstance(trial.steps, bool) or not isinstance(trial.steps, int) or not 1 <= trial.steps <= 500:
        raise Refusal("stair_figure_cannot_be", field="steps", value=trial.steps, lowest=1, highest=500)
    if trial.rise_mm is not None and not 50 <= trial.rise_mm <= 400:
        raise Refusal("stair_figure_cannot_be", field="rise_mm", value=trial.rise_mm, lowest=50, highest=400)
    if trial.time_s is not None and not 0 < trial.time_s <= 3600:
        raise Refusal("stair_figure_cannot_be", field="time_s", value=trial.time_s, lowest="above 0", highest=3600)


def compare_trials(before: StairTrial, after: StairTrial) -> str:
    """Return better, worse, same, mixed (some better, some worse), or ''.

    '' where one of them was not walked.  The four ordinal fields are compared
    one by one and never added up: no published weighting exists.  Refuses
    another direction, rise or number of steps.
    """
    check_trial(before)
    check_trial(after)
    for field in ("direction", "steps", "rise_mm"):
        if getattr(before, field) != getattr(after, field):
            raise Refusal(
                "figures_not_comparable", what=field,
                before=getattr(before, field), after=getattr(after, field))
    if before.pattern in NOT_WALKED or after.pattern in NOT_WALKED:
        return ""
    moves = {
        _sign(order.index(getattr(after, field)) - order.index(getattr(before, field)))
        for field, order in _RANKED.items()
    }
    if {1, -1} <= moves:
        return "mixed"
    return "better" if 1 in moves else "worse" if -1 in moves else "same"


def scale_score(score: int, scale: tuple[int, int]) -> int:
    """Return a score of the stair or hill scale; refuses what lies outside it."""
    if isinstance(score, bool) or not isinstance(score, int) or not scale[0] <= score <= scale[1]:
        raise Refusal("scale_score_cannot_be", value=score, lowest=scale[0], highest=scale[1])
    return score


def _sign(number: int) -> int:
    return (number > 0) - (number < 0)


def _choose(field: str, value: str, known: tuple[str, ...]) -> None:
    if value not in known:
        raise Refusal("timed_test_choice_unknown", field=field, value=value, known=", ".join(k or "''" for k in known))
