"""A patient prosthetist: does the first step that isn't met, until all are."""

from __future__ import annotations

from shared_models.checks.verdict import StepVerdict
from tests.fitting_desk import PROSTHETIST, Desk

DONE = ("met", "waived", "not applicable")


class PatientDesk(Desk):
    """A desk whose every new fact also settles what is disputed in its place."""

    def note(self, kind, body, by=PROSTHETIST, subject=None, **more):
        return super().note(kind, body, by, subject, **{"settles": True, **more})


def first_unmet(desk: Desk) -> StepVerdict | None:
    """Return the first step in the rail's order that is not done."""
    return next((s for s in desk.verdict().steps if s.state not in DONE), None)


def close_up(desk: PatientDesk, example: Desk, most: int) -> list[str]:
    """Redo the first unmet step until none is left, ``most`` times at most."""
    redone: list[str] = []
    while (step := first_unmet(desk)) and len(redone) < most:
        redone.append(step.key)
        for slot in dict.fromkeys(r.slot for r in step.remarks if r.blocks):
            _do(desk, slot, example)
    for slot in dict.fromkeys(r.slot for r in desk.verdict().remarks if r.code == "changed_apart"):
        _settle(desk, slot)
    return redone


def _settle(desk: PatientDesk, slot: str) -> None:
    sides = [e for e in desk.view.slot(slot).entries.values() if desk.record.kind_of(e)]
    desk.note(sides[0].kind, dict(sides[0].body))


def _do(desk: PatientDesk, slot: str, example: Desk) -> None:
    """Do again, and rightly, what a slot asks for."""
    sort, _, key = slot.partition("/")
    if sort == "setting":
        desk.turn(key, str(desk.view.adjuster(key).start))
    elif sort == "torque_interim":
        desk.interim(key)
    elif sort == "torque_final":
        # Minutes may have passed since the finished example was made.
        desk.tighten(key, cleaned_and_renewed=True)
    elif slot == "guarded_yield":
        desk.turn("stance_threshold", "0")
        _as_before(desk, slot, example)
    elif slot == "sign_off":
        desk.sign_off()
    elif sort == "trial":
        _answer_stops(desk, slot)
        desk.walk(key)
    elif sort == "restriction":
        desk.note("restriction", {"what": key, "because": "no_place", "follow_up_on": "2999-01-01"})
        _answer_stops(desk, f"trial/{key}")
    elif sort in ("waiver", "not_applicable"):
        _settle(desk, slot)
    else:
        _as_before(desk, slot, example)


def _as_before(desk: PatientDesk, slot: str, example: Desk) -> None:
    head = example.head(slot)
    body = dict(head.body)
    if slot == "alignment/bench":
        body["heel_height_mm"] = desk.view.value("footwear", "shoe_heel_height_mm")
    desk.note(head.kind, body, subject=desk.person if slot == "identity" else desk.fitting)


def _answer_stops(desk: PatientDesk, slot: str) -> None:
    answers = {n.partition("/")[2] for n in desk.view.filled("stop_answered/*")}
    for trial in desk.view.slot(slot).entries.values():
        if trial.body.get("outcome") == "stopped" or trial.digest in answers:
            desk.note("stop_answered", {"stopped": trial.digest, "restored": True})
