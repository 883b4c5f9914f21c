"""Making pages: templates, cookies, the headers that every answer carries."""

from __future__ import annotations

from typing import Any, Literal

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


def cookie_name(name: str, secure: bool) -> str:
    """Return a cookie's name: bound to this host where TLS is in front."""
    return f"__Host-{name}" if secure else name


def cookie(request: Request, name: str) -> str | None:
    """Return what a cookie of ours holds."""
    return cookie_in(request.headers.get("cookie", ""), cookie_name(name, server_of(request).secure_cookies))


def cookie_in(header: str, name: str) -> str | None:
    """Return what a cookie holds, None where there is none of that name.

    Ours hold letters, figures, ``-`` and ``_``, and are read by cutting alone: the standard library's
    way of taking quotes off takes time with the square of a header that somebody made for that.
    """
    for part in header.split(";"):
        found, told, value = part.strip().partition("=")
        if told and found == name:
            return value
    return None


def set_cookie(
    request: Request, answer: Any, name: str, value: str, *, max_age: int | None = None,
    samesite: Literal["strict", "lax"] = "strict",
) -> None:
    """Set a cookie that no script reads and, unless it is ``lax``, no link of another site sends."""
    secure = server_of(request).secure_cookies
    answer.set_cookie(
        cookie_name(name, secure), value, httponly=True, samesite=samesite, path="/", secure=secure, max_age=max_age,
    )


def drop_cookie(request: Request, answer: Any, name: str) -> None:
    """Take a cookie away."""
    secure = server_of(request).secure_cookies
    answer.delete_cookie(cookie_name(name, secure), path="/", httponly=True, samesite="strict", secure=secure)


def headers_for(path: str, secure: bool) -> dict[str, str]:
    """Return the headers of an answer; fonts and styles may be kept for an hour."""
    found = dict(HEADERS_FOR_TABLETS if path.startswith("/exchange/") else HEADERS)
    if path.startswith("/static/"):
        found["Cache-Control"] = "public, max-age=3600"
    if secure:
        found["Strict-Transport-Security"] = _HSTS
    return found
