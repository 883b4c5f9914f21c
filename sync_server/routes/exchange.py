"""The exchange protocol, as docs/exchange.md writes it."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Depends, Header, Request, Response
from fastapi.responses import JSONResponse

from shared_models.entries.canonical import LARGEST_INTEGER, strict_json
from shared_models.exchange import answers, pull
from shared_models.exchange.intake import Refused
from shared_models.ledger.tablet_access import Access
from shared_models.wording.server_sentences import server_sentence
from sync_server.routes.requests import (
    FromWhere,
    PackedBody,
    RequestRefusal,
    ServerHere,
    from_where,
    server_of,
    whole_number,
)
from sync_server.services.intake import take_batch
from sync_server.services.outgo import page_for, standing_for, verdict_for

router = APIRouter(prefix="/exchange")
_JSON = "application/json"


def admitted(
    request: Request, clinic: str, authorization: Annotated[str | None, Header()] = None
) -> Access:
    """Return which tablet asks; refused before the body is read."""
    what = f"{request.method} {request.url.path.rpartition('/')[2]}"[:100]
    return server_of(request).gate.admit(authorization, clinic, what, from_where(request))


def admitted_to_hand_over(
    request: Request, clinic: str, authorization: Annotated[str | None, Header()] = None
) -> Access:
    """Return which tablet brings something; one whose access was taken away may too."""
    gate = server_of(request).gate
    return gate.admit(authorization, clinic, "POST entries", from_where(request), even_revoked=True)


HandingOver = Annotated[Access, Depends(admitted_to_hand_over)]
Admitted = Annotated[Access, Depends(admitted)]


@router.post("/enrol")
def enrol(server: ServerHere, where: FromWhere, body: PackedBody) -> Response:
    """Let a tablet in by its one-time code."""
    return JSONResponse(server.gate.enrol(body, where))


@router.get("/{clinic}/standing")
def standing(request: Request, server: ServerHere, access: Admitted) -> Response:
    """Say how far the server has each chain of the clinic, or the one that is asked for."""
    found = standing_for(server.station, access, request.query_params.get("chain", "")[:100])
    return Response(answers.encode_standing(found), media_type=_JSON)


@router.post("/{clinic}/entries")
def push(server: ServerHere, where: FromWhere, access: HandingOver, body: PackedBody) -> Response:
    """Take a batch in, whole or not at all."""
    found = take_batch(server.station, access, body, where)
    if isinstance(found, Refused):
        return JSONResponse(_worded(found), status_code=422)
    return Response(answers.encode_receipt(found), media_type=_JSON)


@router.get("/{clinic}/entries")
def entries(request: Request, server: ServerHere, where: FromWhere, access: Admitted) -> Response:
    """Give a page of the clinic's sequence, packed."""
    after = whole_number(request, "after", 0, 0, LARGEST_INTEGER)
    limit = whole_number(request, "limit", pull.USUAL_ITEMS, 1, pull.MOST_ITEMS)
    page = page_for(server.station, access, after, limit, where)
    # Not as a content encoding: then no library unpacks it without a limit.
    return Response(pull.encode(page), media_type="application/gzip")


@router.get("/{clinic}/verdicts/{fitting}")
def verdict(
    fitting: str, request: Request, server: ServerHere, where: FromWhere, access: Admitted
) -> Response:
    """Give the server's verdict on a fitting, to compare with a tablet's own."""
    try:
        day = date.fromisoformat(request.query_params.get("day", server.station.today().isoformat()))
    except ValueError as error:
        raise RequestRefusal("wrong_day") from error
    found = verdict_for(server.station, access, fitting[:100], day, where)
    if found is None:
        raise RequestRefusal("not_found")
    judged, lacking = found
    return JSONResponse({
        "format": 1, "digest": judged.digest, "verdict": judged.as_record(),
        "attachments_lacking": sorted(lacking), "complete": judged.is_complete and not lacking,
    })


def _worded(found: Refused) -> dict:
    """Each reason keeps its stable code and gets its sentence beside it."""
    body = strict_json(answers.encode_refused(found))
    for reason, record in zip(found.reasons, body["reasons"]):
        record["sentence"] = server_sentence(reason)
    return body
