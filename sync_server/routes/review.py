"""The pages of the lead clinician: the list, one fitting, the decision."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from shared_models.checks.lead_list import SYNC_OVERDUE_DAYS
from shared_models.quantities.refusals import Refusal
from shared_models.wording import morning as words
from shared_models.wording.server_sentences import server_sentence
from sync_server.routes.pages import SESSION_COOKIE, cookie, page
from sync_server.routes.requests import (
    FromWhere,
    PostedForm,
    RequestRefusal,
    Server,
    ServerHere,
    from_where,
    server_of,
)
from sync_server.routes.session import log_in_again, same
from sync_server.services.deciding import LONGEST_REMARK, Decision, decide
from sync_server.services.fitting_page import page_of_fitting
from sync_server.services.listing import LONGEST_SEARCH, ON_A_PAGE, Asked, listing_for
from sync_server.services.people import waiting_for_lead
from sync_server.services.signing_in import Reviewer, SessionRefusal

router = APIRouter()
_REMARK = "remark-"
_STATUS = {"changed_since_seen": 409, "already_decided": 409,
           "accepted_meanwhile": 409, "returned_meanwhile": 409, "not_a_lead_clinician": 403,
           "decides_own_fitting": 403, "decides_own_sign_off": 403,
           "password_wrong_for_decision": 403, "login_locked": 403, "login_waits": 429}


def reviewer_of(request: Request) -> Reviewer:
    """Return the lead clinician who asks."""
    what = f"{request.method} {request.url.path}"[:100]
    token = cookie(request, SESSION_COOKIE)
    return server_of(request).door.reviewer(token, what, from_where(request))


ReviewerHere = Annotated[Reviewer, Depends(reviewer_of)]


@router.get("/fittings")
def fittings(
    request: Request, server: ServerHere, where: FromWhere, reviewer: ReviewerHere
) -> Response:
    """Show what waits for the lead clinician, and what a search finds."""
    told = request.query_params
    asked = Asked(*(
        told.get(name, "")[:longest].replace("\0", "") for name, longest in
        (("show", 100), ("search", LONGEST_SEARCH), ("by", 100), ("after", 200))
    ))
    listing = listing_for(server.station, reviewer, asked, where)
    return page("fittings.html", 400 if listing.troubles else 200, listing=listing, words=words, reviewer=reviewer,
                waiting=waiting_for_lead(server.station, reviewer.account.clinic), longest=LONGEST_SEARCH,
                on_a_page=ON_A_PAGE, overdue_days=SYNC_OVERDUE_DAYS,
                clinic=server.station.clinic_name(reviewer.account.clinic))


@router.get("/fittings/{fitting}")
def fitting(
    fitting: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere
) -> Response:
    """Show one fitting."""
    return _fitting(server, reviewer, fitting, where)


def _fitting(
    server: Server, reviewer: Reviewer, fitting: str, where: str, *, status: int = 200,
    wrong: str = "", typed: dict[str, str] | None = None, asked: Decision | None = None,
) -> Response:
    found = page_of_fitting(server.station, reviewer, fitting[:100], where)
    return page("fitting.html", status, page=found, reviewer=reviewer, wrong=wrong,
                typed=typed or {}, decision=asked.decision if asked else "",
                too_long=asked.too_long if asked else {}, longest_remark=LONGEST_REMARK,
                clinic=server.station.clinic_name(reviewer.account.clinic))


@router.post("/fittings/{fitting}/decision")
def decision(
    fitting: str, request: Request, server: ServerHere, where: FromWhere, form: PostedForm
) -> Response:
    """Take a decision; show the page again with what was typed when it is refused."""
    remarks = {
        name.removeprefix(_REMARK): text for name, text in form.items()
        if name.startswith(_REMARK)
    }
    typed = {step: text for step, text in remarks.items() if text.strip()}
    try:
        reviewer = reviewer_of(request)
    except SessionRefusal as refusal:
        if refusal.code != "session_ended":
            raise
        return log_in_again(request, wrong=server_sentence(refusal), typed=typed,
                            then=f"/fittings/{fitting}")
    asked = Decision(form.get("decision", ""), remarks, form.get("seen", ""),
                     form.get("password", ""))
    try:
        if not same(reviewer.session.csrf, form.get("csrf", "")):
            raise RequestRefusal("form_not_from_here")
        decide(server.station, server.door, reviewer, fitting, asked, where)
    except Refusal as refusal:
        if refusal.code == "not_found":
            raise
        status = 403 if refusal.code == "form_not_from_here" else _STATUS.get(refusal.code, 422)
        return _fitting(server, reviewer, fitting, where, status=status, typed=typed,
                        wrong=server_sentence(refusal), asked=asked)
    return RedirectResponse(f"/fittings/{fitting}", status_code=303)
