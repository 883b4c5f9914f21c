"""For whoever runs the server: is it well, and what has it done."""

from __future__ import annotations

import hmac
import ipaddress

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse, PlainTextResponse

from shared_models.ledger.opening import program_version
from shared_models.quantities.refusals import Refusal
from sync_server.routes.requests import RequestRefusal, ServerHere

router = APIRouter()
_TEXT = "text/plain; version=0.0.4; charset=utf-8"


@router.get("/health")
def health(server: ServerHere) -> Response:
    """Say whether the store can be read; 503 when it can't."""
    try:
        server.station.entries.newest_clock()
    except Refusal as refusal:
        return JSONResponse({"status": refusal.code, "program": program_version()}, status_code=503)
    return JSONResponse({"status": "ok", "program": program_version()})


@router.get("/metrics")
def metrics(request: Request, server: ServerHere) -> Response:
    """Give this process's counts; to this machine, or to who has the token for it."""
    if not _may_see_counts(request):
        raise RequestRefusal("not_found")
    try:
        now = {"store_up": 1.0, "entries": float(server.station.entries.count()),
               "to_judge_anew": float(server.station.left_to_judge())}
    except Refusal:
        now = {"store_up": 0.0}
    return PlainTextResponse(request.app.state.counts.text(**now), media_type=_TEXT)


def _may_see_counts(request: Request) -> bool:
    wanted: str = request.app.state.metrics_token
    if wanted:
        given = request.headers.get("authorization", "")
        return hmac.compare_digest(given.encode(), f"Bearer {wanted}".encode())
    if request.app.state.behind_proxy or server_is_proxied(request) or request.client is None:
        return False
    try:
        return ipaddress.ip_address(request.client.host).is_loopback
    except ValueError:
        return False


def server_is_proxied(request: Request) -> bool:
    """Tell whether the request may have come through a proxy of this machine."""
    return any(name in request.headers for name in ("x-forwarded-for", "forwarded", "x-real-ip"))
