"""Files of one fitting, to be saved: its papers, and the bundle for another system."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from sync_server.routes.requests import FromWhere, ServerHere
from sync_server.routes.review import reviewer_of
from sync_server.services.signing_in import Reviewer
from sync_server.services.taking_away import taken_of

router = APIRouter()


@router.get("/fittings/{fitting}/files/{file}")
def file_of_fitting(
    fitting: str, file: str, server: ServerHere, where: FromWhere,
    reviewer: Annotated[Reviewer, Depends(reviewer_of)],
) -> Response:
    """Give one file of a fitting; nothing of it is kept on the server."""
    found = taken_of(server.station, reviewer, fitting[:100], file, where)
    return Response(found.data, media_type=found.media_type, headers={
        "Content-Disposition": f'attachment; filename="{found.name}"', "Cache-Control": "no-store",
    })
