"""Files of one fitting, to be saved: its papers, and the bundle for another system."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from shared_models.language import languages
from sync_server.routes.requests import FromWhere, ServerHere
from sync_server.routes.review import reviewer_of
from sync_server.services.signing_in import Reviewer
from sync_server.services.taking_away import taken_of

router = APIRouter()


@router.get("/fittings/{fitting}/files/{file}")
def file_of_fitting(
    request: Request, fitting: str, file: str, server: ServerHere, where: FromWhere,
    reviewer: Annotated[Reviewer, Depends(reviewer_of)],
) -> Response:
    """Give one file of a fitting; nothing of it is kept on the server."""
    language = request.query_params.get("language", "")
    known = {each.code for each in languages()}
    found = taken_of(server.station, reviewer, fitting[:100], file, where, language if language in known else "")
    return Response(found.data, media_type=found.media_type, headers={
        "Content-Disposition": f'attachment; filename="{found.name}"', "Cache-Control": "no-store",
    })
