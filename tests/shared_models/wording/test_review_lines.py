"""What was remarked and answered in a review, as the lead clinician reads it beside the verdict."""

from __future__ import annotations

from shared_models.wording.review_lines import review_lines
from tests.fitting_desk import PROSTHETIST, Desk

REMARK = {"step": "swing_flexion", "text": "Add a fast walk."}


def texts(desk: Desk) -> list[str]:
    return [line.text for line in review_lines(desk.view, desk.verdict())]


def test_a_remark_of_the_lead_clinician_is_kept_beside_the_answer_once_it_waits_again():
    desk = Desk.finished()
    desk.decide("rejected", [REMARK])
    assert texts(desk) == [], "while it stands it is said as the decision"
    desk.note("review_requested", {"note": "Walked faster."})
    assert texts(desk) == ["Add a fast walk.", "Walked faster."]


def test_what_somebody_else_wrote_as_a_decision_is_no_remark_of_the_lead_clinician():
    desk = Desk.finished()
    forged = desk.note("review_decision", {"decision": "rejected", "remarks": [REMARK]}, by=PROSTHETIST)
    desk.sign(forged, PROSTHETIST, "decides")
    desk.request_review()
    assert texts(desk) == []
