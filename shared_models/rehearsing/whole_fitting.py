"""One whole fitting of a model person without screens, through the real record and verdict.

Step after step as the edition lists them: what a step still lacks is recorded,
what has gone stale is done again, and the verdict says at the end whether the
fitting is complete.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from random import Random
from typing import Any, Collection, Mapping

from shared_models.catalogue.edition import GROUNDS, Step
from shared_models.checks.alignment_reading import read_alignment
from shared_models.checks.remarks import Remark
from shared_models.checks.verdict import (
    COMPLETE,
    MET,
    NOT_APPLICABLE,
    RESTRICTED,
    WAIVED,
    Verdict,
    judge,
    judge_step,
)
from shared_models.entries.envelope import Entry, Subject
from shared_models.quantities.moments import now_here
from shared_models.rehearsing.clinic_desk import PROSTHETIST, TECHNICIAN, Clinic, Desk
from shared_models.rehearsing.everyday import USUAL_LOAD_LINE_MM, Everyday, Standing
from shared_models.rehearsing.trying import DAMPING, THRESHOLD, Count, Guide, Trying, Walker, guidance

_DONE = (MET, WAIVED, NOT_APPLICABLE)
#: A step that is not met after so many goes, or a fitting after so many rounds, never is.
MOST_GOES, MOST_ROUNDS = 12, 12
#: An alignment that was turned so often and is still off is left open.
MOST_REALIGNED = 5
#: Times that heel rise is looked at again because no extension is right.
MOST_LOOKS_BACK = 2
EXTENSION = "swing_extension"


@dataclass(frozen=True)
class Leg:
    """Who is fitted: the model person who walks, and the figures typed about them."""

    walker: Walker
    body_mass_kg: str = "82.5"
    carried_load_kg: str = "6"
    side: str = "left"
    #: Why stairs are not tried at all; '' when they are.
    no_stairs_because: str = ""


@dataclass(frozen=True)
class FittingRun:
    """How one whole fitting went.

    ``state``: the verdict's; ``why``: of an incomplete one, step and remark code;
    ``stale``: confirmed trials whose ground had changed although the verdict was
    complete; ``wrong``: functions left where the person, with the other adjusters
    where they are, finds something; ``nowhere``: functions for which no position
    is good for this person.
    """

    number: int
    state: str
    why: str
    stale: tuple[str, ...]
    wrong: tuple[str, ...]
    nowhere: tuple[str, ...]
    restrictions: tuple[str, ...]
    counts: Mapping[str, Count]
    entries: int
    realigned: int

    @property
    def is_complete(self) -> bool:
        """Whether the verdict is complete, with or without a restriction."""
        return self.state in (COMPLETE, RESTRICTED)


class WholeFitting:
    """One fitting from the person's name to the next review."""

    def __init__(self, clinic: Clinic, number: int, leg: Leg, chance: Random, guide: Guide = guidance, observer_error: float = 1.0) -> None:
        self.number, self.leg, self.chance = number, leg, chance
        self.desk = Desk(clinic, f"rehearsal-{number}", f"fitting-{number}")
        self.trying = Trying(self.desk, leg.walker, chance, guide, observer_error, self._time_it)
        self.person = Subject("person", f"person-{number}")
        target = clinic.figure("knee", "load_line_target_mm", USUAL_LOAD_LINE_MM)
        self.standing = Standing(chance, float(target))
        self.forms = Everyday(
            number, PROSTHETIST, TECHNICIAN, self.person.id, self.standing,
            leg.body_mass_kg, leg.carried_load_kg, leg.side,
        )
        self.realigned = 0
        self._again = False
        self._looked_at_alignment_for: set[str] = set()

    def run(self) -> FittingRun:
        """Go through the fitting and return how it went."""
        verdict = self._rounds()
        counts = self.trying.counts
        view = self.desk.view
        left = {f: Decimal(p) for f, p in view.settings().items()}
        windows = {f: self.leg.walker.good_window(f, left) for f in counts}
        return FittingRun(
            self.number, verdict.state, self._why(verdict),
            self.trying.walked.stale(view.settings()) if verdict.is_complete else (),
            tuple(f for f, w in windows.items() if w is None or not w[0] <= left[f] <= w[1]),
            tuple(f for f in counts if self.leg.walker.good_window(f) is None),
            verdict.restrictions, counts, len(self.desk.record.entries), self.realigned,
        )

    def verdict(self, day: date | None = None) -> Verdict:
        """Judge the fitting as recorded by now."""
        return judge(self.desk.view, day or now_here().date())

    def _rounds(self) -> Verdict:
        for _ in range(MOST_ROUNDS):
            gone_through = all(self._through(step) for step in self.desk.view.edition.steps)
            verdict = self.verdict()
            if verdict.is_complete or not (gone_through or self._again):
                break
            self._again = False
        return verdict

    def _through(self, step: Step) -> bool:
        """Record what a step lacks until it is met; False when that can't be had now."""
        spares = step.instead or {}
        for _ in range(MOST_GOES):
            view = self.desk.view
            found = judge_step(view, now_here().date(), step.key)
            if found.state in _DONE:
                return True
            blocking = [r for r in found.remarks if r.blocks]
            for slot in [s for p in step.asks for s in view.expand(p)]:
                own = [r for r in blocking if r.slot in (slot, spares.get(slot))]
                if own and not self._record(slot, own):
                    return False
        return False

    def _record(self, slot: str, remarks: list[Remark]) -> bool:
        """Record what a slot lacks; False when the fitting can't go on from here now."""
        view, sort = self.desk.view, slot.partition("/")[0]
        kind = view.edition.kind_of_slot(slot)
        codes = {r.code for r in remarks}
        if "load_line_off" in codes and not any(c.startswith("stale_") for c in codes):
            self._realign(slot)
            return False
        if sort == "trial":
            return self._trial(slot)
        if sort == "component":
            self.desk.note("component", self._component(slot.partition("/")[2]))
            return True
        if slot == "sign_off":
            entry = self.desk.note(kind.key, self.forms.body(slot, view), by=TECHNICIAN)
            self.desk.sign(entry, TECHNICIAN, kind.signed_as)
            return True
        if sort == "torque_final":
            self.standing.tighten()
        self.desk.note(kind.key, self.forms.body(slot, view), subject=self.person if kind.subject == "person" else None)
        return True

    def _trial(self, slot: str) -> bool:
        ground, function = slot.partition("/")[2], self.desk.view.edition.kind_of_slot(slot).function
        if not function:
            held = self.trying.walk_at_the_end(slot)
        elif ground in GROUNDS:
            held = self._on_ground(slot, ground)
        else:
            self.trying.try_out(slot)
            if function == EXTENSION and self.trying.gave_up(function):
                self._look_at_heel_rise(slot)
            held = not self.trying.gave_up(function)
        for tried in (THRESHOLD, function):
            if tried and tried != DAMPING and self.trying.gave_up(tried):
                return self._look_at_alignment(tried)
        if self.trying.went_back:
            self.trying.went_back, self._again = False, True
            return False
        return held

    def _look_at_alignment(self, function: str) -> bool:
        """No position was good: set an adapter again and begin anew, once; then it is left open.

        The threshold begins at its low end again.
        """
        if function not in self._looked_at_alignment_for:
            self._looked_at_alignment_for.add(function)
            view = self.desk.view
            if function == THRESHOLD:
                self.trying.put_back(THRESHOLD, view.adjuster(THRESHOLD).lowest)
            self._loosen({view.screws()[0].place}, "slackened", "no position was good: alignment looked at")
            self.trying.try_again(function)
        return False

    def _loosen(self, places: Collection[str], what: str, why: str) -> None:
        """Screws of these parts were slackened or moved: the leg is aligned anew from here."""
        for screw in self.desk.view.screws():
            if screw.place in places:
                self.desk.note("screw_moved", {"screw": screw.key, "what": what, "why": why})
        self.trying.walked.aligned()
        self._again = True

    def _on_ground(self, slot: str, ground: str) -> bool:
        """Walk down a ground, or record why it is not cleared."""
        if ground == "stairs" and self.leg.no_stairs_because:
            self._restrict(ground, self.leg.no_stairs_because)
            return True
        if not self.trying.gave_up(DAMPING):
            self.trying.try_out(slot)
        if self.trying.gave_up(DAMPING):
            self._restrict(ground, "not_cleared")
        return True

    def _look_at_heel_rise(self, slot: str) -> None:
        """No extension is right: heel rise is looked at again first, as the finding's row says."""
        for _ in range(MOST_LOOKS_BACK):
            self.trying.try_out("trial/swing_flexion")
            if self.trying.gave_up("swing_flexion"):
                return
            self.trying.try_again(EXTENSION)
            self.trying.try_out(slot)
            if not self.trying.gave_up(EXTENSION):
                return

    def _time_it(self, trial: Entry, walked: Any) -> None:
        """A confirmed walk on the level is timed by taps."""
        if walked.contacts:
            self.desk.note("walk_timing", self.forms.timing(trial, walked.contacts))

    def _restrict(self, ground: str, because: str) -> None:
        self.desk.note("restriction", self.forms.restriction(ground, because))

    def _realign(self, slot: str) -> None:
        """Turn the adapter that is suggested: whatever rested on it has to be done again.

        Where nothing can be suggested, or turning has not helped, nothing is
        moved and the step stays open.
        """
        if self.realigned == MOST_REALIGNED:
            return
        view = self.desk.view
        head = view.head(slot)
        found = read_alignment(view, head.kind, head.body).suggestions
        way = (found.best or found.nearest) if found else None
        if way is None:
            return
        joints = {turn.joint for turn in way.turns}
        places = {p for p, sheet in view.sheets().items() if any(a.name in joints for a in sheet.adapters)}
        self._loosen(places, "moved", f"load line, {way.sort.replace('_', ' ')}")
        self.standing.move_mm(way.moves_mm)
        self.realigned += 1

    def _component(self, place: str) -> dict[str, str]:
        sheet = self.desk.clinic.sheets[place]
        return {
            "place": place, "sheet": sheet.subject.id, "sheet_digest": sheet.digest,
            "serial": f"DEMO-{place[:3].upper()}-{self.number:05d}", "lot": "D26",
        }

    def _why(self, verdict: Verdict) -> str:
        """Return the first step that is not done, with what stands against it; '' when complete."""
        given_up = next((f"{f}: {c.gave_up}" for f, c in self.trying.counts.items() if c.gave_up), "")
        for step in verdict.steps:
            if step.state not in _DONE and not verdict.is_complete:
                return given_up or f"{step.key}: {next((r.code for r in step.remarks if r.blocks), step.state)}"
        return ""
