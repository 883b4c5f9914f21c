"""The page on which people are found by part, and its call list."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from shared_models.ledger.parts_carried import MOST
from shared_models.wording import finding_parts as words
from sync_server.routes.pages import page
from sync_server.routes.requests import FromWhere, ServerHere
from sync_server.routes.review import ReviewerHere
from sync_server.services.finding_parts import LONGEST_SEARCH, call_list, find_parts

router = APIRouter()


@router.get("/parts")
def parts(request: Request, server: ServerHere, where: FromWhere, reviewer: ReviewerHere) -> Response:
    """Show who carries a part, and who did."""
    search = request.query_params.get("search", "")[:LONGEST_SEARCH]
    found = find_parts(server.station, reviewer, search, where)
    return page("parts.html", found=found, words=words, most=MOST, reviewer=reviewer,
                clinic=server.station.clinic_name(reviewer.account.clinic))


@router.get("/parts.csv")
def parts_csv(request: Request, server: ServerHere, where: FromWhere, reviewer: ReviewerHere) -> Response:
    """Give all lines as a file, to call people by."""
    search = request.query_params.get("search", "")[:LONGEST_SEARCH]
    return Response(call_list(server.station, reviewer, search, where), media_type="text/csv; charset=utf-8", headers={
        "Content-Disposition": 'attachment; filename="call-list.csv"', "Cache-Control": "no-store",
    })
