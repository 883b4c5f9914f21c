"""The next step of an adjuster after the trials so far, with what is known and why.

Safety rules come first and are not weighed against anything: one adjuster a
trial, never off the sheet's range or above its largest step, the stance
threshold from its low end and stance settings in smallest steps only, a
threshold at which damping was missing never again (all common practice).
Within them the belief about the good window chooses.  The clinician decides.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Sequence

from shared_models.calculations.tuning.assumptions import Assumptions, assumptions_of
from shared_models.calculations.tuning.choosing import Weighed, weigh, within_reach
from shared_models.calculations.tuning.course import (
    TOO_HIGH,
    TOO_LOW,
    Heard,
    Tried,
    damping_missing,
    hear,
)
from shared_models.calculations.tuning.window import Belief, learnt, prior
from shared_models.catalogue.edition import Finding
from shared_models.catalogue.sheets import Adjuster
from shared_models.quantities.amounts import text_of
from shared_models.quantities.refusals import Refusal

THRESHOLD, DAMPING = "stance_threshold", "stance_damping"


@dataclass(frozen=True)
class Suggestion:
    """What to do next, and what it rests on.

    ``action``: walk (nothing walked here yet), again (walk once more), turn,
    confirm, restore, ask (did damping come in at all?), threshold (back to the
    stance threshold), look (no adjuster cures it), contradiction, end_of_range
    or closed (no position can be good).  ``position``: where to turn to or stay.
    ``finding``: key of what led there, "" for none.  ``too_low_up_to`` and
    ``too_high_from``: what the trials showed, None where they showed nothing.
    ``chance``: that the present position is good, 0 to 1; ``chance_next``: the
    same for ``position``.  ``missing_from``: the lowest position at which
    stance damping was missing.
    """

    action: str
    position: Decimal | None = None
    finding: str = ""
    too_low_up_to: Decimal | None = None
    too_high_from: Decimal | None = None
    chance: float = 0.0
    chance_next: float = 0.0
    missing_from: Decimal | None = None


@dataclass(frozen=True)
class _Case:
    """One adjuster with its course, as the rules below look at it."""

    adjuster: Adjuster
    position: Decimal
    course: tuple[Tried, ...]
    known: tuple[Finding, ...]
    assumed: Assumptions
    belief: Belief

    @property
    def latest(self) -> Tried:
        """The latest trial."""
        return self.course[-1]

    @property
    def is_stance(self) -> bool:
        """Whether smallest steps only are taken."""
        return self.adjuster.function in (THRESHOLD, DAMPING)

    def place(self, position: Decimal) -> float:
        """Return a position in smallest steps from the lowest."""
        return float((position - self.adjuster.lowest) / self.adjuster.smallest_step)

    def at(self, place: int) -> Decimal:
        """Return the position of a place of the grid."""
        return self.adjuster.lowest + place * self.adjuster.smallest_step

    def missing_from(self) -> Decimal | None:
        """The lowest threshold at which damping was missing.

        At the lowest position with the hands on the bars it says only that the
        leg was not loaded: there is nothing below to go back to.
        """
        if self.adjuster.function != THRESHOLD:
            return None
        return min(
            (t.position for t in self.course if damping_missing(t, self.known)
             and not (t.provisional and t.position == self.adjuster.lowest)), default=None,
        )


def suggest(
    adjuster: Adjuster,
    position: Decimal,
    course: Sequence[Tried],
    known: Sequence[Finding],
    last_confirmed: Decimal | None,
    assumed: Assumptions | None = None,
) -> Suggestion:
    """Suggest the next step of one adjuster.

    ``position``: where it stands, in the sheet's unit; ``course``: the trials on
    it that still count, oldest first, the latest walked at ``position``;
    ``known``: findings of the edition; ``last_confirmed``: position of the
    latest confirmed trial, None when there is none; ``assumed``: other
    assumptions than the edition's.  Raises Refusal for a position that the
    sheet does not have.
    """
    _refuse_impossible(adjuster, position)
    assumed = assumed or assumptions_of(adjuster.function)
    known, course = tuple(known), tuple(course)
    case = _Case(
        adjuster, position, course, known, assumed, belief_after(adjuster, course, known, assumed),
    )
    found = _next_step(case, last_confirmed)
    low, high = _shown(case)
    there = found.position if found.position is not None else position
    return replace(
        found, too_low_up_to=low, too_high_from=high, missing_from=case.missing_from(),
        chance=case.belief.good(case.place(position)),
        chance_next=case.belief.good(case.place(there)),
    )


def belief_after(
    adjuster: Adjuster, course: Sequence[Tried], known: Sequence[Finding],
    assumed: Assumptions | None = None,
) -> Belief:
    """Return the belief about the good window after a course of trials."""
    assumed = assumed or assumptions_of(adjuster.function)
    steps = int((adjuster.highest - adjuster.lowest) / adjuster.smallest_step)
    belief = prior(steps, assumed)
    for tried in course:
        weight = assumed.provisional_weight if tried.provisional else 1.0
        weight *= assumed.disturbed_weight if tried.disturbed else 1.0
        place = float((tried.position - adjuster.lowest) / adjuster.smallest_step)
        belief = learnt(belief, place, hear(tried, known, assumed.ways).evidence, assumed, weight)
    return belief


def _refuse_impossible(adjuster: Adjuster, position: Decimal) -> None:
    if not position.is_finite() or not adjuster.lowest <= position <= adjuster.highest:
        raise Refusal(
            "tuning_position_outside", adjuster=adjuster.name, position=str(position),
            lowest=text_of(adjuster.lowest), highest=text_of(adjuster.highest), unit=adjuster.unit,
        )


def _next_step(case: _Case, last_confirmed: Decimal | None) -> Suggestion:
    """Go through the rules in their order; the belief decides where they leave a choice."""
    missing = case.missing_from()
    if missing is not None and case.position >= missing:
        return _restore(case, last_confirmed, missing)
    if not case.course or case.latest.position != case.position:
        return Suggestion("walk", case.position)
    heard = hear(case.latest, case.known)
    trouble = _trouble(case, heard, last_confirmed)
    if trouble is not None:
        return trouble
    return _by_belief(case, heard, missing)


def _restore(case: _Case, last_confirmed: Decimal | None, missing: Decimal) -> Suggestion:
    """Back to the last confirmed threshold, or where damping last came in; never at or above missing."""
    finding = next(
        (f.key for t in reversed(case.course) for f in hear(t, case.known).restores), "",
    )
    safe = [
        t.position for t in case.course
        if t.position < missing and not damping_missing(t, case.known)
    ]
    if last_confirmed is not None and last_confirmed < missing:
        back = last_confirmed
    else:
        back = safe[-1] if safe else case.adjuster.lowest
    if back >= missing:
        return Suggestion("closed", None, finding)
    return Suggestion("restore", back, finding)


def _trouble(case: _Case, heard: Heard, last_confirmed: Decimal | None) -> Suggestion | None:
    """What is answered before any turn: missing damping, contradictions, other causes."""
    latest, function = case.latest, case.adjuster.function
    led = heard.strongest.key if heard.strongest else ""
    if function == DAMPING and damping_missing(latest, case.known):
        key = heard.restores[0].key if heard.restores else led
        if last_confirmed not in (None, case.position):
            return Suggestion("restore", last_confirmed, key)
        return Suggestion("threshold", case.position, key)
    if heard.restores and function == THRESHOLD:
        # With the hands on the bars at the lowest position: let the leg be loaded.
        return Suggestion("again", case.position, heard.restores[0].key)
    if heard.restores:
        back = last_confirmed if last_confirmed is not None else case.adjuster.start
        return Suggestion("again" if back == case.position else "restore", back, heard.restores[0].key)
    if len(heard.sides) == 2:
        return Suggestion("contradiction", None, heard.turns[0][0].key)
    if function == DAMPING and "more" in heard.sides and latest.damping_came_in is None:
        return Suggestion("ask", case.position, led)
    if not heard.turns and heard.others:
        return Suggestion("look", None, heard.others[0].key)
    return None


def _by_belief(case: _Case, heard: Heard, missing: Decimal | None) -> Suggestion:
    belief, assumed = case.belief, case.assumed
    led = heard.strongest.key if heard.strongest else ""
    place = case.place(case.position)
    clean = not heard.turns and case.latest.outcome != "stopped" and not case.latest.provisional
    if clean and belief.good(place) >= assumed.needed_chance:
        return Suggestion("confirm", case.position)
    allowed = [k for k in range(belief.steps + 1) if missing is None or case.at(k) < missing]
    if max((belief.good(k) for k in allowed), default=0.0) < assumed.hopeless_chance:
        return Suggestion(_which_end(case), None, led)
    reach = 1.0 if case.is_stance else float(case.adjuster.largest_step / case.adjuster.smallest_step)
    near = [k for k in within_reach(belief.steps, place, reach) if k in set(allowed)]
    if case.adjuster.function == THRESHOLD:
        near = [k for k in near if k >= place] or near
    price = assumed.trials_worth_of_unprotected if case.adjuster.function == THRESHOLD else 0.0
    weighed = [weigh(belief, k, max(reach, 1.0), assumed) for k in near]

    def cost(w: Weighed) -> tuple[float, float, float]:
        return round(w.trials + price * w.too_high + assumed.trials_worth_of_wrong * w.wrong, 9), -w.good, abs(w.place - place)

    best = min(weighed, key=cost)
    if best.place == place:
        # Found twice where it stands now: walking there once more would be answered as before.
        best = min(_beyond(case, weighed), key=cost, default=best)
    to = case.at(best.place)
    at_the_last = len(near) == 1 or (to == case.position and bool(heard.turns))
    if at_the_last and _found_here(case) >= assumed.trials_at_the_last:
        return Suggestion(_which_end(case), None, led)
    return Suggestion("again" if to == case.position else "turn", to, led)


def _found_here(case: _Case) -> int:
    """Return how many trials at the present position found something."""
    return sum(
        bool(hear(t, case.known).turns) for t in case.course if t.position == case.position
    )


def _beyond(case: _Case, weighed: Sequence[Weighed]) -> list[Weighed]:
    """Return what lies the way that the last two trials at this position asked for, where both found the same."""
    here = [t for t in case.course if t.position == case.position][-2:]
    sides = [hear(t, case.known).sides for t in here]
    if len(sides) < 2 or sides[0] != sides[1] or len(sides[0]) != 1:
        return []
    way = 1 if "more" in sides[0] else -1
    return [w for w in weighed if (w.place - case.place(case.position)) * way > 0]


def _which_end(case: _Case) -> str:
    """Tell an end of the range from a bracket that has closed."""
    sides = {e.side for t in case.course for e in hear(t, case.known).evidence if e.grade}
    return "end_of_range" if len(sides) == 1 else "closed"


def _shown(case: _Case) -> tuple[Decimal | None, Decimal | None]:
    """Return what the trials showed: too low up to here, too high from there.

    Only as far as a trial with that finding reached: beyond it there is no
    more than an assumption.
    """
    # Among windows that exist: that none does is said by `closed`, not here.
    sure, found = case.assumed.said_chance * (1 - case.belief.nowhere), []
    for side, chance, outermost, step in (
        (TOO_LOW, case.belief.too_low, max, -1), (TOO_HIGH, case.belief.too_high, min, 1),
    ):
        tried = [
            case.place(t.position) for t in case.course
            if any(e.side == side and e.grade for e in hear(t, case.known).evidence)
        ]
        place = int(outermost(tried)) if tried else -1
        while 0 <= place <= case.belief.steps and chance(place) < sure:
            place += step
        found.append(case.at(place) if 0 <= place <= case.belief.steps else None)
    return found[0], found[1]
