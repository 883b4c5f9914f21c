"""Photos' bytes over HTTP, by the semantics of the IETF draft on resumable uploads.

draft-ietf-httpbis-resumable-upload (work in progress): HEAD tells the offset,
PATCH appends at it.  The upload resource of a hash is there as soon as an
entry names the hash, so no request makes one.
"""

from __future__ import annotations

import re

from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect

from shared_models.checks.picture_form import MOST_BYTES
from shared_models.exchange.lane import (
    COMPLETE, LENGTH, LIMIT, MOST_AT_ONCE, NO, OFFSET, PARTIAL, YES,
)
from shared_models.quantities.refusals import Refusal
from sync_server.routes.exchange import Admitted
from sync_server.routes.requests import FromWhere, RequestRefusal, ServerHere, parts_of
from sync_server.services.attachment_files import Stand, UploadRefusal

router = APIRouter(prefix="/exchange/{clinic}/attachments")
_WHOLE_NUMBER = re.compile(r"[0-9]{1,15}")
_LIMITS = f"max-size={MOST_BYTES}, max-append-size={MOST_AT_ONCE}"


@router.head("/{sha256}")
def stand(sha256: str, server: ServerHere, access: Admitted) -> Response:
    """Say how many bytes are here, and whether that is all."""
    return _standing(server.lane.stand(access, sha256))


@router.patch("/{sha256}")
async def append(sha256: str, request: Request, server: ServerHere, where: FromWhere, access: Admitted) -> Response:
    """Take bytes at an offset; whatever arrived before a line was cut stays."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != PARTIAL:
        raise UploadRefusal("upload_wrong_type")
    offset, length = _number(request, OFFSET), _number(request, LENGTH)
    if offset is None:
        raise UploadRefusal("upload_offset_missing")
    last = request.headers.get(COMPLETE)
    if last not in (YES, NO):
        raise UploadRefusal("upload_complete_wrong")
    data, cut = await _body(request)
    try:
        found = await run_in_threadpool(
            server.lane.take, access, sha256, offset, data,
            last=last == YES and not cut, length=length, from_where=where,
        )
    except UploadRefusal as refusal:
        if refusal.code == "upload_offset_differs":
            request.state.answer_headers = {OFFSET: str(refusal.figures["expected"])}
        raise
    return _standing(found)


@router.get("/{sha256}")
def give(sha256: str, server: ServerHere, where: FromWhere, access: Admitted) -> Response:
    """Give whole bytes, or the range that is asked for."""
    path = server.lane.given(access, sha256, where)
    return FileResponse(path, media_type="application/octet-stream", headers={
        "ETag": f'"{sha256}"', "Cache-Control": "no-store",
    })


def _standing(found: Stand) -> Response:
    headers = {OFFSET: str(found.offset), COMPLETE: YES if found.whole else NO, LIMIT: _LIMITS,
               "Cache-Control": "no-store"}
    if found.whole:
        headers[LENGTH] = str(found.offset)
    return Response(status_code=204, headers=headers)


async def _body(request: Request) -> tuple[bytes, bool]:
    """Read what comes, never more than is taken at once; say whether the line was cut, or fell silent."""
    found = bytearray()
    try:
        async for part in parts_of(request):
            found += part
            if len(found) > MOST_AT_ONCE:
                raise UploadRefusal("upload_piece_too_large", most=MOST_AT_ONCE)
    except ClientDisconnect:
        return bytes(found), True
    except RequestRefusal as refusal:
        if refusal.code != "too_slow":
            raise
        return bytes(found), True
    return bytes(found), False


def _number(request: Request, name: str) -> int | None:
    text = request.headers.get(name)
    if text is None:
        return None
    if not _WHOLE_NUMBER.fullmatch(text):
        raise UploadRefusal("upload_offset_missing")
    return int(text)
