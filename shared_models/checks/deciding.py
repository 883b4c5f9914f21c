"""When a lead clinician may accept a fitting, or return it."""

from __future__ import annotations

from typing import Mapping

from shared_models.checks.verdict import Verdict
from shared_models.entries.fitting import FittingView
from shared_models.entries.vouching import LEAD
from shared_models.quantities.refusals import Refusal

ACCEPTED, RETURNED = "accepted", "rejected"


class DecisionRefusal(Refusal):
    """The decision can't be taken; nothing is recorded."""


def refuse_decision(
    view: FittingView, verdict: Verdict, by: str, decision: str,
    remarks: Mapping[str, str],
) -> None:
    """Refuse a decision that must not be; ``remarks`` map a step to its text.

    Codes: ``not_a_lead_clinician``, ``decides_own_fitting``,
    ``decides_own_sign_off``, ``already_decided``, ``remark_for_unknown_step``
    (figure ``step``), ``unknown_decision``, ``return_without_remark``,
    ``accept_without_sign_off``, ``accept_incomplete``.
    """
    _refuse_person(view, by)
    if verdict.review in (ACCEPTED, RETURNED) and not verdict.changed_since_review:
        raise DecisionRefusal("already_decided")
    known = {step.key for step in view.edition.steps}
    for step in remarks:
        if step not in known:
            raise DecisionRefusal("remark_for_unknown_step", step=step[:40])
    if decision == RETURNED:
        if not any(text.strip() for text in remarks.values()):
            raise DecisionRefusal("return_without_remark")
    elif decision == ACCEPTED:
        if not verdict.screws_are_signed:
            raise DecisionRefusal("accept_without_sign_off")
        if not verdict.is_complete:
            raise DecisionRefusal("accept_incomplete")
    else:
        raise DecisionRefusal("unknown_decision")


def _refuse_person(view: FittingView, by: str) -> None:
    if LEAD not in (view.record.staff_body(by).get("roles") or ()):
        raise DecisionRefusal("not_a_lead_clinician")
    prosthetists = {str(e.body.get("prosthetist", "")) for e in view.heads("opened")}
    if by in prosthetists:
        raise DecisionRefusal("decides_own_fitting")
    signers = {e.recorded_by for e in view.heads("sign_off")}
    if by in signers:
        raise DecisionRefusal("decides_own_sign_off")
