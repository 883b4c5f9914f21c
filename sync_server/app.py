"""Wiring the server: store, services, routes, and how refusals are answered."""

from __future__ import annotations

from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.datastructures import MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shared_models.ledger.columns import SERVER
from shared_models.ledger.opening import open_store
from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.quantities.refusals import Refusal
from shared_models.wording.server_sentences import server_sentence
from sync_server.routes import attachments, exchange, language, operating, parts, people, photos, review, session, sheets, taking_away
from sync_server.routes.language import Tongue
from sync_server.routes.pages import headers_for, page
from sync_server.routes.proxies import Proxied
from sync_server.routes.requests import RequestRefusal, Server
from sync_server.routes.watching import Counts, Watch
from sync_server.services.access import Gate
from sync_server.services.attachment_files import AttachmentFiles
from sync_server.services.attachment_lane import AttachmentLane
from sync_server.services.own_key import KeyRefusal, refuse_foreign_key
from sync_server.services.signing_in import Door
from sync_server.services.staffing import begin_vouching
from sync_server.services.station import Station, signing_key_in
from sync_server.settings import Settings

_STATIC = Path(__file__).parent / "static"
FORMAT = 1
_STATUS = {
    "token_missing": 401, "token_not_known": 401, "access_revoked": 401,
    "clinic_not_yours": 403, "batch_other_clinic": 403, "code_not_known": 403,
    "code_used": 403, "code_expired": 403, "code_not_for_a_hub": 403, "code_of_other_clinic": 403, "clinic_known_here": 409, "enrolment_waits": 429, "tablet_id_taken": 409, "not_copied": 409,
    "batch_too_large": 413, "batch_too_many": 413, "too_large": 413,
    "role_missing": 403, "form_not_from_here": 403, "not_found": 404, "session_ended": 401,
    "host_not_served": 421, "not_through_proxy": 403, "not_over_tls": 403, "too_slow": 408,
    **dict.fromkeys(("attachment_not_named", "attachment_not_whole_yet", "attachment_name_wrong"), 404),
    **dict.fromkeys(("attachment_too_large", "upload_piece_too_large"), 413),
    **dict.fromkeys((
        "attachment_not_its_hash", "attachment_not_a_picture", "attachment_cut_short", "attachment_says_where",
        "attachment_more_after_picture", "attachment_too_many_pixels",
    ), 422),
    "upload_offset_differs": 409, "upload_wrong_type": 415, "attachment_disk": 503,
}


def open_server(settings: Settings, own_key_known: bool = True) -> Server:
    """Open the store and the services over it; raises StoreRefusal, StationRefusal, KeyRefusal."""
    key_file = settings.signing_key_file
    store = open_store(settings.store, SERVER)
    station = Station(store, signing_key_in(key_file))
    if own_key_known:
        try:
            refuse_foreign_key(station)
        except KeyRefusal:
            store.close()
            raise
    begin_vouching(station)
    station.above.seal_what_lies_in_plain()
    station.fill_lists()
    lane = AttachmentLane(station, AttachmentFiles(settings.attachments_folder))
    return Server(station, Gate(station), Door(station, settings), settings.over_tls, lane)


def create_app(settings: Settings, server: Server | None = None) -> FastAPI:
    """Return the application over an open (or freshly opened) server."""
    app = FastAPI(title="Stancebook", docs_url=None, redoc_url=None, openapi_url=None)
    app.state.server = server or open_server(settings)
    app.state.counts, app.state.metrics_token = Counts(), settings.metrics_token
    app.state.behind_proxy = settings.tls_in_front
    app.add_middleware(Tongue, secure=settings.over_tls)
    app.add_middleware(Shield, hosts=settings.served_hosts, secure=settings.over_tls)
    if settings.tls_in_front:
        app.add_middleware(Proxied, proxies=settings.believed_proxies, refuse=_refused_outside)
    app.add_middleware(Watch, counts=app.state.counts, answer_fault=_fault)
    app.include_router(exchange.router)
    app.include_router(attachments.router)
    app.include_router(session.router)
    app.include_router(language.router)
    app.include_router(review.router)
    app.include_router(taking_away.router)
    app.include_router(photos.router)
    app.include_router(parts.router)
    app.include_router(people.router)
    app.include_router(sheets.router)
    app.include_router(operating.router)
    app.mount("/static", StaticFiles(directory=_STATIC), name="static")
    app.add_exception_handler(Refusal, _refused)
    app.add_exception_handler(HTTPException, _not_served)
    app.add_exception_handler(RequestValidationError, _wrong_request)
    app.add_exception_handler(ClientDisconnect, _cut_off)
    return app


def _refused(request: Request, refusal: Refusal) -> Response:  # type: ignore[override]
    """Answer a refusal: its code and figures to a tablet, its sentence to a person."""
    usual = 503 if isinstance(refusal, (NotSaved, StoreRefusal)) else 400
    status = _STATUS.get(refusal.code, usual)
    if _for_tablets(request):
        body = {"format": FORMAT, "code": refusal.code, "figures": refusal.figures,
                "sentence": server_sentence(refusal)}
        told = getattr(request.state, "answer_headers", None)
        return JSONResponse(body, status_code=status, headers=told)
    if refusal.code == "session_ended":
        if request.method == "GET":
            then = request.url.path
            return RedirectResponse(f"/log-in?then={then}", status_code=303)
        return session.log_in_again(request, wrong=server_sentence(refusal))
    return page("refused.html", status, sentence=server_sentence(refusal))


def _not_served(request: Request, error: HTTPException) -> Response:  # type: ignore[override]
    code = "not_found" if error.status_code == 404 else "wrong_request"
    refusal = RequestRefusal(code)
    if _for_tablets(request):
        body = {"format": FORMAT, "code": code, "figures": {},
                "sentence": server_sentence(refusal)}
        return JSONResponse(body, status_code=error.status_code, headers=error.headers)
    return page("refused.html", error.status_code, sentence=server_sentence(refusal))


def _wrong_request(request: Request, _error: RequestValidationError) -> Response:  # type: ignore[override]
    return _refused(request, RequestRefusal("wrong_request"))


def _refused_outside(request: Request, code: str) -> Response:
    """Answer what is refused before it reaches the routes."""
    answer = _refused(request, RequestRefusal(code))
    answer.headers.update(headers_for(request.url.path, True))
    return answer


def _cut_off(_request: Request, _error: ClientDisconnect) -> Response:  # type: ignore[override]
    """The line broke while a body came: nothing was taken, and nobody hears this answer."""
    return Response(status_code=400)


def _fault(request: Request) -> Response:
    """Our bug: the log got it (``watching``), the person gets a sentence."""
    headers = headers_for(request.url.path, False)
    sentence = "Something went wrong in the server. Nothing was taken; the operator's log says what."
    if _for_tablets(request):
        return JSONResponse({"format": FORMAT, "code": "fault", "figures": {},
                             "sentence": sentence}, status_code=500, headers=headers)
    answer = page("refused.html", 500, sentence=sentence)
    answer.headers.update(headers)
    return answer


def _for_tablets(request: Request) -> bool:
    return request.url.path.startswith("/exchange/")


class Shield:
    """Refuses hosts that are not served, and sets the security headers."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str], secure: bool) -> None:
        self._app, self._hosts, self._secure = app, hosts, secure

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = headers_for(scope["path"], self._secure)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(headers)
            await send(message)

        if self._host(scope) not in self._hosts:
            refused = page("refused.html", 421,
                           sentence=server_sentence(RequestRefusal("host_not_served")))
            await refused(scope, receive, send_with_headers)
            return
        await self._app(scope, receive, send_with_headers)

    @staticmethod
    def _host(scope: Scope) -> str:
        named = dict(scope["headers"]).get(b"host", b"").decode("latin-1").lower()
        if named.startswith("["):
            return named.partition("]")[0] + "]"
        return named.partition(":")[0]
