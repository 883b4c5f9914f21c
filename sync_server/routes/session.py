"""Logging in and out of the review page."""

from __future__ import annotations

import hmac
import re
import secrets

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.server_sentences import server_sentence
from sync_server.routes.pages import (
    FORM_COOKIE,
    SESSION_COOKIE,
    cookie,
    drop_cookie,
    page,
    set_cookie,
)
from sync_server.routes.requests import FromWhere, PostedForm, RequestRefusal, ServerHere

router = APIRouter()
HOME = "/fittings"
_PAGE_PATH = re.compile(r"/fittings(/[A-Za-z0-9][A-Za-z0-9._:-]{0,99})?")


@router.get("/")
def start() -> Response:
    """Lead to the list."""
    return RedirectResponse(HOME, status_code=303)


@router.get("/log-in")
def log_in_page(request: Request) -> Response:
    """Show the log-in."""
    then = request.query_params.get("then", HOME)
    said = spoken("You have logged out.") if request.query_params.get("left") == "1" else ""
    return log_in_again(request, said=said, then=then, status=200)


def log_in_again(
    request: Request, *, said: str = "", wrong: str = "", login: str = "", then: str = HOME,
    typed: dict[str, str] | None = None, status: int = 401,
) -> Response:
    """Show the log-in, with a sentence, and with what was typed elsewhere kept readable."""
    token = cookie(request, FORM_COOKIE) or secrets.token_urlsafe(32)
    answer = page(
        "log_in.html", status, said=said, wrong=wrong, login=login, csrf=token,
        then=then if _PAGE_PATH.fullmatch(then) else HOME, typed=typed or {},
    )
    set_cookie(request, answer, FORM_COOKIE, token)
    return answer


@router.post("/log-in")
def log_in(request: Request, server: ServerHere, where: FromWhere, form: PostedForm) -> Response:
    """Log in; show the form again, with a sentence, when that fails."""
    login, then = form.get("login", "").strip(), form.get("then", HOME)
    expected = cookie(request, FORM_COOKIE)
    if not expected or not same(expected, form.get("csrf", "")):
        wrong = server_sentence(RequestRefusal("form_not_from_here"))
        return log_in_again(request, wrong=wrong, login=login, then=then, status=403)
    try:
        token = server.door.log_in(login, form.get("password", ""), where)
    except Refusal as refusal:
        status = 429 if refusal.code == "login_waits" else 401
        wrong = server_sentence(refusal)
        return log_in_again(request, wrong=wrong, login=login, then=then, status=status)
    target = then if _PAGE_PATH.fullmatch(then) else HOME
    answer = RedirectResponse(target, status_code=303)
    set_cookie(request, answer, SESSION_COOKIE, token)
    drop_cookie(request, answer, FORM_COOKIE)
    return answer


@router.post("/log-out")
def log_out(request: Request, server: ServerHere, where: FromWhere, form: PostedForm) -> Response:
    """End the session."""
    session = server.door.session(cookie(request, SESSION_COOKIE))
    if session is not None:
        if not same(session.csrf, form.get("csrf", "")):
            raise RequestRefusal("form_not_from_here")
        server.door.log_out(session, where)
    answer = RedirectResponse("/log-in?left=1", status_code=303)
    drop_cookie(request, answer, SESSION_COOKIE)
    return answer


def same(expected: str, given: str) -> bool:
    """Compare two tokens without telling by time where they differ."""
    return hmac.compare_digest(expected.encode(), given.encode())
