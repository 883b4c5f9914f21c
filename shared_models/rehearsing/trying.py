"""Trials of one fitting on a model person: walk, ask the guidance, turn, until it is right.

The guidance is asked what the tablet asks it, with the course read from the
record; whoever rehearses does what it says.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from typing import Any, Callable, Mapping, Protocol, Sequence

from shared_models.calculations.tuning import Suggestion, Tried
from shared_models.catalogue.edition import GROUNDS
from shared_models.catalogue.sheets import Adjuster
from shared_models.checks.stopping import to_restore
from shared_models.checks.tuning_advice import advice
from shared_models.checks.tuning_course import course_of, findings_in
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of
from shared_models.rehearsing.clinic_desk import Desk
from shared_models.rehearsing.everyday import HELPER

THRESHOLD, DAMPING = "stance_threshold", "stance_damping"
#: More trials than this on one slot are no fitting any more.
MOST_TRIALS = 60
#: Times that a contradiction, or what no adjuster cures, is walked once more.
MOST_PUZZLES = 3
_UNSAFE = ("no_damping_when_loaded", "knee_gives_way")
_CLOSED = ("closed", "end_of_range")
_PUZZLES = ("look", "contradiction", "ask")
#: Adjusters whose position a confirmed trial stands on; any other trial stands on all.
_STANDS_ON = {
    "trial/stance_threshold": (THRESHOLD,),
    "trial/swing_flexion": (THRESHOLD, "swing_flexion"),
    "trial/swing_extension": (THRESHOLD, "swing_flexion", "swing_extension"),
    "trial/ramp": (THRESHOLD, DAMPING), "trial/low_steps": (THRESHOLD, DAMPING), "trial/stairs": (THRESHOLD, DAMPING),
}


class Walker(Protocol):
    """A person who answers trials."""

    def good_window(
        self, function: str, positions: Mapping[str, Decimal] | None = None,
    ) -> tuple[Decimal, Decimal] | None:
        """Return lowest and highest good position, the others standing there; None where none is."""

    def walk(
        self, function: str, positions: Mapping[str, Decimal], chance: Random,
        *, observer_error: float, hands_on_bars: bool, ground: str,
    ) -> Any:
        """Walk one trial; return its findings and whether stance damping protected."""


class Guide(Protocol):
    """What is asked for the next step of an adjuster."""

    def __call__(
        self, adjuster: Adjuster, position: Decimal, course: Sequence[Tried],
        view: FittingView,
    ) -> Suggestion:
        """Return the next step after a course of trials."""


def guidance(
    adjuster: Adjuster, position: Decimal, course: Sequence[Tried], view: FittingView,
) -> Suggestion:
    """Ask the tablet's own guidance."""
    found = course[-1].findings if course else ()
    return advice(view, adjuster.function, position, course, found)


@dataclass
class Count:
    """What tuning one function took, and where it ended."""

    trials: int = 0
    unprotected: int = 0
    stops: int = 0
    too_large: int = 0
    #: Put back by more than the largest step, in one turn: after a stop or a missing damping.
    put_back_far: int = 0
    #: Trials until the function was confirmed for the first time; None when it never was.
    first_good: int | None = None
    gave_up: str = ""


@dataclass
class Walked:
    """What was truly in place when each trial was confirmed, kept beside the record.

    The verdict reads the record; this is what it is held against.
    """

    alignments: int = 0
    confirmed: dict[str, tuple[int, dict[str, Decimal]]] = field(default_factory=dict)

    def aligned(self) -> None:
        """The leg was aligned anew."""
        self.alignments += 1

    def confirm(self, slot: str, settings: Mapping[str, str]) -> None:
        """A trial was confirmed at these settings."""
        upon = _STANDS_ON.get(slot, tuple(settings))
        self.confirmed[slot] = (self.alignments, {f: Decimal(settings[f]) for f in upon if f in settings})

    def stale(self, settings: Mapping[str, str]) -> tuple[str, ...]:
        """Return the trials that were confirmed on another alignment or other positions."""
        return tuple(
            slot for slot, (alignments, positions) in self.confirmed.items()
            if alignments != self.alignments
            or any(Decimal(settings[f]) != at for f, at in positions.items())
        )


@dataclass
class Trying:
    """The walking trials of one fitting."""

    desk: Desk
    person: Walker
    chance: Random
    guide: Guide = guidance
    observer_error: float = 1.0
    #: Hears of each confirmed trial and of the walk it was.
    confirmed: Callable[[Entry, Any], None] = lambda _trial, _walked: None
    counts: dict[str, Count] = field(default_factory=dict)
    walked: Walked = field(default_factory=Walked)
    #: The threshold was sought again while another function was tried: earlier steps come first.
    went_back: bool = False

    def try_out(self, slot: str) -> None:
        """Walk trials of a slot until one is confirmed, or the guidance knows no way on."""
        function = self.desk.view.edition.kind_of_slot(slot).function
        count, puzzles, look_back = self.count(function), 0, True
        for _ in range(MOST_TRIALS):
            if look_back and not self._look_back(function, count):
                return
            advice = self._trial(slot, function, count)
            look_back = advice is None
            if advice is None:
                continue
            if advice.action == "confirm":
                if count.first_good is None:
                    count.first_good = count.trials
                self.walked.confirm(slot, self.desk.view.settings())
                return
            if advice.action == "threshold" and function != THRESHOLD:
                self._back_to_threshold()
                return
            puzzles += advice.action in _PUZZLES
            if advice.action in _CLOSED or puzzles > MOST_PUZZLES:
                count.gave_up = advice.action
                return
            self._turn(function, advice)
        count.gave_up = "too_many_trials"

    def walk_at_the_end(self, slot: str) -> bool:
        """Walk once more with everything closed; False when the knee did not hold."""
        settings = self.desk.view.settings()
        findings: Sequence[Mapping[str, str]] = ()
        if THRESHOLD in settings:
            findings = self._walk(slot, THRESHOLD, settings, bars=False).findings
        body = trial_body(slot, [f for f in findings if f["finding"] in _UNSAFE])
        if not body["damping_came_in"]:
            self._stop(slot, body, self.count(THRESHOLD))
            self._back_to_threshold()
            return False
        self.desk.note("final_walk", {**body, "outcome": "confirmed"})
        self.walked.confirm(slot, settings)
        return True

    def count(self, function: str) -> Count:
        """Return the count of a function."""
        return self.counts.setdefault(function, Count())

    def gave_up(self, function: str) -> str:
        """Return why no setting of a function was found; '' when one was, or none is sought."""
        return self.count(function).gave_up

    def _look_back(self, function: str, count: Count) -> bool:
        """Do what earlier trials ask for before walking again; False when they leave no way on."""
        view = self.desk.view
        course = course_of(view, function)
        if not course:
            return True
        position = Decimal(view.settings()[function])
        advice = self.guide(view.adjuster(function), position, course, view)
        if advice.action in _CLOSED:
            count.gave_up = advice.action
            return False
        if advice.action in ("restore", "turn"):
            self._turn(function, advice)
        return True

    def try_again(self, function: str) -> None:
        """Forget that no setting of a function was found: something before it was looked at again."""
        self.count(function).gave_up = ""

    def put_back(self, function: str, position: Decimal) -> None:
        """Put an adjuster back to where it is safe, in one turn."""
        self._turn(function, Suggestion("restore", position))

    def _trial(self, slot: str, function: str, count: Count) -> Suggestion | None:
        """Walk once and record it; return what to do next, None after a stop."""
        view = self.desk.view
        adjuster, settings = view.adjuster(function), view.settings()
        position = Decimal(settings[function])
        bars = function == THRESHOLD and not view.trials(slot)
        walked = self._walk(slot, function, settings, bars)
        count.trials += 1
        count.unprotected += not walked.protected
        body = trial_body(slot, walked.findings, bars)
        if _gave_way(walked.findings):
            self._stop(slot, body, count)
            return None
        tried = Tried(
            position, tuple(findings_in(body)), provisional=bars,
            damping_came_in=body.get("damping_came_in"),
        )
        advice = self.guide(adjuster, position, (*course_of(view, function), tried), view)
        body["outcome"] = "confirmed" if advice.action == "confirm" else "change"
        trial = self.desk.note(view.edition.kind_of_slot(slot).key, body)
        if advice.action == "confirm":
            self.confirmed(trial, walked)
        return advice

    def _walk(self, slot: str, function: str, settings: Mapping[str, str], bars: bool) -> Any:
        ground = slot.partition("/")[2]
        return self.person.walk(
            function, {f: Decimal(p) for f, p in settings.items()}, self.chance,
            observer_error=self.observer_error, hands_on_bars=bars,
            ground=ground if ground in GROUNDS else "stairs",
        )

    def _stop(self, slot: str, body: dict[str, Any], count: Count) -> None:
        """The knee gave way: stop, put back what was last confirmed, say so."""
        count.stops += 1
        kind = self.desk.view.edition.kind_of_slot(slot).key
        stopped = self.desk.note(kind, {**body, "outcome": "stopped", "stop_reason": "buckling"})
        for function, (_, wanted) in to_restore(self.desk.view).items():
            self.put_back(function, Decimal(wanted))
        self.desk.note("stop_answered", {"stopped": stopped.digest, "restored": True})

    def _back_to_threshold(self) -> None:
        """Damping did not come in on the way down: seek the threshold again from below."""
        self.went_back = True
        self.try_out("trial/stance_threshold")

    def _turn(self, function: str, advice: Suggestion) -> None:
        view = self.desk.view
        adjuster, now = view.adjuster(function), Decimal(view.settings()[function])
        if advice.position is None or advice.position == now:
            return
        restored = advice.action == "restore"
        if abs(advice.position - now) > adjuster.largest_step:
            self.count(function).too_large += not restored
            self.count(function).put_back_far += restored
        self.desk.note("setting", {
            "function": function, "position": text_of(advice.position), "position_before": text_of(now),
            "reason": "restored" if restored else "trial",
        })


def _gave_way(findings: Sequence[Mapping[str, str]]) -> bool:
    return any(f["finding"] == "knee_gives_way" and f.get("grade") != "none" for f in findings)


def trial_body(slot: str, findings: Sequence[Mapping[str, str]], bars: bool = False) -> dict[str, Any]:
    """Return what is recorded of a trial that showed these findings, but its outcome."""
    shown = {f["finding"] for f in findings if f.get("grade") in ("slight", "marked")}
    body: dict[str, Any] = {
        "stands_by": HELPER, "aid": "bars" if bars else "none", "pain_0_10": "1",
        "findings": [dict(f) for f in findings],
    }
    came_in = not shown & {*_UNSAFE, "no_damping_on_descent"}
    descent = "drops" if "drops_on_descent" in shown else "slow" if "yields_too_slowly" in shown else "even"
    if slot == "trial/stance_threshold":
        body |= {"damping_came_in": came_in, "damping_let_go": "damping_stays_in" not in shown}
    elif slot in ("trial/ramp", "trial/low_steps", "trial/stairs"):
        body |= {"damping_came_in": came_in, "descent": descent}
    elif slot == "trial/final_walk":
        body |= {"damping_came_in": came_in}
    if slot == "trial/stairs":
        body |= {
            "step_over_step": True, "half_foot_over_edge": True, "trunk_upright": True,
            "sound_side_landing": "hard" if descent == "drops" else "soft", "steps": "6", "time_s": "7.2",
        }
    return body

