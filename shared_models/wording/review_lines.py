"""What was said in words about a fitting's review: remarks and the answers to them, in order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping

from shared_models.checks.verdict import Verdict, decided_by_lead
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.wording.course_lines import stamp

REQUESTED, DECIDED = "review_requested", "review_decision"


@dataclass(frozen=True)
class ReviewLine:
    """One thing said: ``head`` says what it was, by whom and when; ``step`` the title of the step it is about, or ''."""

    head: str
    step: str
    text: str


def review_lines(view: FittingView, verdict: Verdict) -> tuple[ReviewLine, ...]:
    """Return the notes sent with the fitting and the lead clinician's remarks, oldest first.

    Remarks that stand now (``verdict.review_remarks``) are left out; a decision
    that no lead clinician signed is none.
    """
    stand = view.heads("review") if verdict.review_remarks else []
    found: list[ReviewLine] = []
    for entry in view.slot("review").history():
        if entry.kind == REQUESTED and str(entry.body.get("note") or "").strip():
            found.append(ReviewLine(_head(view, entry), "", str(entry.body["note"])))
        elif entry.kind == DECIDED and entry not in stand and decided_by_lead(view, entry):
            found += _remarks(view, entry)
    return tuple(found)


def _remarks(view: FittingView, decision: Entry) -> list[ReviewLine]:
    titles = {step.key: step.title for step in view.edition.steps}
    remarks = decision.body.get("remarks")
    return [
        ReviewLine(_head(view, decision), titles.get(str(each.get("step")), str(each.get("step", ""))), str(each.get("text", "")))
        for each in (remarks if isinstance(remarks, (list, tuple)) else ()) if isinstance(each, Mapping)
    ]


def _head(view: FittingView, entry: Entry) -> str:
    kind = view.record.kind_of(entry)
    return ", ".join(filter(None, (kind.title if kind else entry.kind, view.record.name_of(entry.recorded_by), stamp(entry.recorded_at))))
