"""The pictures that the page of a fitting shows."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import FileResponse, Response

from sync_server.routes.requests import FromWhere, ServerHere
from sync_server.routes.review import reviewer_of
from sync_server.services.photo_pictures import picture_of
from sync_server.services.signing_in import Reviewer

router = APIRouter()


@router.get("/fittings/{fitting}/photos/{sha256}")
def photo_of_fitting(
    fitting: str, sha256: str, server: ServerHere, where: FromWhere,
    reviewer: Annotated[Reviewer, Depends(reviewer_of)],
) -> Response:
    """Show the picture of one photo, as it was kept."""
    found = picture_of(server.station, server.lane.files, reviewer, fitting[:100], sha256, where)
    return FileResponse(found.path, media_type=found.media_type, headers={"Cache-Control": "no-store"})
