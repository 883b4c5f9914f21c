"""Making pages: templates, cookies, the headers that every answer carries."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

from shared_models.language import begun, counted, current_language, languages, runs_right_to_left, spoken, within
from shared_models.wording.dates import day_of_words, day_words
from shared_models.wording.states import MARKS
from sync_server.routes.requests import server_of

SESSION_COOKIE = "stancebook_session"
FORM_COOKIE = "stancebook_form"
LANGUAGE_COOKIE = "stancebook_language"

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; "
        "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}
#: What an answer to a tablet carries: no browser shows it, and on a weak line each byte counts.
HEADERS_FOR_TABLETS = {
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cache-Control": "no-store",
}
_HSTS = "max-age=31536000"

_templates = Environment(
    loader=PackageLoader("sync_server", "templates"), undefined=StrictUndefined,
    autoescape=select_autoescape(default=True, default_for_string=True),
    trim_blocks=True, lstrip_blocks=True,
)
_templates.filters |= {"day": day_words, "day_of": day_of_words, "within": within, "begun": begun}
_templates.globals |= {
    "spoken": spoken, "counted": counted, "current_language": current_language,
    "runs_right_to_left": runs_right_to_left, "tongues": [each for each in languages() if each.whole],
    "sheet_tongues": languages(), "mark_words": MARKS,
}


def page(name: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """Return a page made from a template."""
    return HTMLResponse(_templates.get_template(name).render(**shown), status_code=status)


def cookie_name(request: Request, name: str) -> str:
    """Return a cookie's name: bound to this host where TLS is in front."""
    return f"__Host-{name}" if server_of(request).secure_cookies else name


def cookie(request: Request, name: str) -> str | None:
    """Return what a cookie of ours holds."""
    return request.cookies.get(cookie_name(request, name))


def set_cookie(request: Request, answer: Any, name: str, value: str) -> None:
    """Set a cookie that no script reads and no other site sends."""
    answer.set_cookie(
        cookie_name(request, name), value, httponly=True, samesite="strict", path="/",
        secure=server_of(request).secure_cookies,
    )


def drop_cookie(request: Request, answer: Any, name: str) -> None:
    """Take a cookie away."""
    answer.delete_cookie(
        cookie_name(request, name), path="/", httponly=True, samesite="strict",
        secure=server_of(request).secure_cookies,
    )


def headers_for(path: str, secure: bool) -> dict[str, str]:
    """Return the headers of an answer; fonts and styles may be kept for an hour."""
    found = dict(HEADERS_FOR_TABLETS if path.startswith("/exchange/") else HEADERS)
    if path.startswith("/static/"):
        found["Cache-Control"] = "public, max-age=3600"
    if secure:
        found["Strict-Transport-Security"] = _HSTS
    return found
