"""In which language a reader of the page is spoken to: as they chose, or as their browser asks."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from shared_models.language import SOURCE, current_language, in_language, languages
from sync_server.routes.pages import LANGUAGE_COOKIE, cookie_in, cookie_name, set_cookie

router = APIRouter()
_A_YEAR_S = 366 * 24 * 3600


@router.get("/language/{code}")
def choose(request: Request, code: str) -> Response:
    """Speak a language from now on in this browser; one that isn't spoken here changes nothing."""
    answer = RedirectResponse("/fittings", status_code=303)
    if code in offered():
        set_cookie(request, answer, LANGUAGE_COOKIE, code, max_age=_A_YEAR_S, samesite="lax")
    return answer


def offered() -> dict[str, str]:
    """Return the languages that are spoken whole, by code, each in its own name."""
    return {each.code: each.own_name for each in languages() if each.whole}


class Tongue:
    """Speaks each page in its reader's language; to tablets, whose own language is theirs, in English."""

    def __init__(self, app: ASGIApp, secure: bool) -> None:
        self._app, self._cookie = app, cookie_name(LANGUAGE_COOKIE, secure)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return await self._app(scope, receive, send)
        with in_language(_language_for(scope, self._cookie)):
            await self._app(scope, receive, send)


def _language_for(scope: Scope, cookie: str) -> str:
    if scope.get("path", "").startswith("/exchange/"):
        return SOURCE
    headers, known = Headers(scope=scope), offered()
    chosen = cookie_in(headers.get("cookie", ""), cookie)
    if chosen is not None and chosen in known:
        return chosen
    return next((code for code in asked_for(headers.get("accept-language", "")) if code in known), current_language())


def asked_for(header: str) -> list[str]:
    """Return the languages that a browser asks for, best first (RFC 9110, 12.5.4); a region is left aside."""
    asked: list[tuple[float, str]] = []
    for part in header[:500].split(","):
        tag, _, weight = part.partition(";q=")
        try:
            quality = float(weight) if weight else 1.0
        except ValueError:
            continue
        code = tag.strip().lower().partition("-")[0]
        if code and quality > 0:
            asked.append((quality, code))
    return [code for _quality, code in sorted(asked, key=lambda one: -one[0])]
