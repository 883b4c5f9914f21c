"""Records the gallery's invented fittings into a tablet's own store, through its own author.

The bodies say what the invented person of the rehearsal says; the figures are
made up.  Nothing is shortened on the way: composing, checking, sealing and
folding are those of a tablet at work.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any, Mapping

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import now_here
from mobile.keeping.session import Session
from mobile.rehearsal import person

PROSTHETIST, TECHNICIAN, LEAD = "demo-prosthetist", "demo-technician", "demo-lead"
PLACES = ("socket", "upper_adapter", "knee", "tube", "foot")
_GROUNDS = {
    "stance_threshold": {"damping_came_in": True, "damping_let_go": True},
    "ramp": {"damping_came_in": True, "descent": "even"},
    "low_steps": {"damping_came_in": True, "descent": "even"},
    "stairs": {
        "damping_came_in": True, "step_over_step": True, "half_foot_over_edge": True, "trunk_upright": True,
        "descent": "even", "sound_side_landing": "soft", "steps": "6", "time_s": "7.2",
    },
    "final_walk": {"damping_came_in": True},
}


class Recording:
    """One fitting, recorded stage by stage."""

    def __init__(self, session: Session, fitting: str, identity: Mapping[str, Any] | None = None, helper: str = "Bo Helper") -> None:
        self.session, self.helper = session, helper
        self.subject = Subject("fitting", fitting)
        self.person = Subject("person", f"person-of-{fitting}")
        typed = {**person.NEW_FITTING, **(identity or {})}
        keys = ("family_name", "given_name", "born_on", "file_number")
        self.note("identity", {key: typed[key] for key in keys}, subject=self.person)
        self.note("opened", {"person": self.person.id, "prosthetist": PROSTHETIST, **{k: v for k, v in typed.items() if k not in keys}})

    @property
    def view(self) -> FittingView:
        """The fitting as recorded now."""
        return self.session.fitting(self.subject.id)

    def note(self, kind: str, body: Mapping[str, Any], subject: Subject | None = None, **more) -> Entry:
        """Record a fact; what a form asks and is not given is said as in the rehearsal."""
        return self.session.save(kind, subject or self.subject, body, **more)

    def answer(self, slot: str, **typed: Any) -> Entry:
        """Record a slot with the rehearsal's answers, some of them changed."""
        kind = self.view.edition.kind_of_slot(slot)
        place = slot.partition("/")[2]
        own = {"torque_interim": "screw", "torque_final": "screw", "cap": "cap"}.get(slot.partition("/")[0])
        body = {**({own: place} if own else {}), **person.answers(slot, self.view, now_here().date())}
        if slot.startswith("torque_final/"):
            body["locking_method"] = self.view.screw(place).screw.locking_method
        if slot == "handover":
            body["whom_to_call"] = "the clinic"
        return self.note(kind.key, {**body, **typed})

    # Stage by stage -----------------------------------------------------------------

    def told(self, **goals: str) -> "Recording":
        """What is asked and looked at before any part is chosen."""
        for slot in ("body", "activity", "limb", "footwear", "consent"):
            self.answer(slot, **(goals if slot == "activity" else {}))
        return self

    def built(self) -> "Recording":
        """The parts, and that they suit."""
        record = self.session.record
        for sheet in record.subjects("component_sheet"):
            head = record.head(Subject("component_sheet", sheet), "sheet")
            self.note("component", {
                "place": head.body["part"], "sheet": sheet, "sheet_digest": head.digest,
                **person.answers(f"component/{head.body['part']}", self.view, now_here().date()),
            })
        self.answer("candidacy")
        return self

    def benched(self) -> "Recording":
        """Aligned on the bench, adjusters at their start, screws tight for the trials."""
        self.answer("alignment/bench")
        for function in FUNCTIONS:
            self.turn(function, str(self.view.adjuster(function).start), "start")
        for screw in self.view.screws():
            self.answer(f"torque_interim/{screw.key}")
        for slot in ("knee_check", "guarded_yield", "ready"):
            self.answer(slot)
        return self

    def stood(self) -> "Recording":
        """Aligned standing."""
        self.answer("alignment/static")
        return self

    def turn(self, function: str, position: str, reason: str = "trial") -> Entry:
        """Turn an adjuster."""
        return self.note("setting", {"function": function, "position": position, "reason": reason})

    def walk(self, ground: str, outcome: str = "confirmed", **more: Any) -> Entry:
        """Walk one trial."""
        kind = "final_walk" if ground == "final_walk" else f"trial_{ground}"
        return self.note(kind, {
            "stands_by": self.helper, "aid": "none", "pain_0_10": "1", "findings": [], "outcome": outcome,
            **_GROUNDS.get(ground, {}), **more,
        })

    def tuned(self) -> "Recording":
        """All trials confirmed."""
        self.turn("stance_threshold", "1")
        self.walk("stance_threshold")
        self.answer("skin/first")
        for ground in ("swing_flexion", "swing_extension"):
            self.walk(ground)
        self.answer("alignment/recheck")
        for ground in ("ramp", "low_steps", "stairs"):
            self.walk(ground)
        self.answer("skin/end")
        return self

    def tightened(self, most: int = 99) -> "Recording":
        """Screws at their final torque, as many as are wanted."""
        calibrated = (now_here().date() - timedelta(days=90)).isoformat()
        for screw in self.view.screws()[:most]:
            self.answer(f"torque_final/{screw.key}", wrench_calibrated_on=calibrated)
        return self

    def capped(self) -> "Recording":
        """Caps seated and the alignment looked at for the last time."""
        for cap in self.view.caps():
            self.answer(f"cap/{cap.key}")
        self.answer("alignment/closing")
        return self

    def signed(self, technician) -> "Recording":
        """Signed by the technician's own open keys, and walked once more."""
        self.note("sign_off", {"technician": TECHNICIAN, "way": "witnessed"}, signed_with=technician)
        self.walk("final_walk")
        return self

    def handed_over(self) -> "Recording":
        """Measured, handed over, and the next review planned."""
        for slot in ("outcome", "handover", "review_plan"):
            self.answer(slot)
        return self
