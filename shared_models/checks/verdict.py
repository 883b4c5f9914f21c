"""The verdict: per step, what is met, open, stale, disputed or waived, and why.

A pure function of the entries and signatures in the view, the edition and the
day.  Tablet and server call the same one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any, Collection

from shared_models.catalogue.edition import Step
from shared_models.checks.attached import BESIDE, photos_in
from shared_models.checks.freshness import Freshness
from shared_models.checks.fields import field_remarks
from shared_models.checks.remarks import Remark
from shared_models.checks.rules import RULES
from shared_models.checks.rules_walking import stop_remarks
from shared_models.checks.stop_events import stop_event_remarks
from shared_models.entries.canonical import digest_of
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.entries.roles import had_role
from shared_models.entries.vouching import LEAD
from shared_models.language import SOURCE, Worded, in_language

OPEN, MET, STALE = "open", "met", "stale"
DISPUTED, WAIVED, NOT_APPLICABLE = "disputed", "waived", "not applicable"
COMPLETE, RESTRICTED, INCOMPLETE = "complete", "complete_with_restriction", "incomplete"


@dataclass(frozen=True)
class StepVerdict:
    """State of one step with its remarks; ``proofs`` are the digests it stands on."""

    key: str
    title: str = Worded()
    state: str
    remarks: tuple[Remark, ...] = ()
    proofs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Verdict:
    """The whole judgement of a fitting.

    ``state``: complete, complete_with_restriction or incomplete.  ``status``
    in words of HL7 FHIR: in-progress, completed, amended.  ``review``: '' while
    nobody was asked, requested, accepted or rejected; ``changed_since_review``
    when anything in the fitting is no longer what that review saw.
    """

    fitting: str
    edition: str
    day: str
    state: str
    status: str
    review: str
    changed_since_review: bool
    steps: tuple[StepVerdict, ...]
    restrictions: tuple[str, ...] = ()
    review_remarks: tuple[tuple[str, str], ...] = ()
    remarks: tuple[Remark, ...] = field(default=())

    def step(self, key: str) -> StepVerdict:
        """Return the verdict on one step; raise KeyError when there is none."""
        for step in self.steps:
            if step.key == key:
                return step
        raise KeyError(key)

    @property
    def is_complete(self) -> bool:
        """Whether nothing is missing, with or without a restriction."""
        return self.state in (COMPLETE, RESTRICTED)

    @property
    def screws_are_signed(self) -> bool:
        """Whether a second person stands for the screws, or a later visit touched none that would have to be signed."""
        state = self.step("sign_off").state
        return state == MET or (state == NOT_APPLICABLE and self.step("torque").state in (MET, NOT_APPLICABLE))

    def as_record(self) -> dict[str, Any]:
        """Return the plain form that is stored, compared and digested, in one language everywhere."""
        with in_language(SOURCE):
            return self._as_record()

    def _as_record(self) -> dict[str, Any]:
        return {
            "fitting": self.fitting, "edition": self.edition, "day": self.day,
            "state": self.state, "status": self.status, "review": self.review,
            "changed_since_review": self.changed_since_review,
            "restrictions": list(self.restrictions),
            "review_remarks": [list(pair) for pair in self.review_remarks],
            "remarks": [r.as_record() for r in self.remarks],
            "steps": [
                {
                    "key": s.key, "title": s.title, "state": s.state,
                    "proofs": list(s.proofs),
                    "remarks": [r.as_record() for r in s.remarks],
                }
                for s in self.steps
            ],
        }

    @property
    def digest(self) -> str:
        """One figure by which two machines can compare their verdicts."""
        return digest_of(self.as_record())


def judge(view: FittingView, day: date, lacking: Collection[str] = ()) -> Verdict:
    """Judge a fitting as of a day.

    ``lacking`` are the hashes of photos whose bytes a server has not whole: there
    the record is not complete.  Only photos that hold their place count, so that one
    lost for good can be withdrawn.
    """
    with in_language(SOURCE):
        return _judged(view, day, lacking)


def _judged(view: FittingView, day: date, lacking: Collection[str]) -> Verdict:
    judge_ = _Judge(view, day)
    steps = tuple(judge_.step(step) for step in view.edition.steps)
    done = (MET, WAIVED, NOT_APPLICABLE)
    restrictions = tuple(sorted(judge_.restrictions))
    loose = (*judge_.loose_ends(), *_bytes_missing(view, lacking))
    if all(s.state in done for s in steps) and not any(r.blocks for r in loose):
        state = RESTRICTED if restrictions else COMPLETE
    else:
        state = INCOMPLETE
    review, remarks, amended = judge_.review()
    return Verdict(
        fitting=view.id, edition=view.edition.name, day=day.isoformat(), state=state,
        status="in-progress" if state == INCOMPLETE else "amended" if amended else "completed",
        review=review, changed_since_review=amended, steps=steps, restrictions=restrictions,
        review_remarks=remarks, remarks=loose,
    )


def _bytes_missing(view: FittingView, lacking: Collection[str]) -> list[Remark]:
    return [
        Remark("photo_not_sent_yet", photo.slot, photo.entry.digest)
        for photo in (photos_in(view) if lacking else ()) if photo.sha256 in lacking
    ]


def judge_step(view: FittingView, day: date, key: str) -> StepVerdict:
    """Judge one step by itself, as `judge` judges it; raise KeyError when there is none."""
    with in_language(SOURCE):
        return _Judge(view, day).step(view.edition.step(key))


class _Judge:
    def __init__(self, view: FittingView, day: date) -> None:
        self.view = view
        self.day = day
        self.fresh = Freshness(view)
        self.restrictions: set[str] = set()

    def step(self, step: Step) -> StepVerdict:
        """Judge one step over every slot it asks for."""
        aside = self._set_aside(step)
        if aside:
            return aside
        slots = self.view.slots_asked(step)
        if not slots:
            return self._nothing_to_do(step)
        states, remarks, proofs = [], [], []
        for slot in slots:
            state, found, proof = self._slot(slot, step)
            states.append(state)
            remarks += found
            proofs += proof
        for state in (DISPUTED, OPEN, STALE):
            if state in states:
                break
        else:
            state = MET
        return StepVerdict(step.key, step.title, state, tuple(remarks), tuple(proofs))

    def _nothing_to_do(self, step: Step) -> StepVerdict:
        """No slot falls under what the step asks: nothing there, or not known yet."""
        if "knee" not in self.view.sheets():
            remark = Remark("components_first", step.asks[0])
            return StepVerdict(step.key, step.title, OPEN, (remark,))
        said = Remark("nothing_touched" if step.when else "sheets_list_none", step.asks[0], blocks=False)
        return StepVerdict(step.key, step.title, NOT_APPLICABLE, (said,))

    def _set_aside(self, step: Step) -> StepVerdict | None:
        for slot, state in ((f"waiver/{step.key}", WAIVED), (f"not_applicable/{step.key}", NOT_APPLICABLE)):
            heads = self.view.heads(slot)
            if not heads:
                continue
            if len(heads) > 1:
                return StepVerdict(step.key, step.title, DISPUTED, self._apart(slot, heads))
            if not step.may_be_waived:
                continue
            head = heads[0]
            kind = self.view.record.kind_of(head)
            if kind is None or field_remarks(kind, head, slot):
                continue
            figures = {"by": self.view.record.name_of(head.recorded_by), "because": str(head.body.get("because", ""))}
            remark = Remark("set_aside", slot, head.digest, figures, blocks=False)
            return StepVerdict(step.key, step.title, state, (remark,), (head.digest,))
        return None

    def _slot(self, slot: str, step: Step) -> tuple[str, list[Remark], list[str]]:
        heads = self.view.heads(slot)
        if len(heads) > 1:
            return DISPUTED, list(self._apart(slot, heads)), []
        spare = (step.instead or {}).get(slot)
        if not heads:
            if spare and self.view.heads(spare):
                return self._restriction(spare, slot)
            return OPEN, [Remark("not_recorded", slot)], []
        state, remarks = self._proof(slot, heads[0])
        if spare and self.view.heads(spare) and not (state == MET and self._is_lifted(spare, heads[0])):
            return self._restriction(spare, slot)
        return state, remarks, [heads[0].digest]

    def _is_lifted(self, restriction: str, trial: Entry) -> bool:
        """A restriction stands until a trial made knowing it, or a withdrawal, lifts it."""
        place, named = self.view.slot(restriction), set(trial.rests_on)
        return all(
            named & {v.digest for v in place.versions(head)} for head in self.view.heads(restriction)
        )

    def _restriction(self, slot: str, trial_slot: str) -> tuple[str, list[Remark], list[str]]:
        """Judge what stands in for a trial; a stop in that trial still wants its answer."""
        heads = self.view.heads(slot)
        if len(heads) > 1:
            return DISPUTED, list(self._apart(slot, heads)), []
        self.restrictions.add(slot.split("/")[1])
        state, remarks = self._proof(slot, heads[0])
        remarks += stop_remarks(self.view, trial_slot)
        figures = {
            "because": str(heads[0].body.get("because", "")),
            "follow_up_on": str(heads[0].body.get("follow_up_on", "")),
        }
        remarks.append(Remark("not_cleared", slot, heads[0].digest, figures, blocks=False))
        if any(r.blocks for r in remarks):
            state = OPEN
        return state, remarks, [heads[0].digest]

    def _proof(self, slot: str, head: Entry) -> tuple[str, list[Remark]]:
        """Judge the entry that holds a slot: does it prove, does it still stand?"""
        kind = self.view.record.kind_of(head)
        if kind is None:
            return OPEN, [Remark("needs_newer_version", slot, head.digest)]
        remarks = field_remarks(kind, head, slot)
        # A rule compares figures; where one can't be read there is nothing to compare.
        for name in () if any(r.code == "body_unreadable" for r in remarks) else kind.rules:
            remarks += RULES[name](self.view, head, slot)
        remarks += self._too_early(slot, head)
        # A trial that asks for a change proves nothing that could go stale.
        tuning = kind.group == "trial" and head.body.get("outcome") != "confirmed"
        causes = () if tuning else self.fresh.causes(head)
        remarks += [
            Remark("stale_" + c.code, slot, c.entry, {"rests_on": c.slot}) for c in causes
        ]
        if any(r.blocks and not r.code.startswith("stale_") for r in remarks):
            return OPEN, remarks
        return (STALE if causes else MET), remarks

    def _too_early(self, slot: str, head: Entry) -> list[Remark]:
        """A proof must name what should have been there before it."""
        kind = self.view.record.kind_of(head)
        if kind is None or not kind.group:
            return []
        named = set(head.rests_on)
        excused = bool(str(head.body.get("out_of_order_because", "")).strip())
        found = []
        for pattern in kind.made_after:
            step = self.view.edition.step_of_slot(pattern)
            known = {
                d for n in self.view.filled(pattern)
                for d, e in self.view.slot(n).entries.items() if _counts_as_before(e)
            }
            spare = self.view.heads("restriction/" + pattern.partition("/")[2])
            if known & named or spare or not known and self._done_at_an_earlier_visit(pattern):
                continue
            title = step.title if step else pattern
            found.append(Remark("walked_before", slot, head.digest, {"step": title}, blocks=not excused))
        return found

    def _done_at_an_earlier_visit(self, pattern: str) -> bool:
        """What was walked last time need not be walked again; ready to walk is said each day."""
        before = self.view.former if pattern != "ready" else None
        while before is not None:
            if any(_counts_as_before(h) for n in before.filled(pattern) for h in before.heads(n)):
                return True
            before = before.former
        return False

    def _apart(self, slot: str, heads: tuple[Entry, ...]) -> tuple[Remark, ...]:
        blocks, name_of = not slot.startswith(BESIDE), self.view.record.name_of
        return tuple(
            Remark("changed_apart", slot, h.digest, {"by": name_of(h.recorded_by), "tablet": h.tablet}, blocks)
            for h in heads
        )

    def loose_ends(self) -> list[Remark]:
        """Return remarks on the fitting as a whole: disputes and newer kinds."""
        found = []
        asked = {s for step in self.view.edition.steps for s in self.view.slots_asked(step)}
        for name in sorted(self.view.record.slots(self.view.subject)):
            heads = self.view.heads(name)
            if len(heads) > 1 and name not in asked and name != "review":
                found += self._apart(name, heads)
        for entry in self.view.record.needs_newer(self.view.subject):
            found.append(Remark("needs_newer_version", entry.kind, entry.digest, blocks=False))
        for stop in self.view.unanswered_stops():
            slot = self.view.edition.kinds[stop.kind].slot
            if slot not in asked:
                found.append(Remark("stop_unanswered", slot, stop.digest))
        return found + [r for r in stop_event_remarks(self.view) if r.blocks and r.slot not in asked]

    def review(self) -> tuple[str, tuple[tuple[str, str], ...], bool]:
        """Return review state, remarks of the reviewer, and whether amended since."""
        heads = self.view.heads("review")
        if len(heads) > 1:
            return "disputed", (), False
        if not heads:
            return "", (), False
        head = heads[0]
        amended = bool(self.fresh.causes(head))
        if head.kind == "review_requested":
            return "requested", (), amended
        if not decided_by_lead(self.view, head):
            return "not signed by a lead clinician", (), amended
        kind = self.view.record.kind_of(head)
        if kind is None or field_remarks(kind, head, "review"):
            return "not readable here", (), amended
        remarks = tuple(
            (str(r.get("step", "")), str(r.get("text", ""))) for r in head.body.get("remarks") or ()
        )
        return str(head.body["decision"]), remarks, amended


def decided_by_lead(view: FittingView, decision: Entry) -> bool:
    """Tell whether a review decision is signed by who is a lead clinician, or was one then."""
    signed = view.record.has_signed(decision, "decides")
    return had_role(view.record, decision.recorded_by, LEAD, decision) and signed is not None


def _counts_as_before(entry: Entry) -> bool:
    """A trial that had to come before counts once it was confirmed."""
    return entry.body.get("outcome", "confirmed") == "confirmed"
