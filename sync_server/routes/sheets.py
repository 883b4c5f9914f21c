"""The pages of component sheets: all of them, one with its versions, and entering the next version."""

from __future__ import annotations

from typing import Mapping

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from shared_models.checks.sheet_entering import GROUPS, OPTIONAL, PLAIN, ROWS, rows_of, typed_of
from shared_models.ledger.parts_carried import MOST
from shared_models.quantities.refusals import Refusal
from shared_models.wording import component_sheets as words
from shared_models.wording.server_sentences import server_sentence
from sync_server.routes.pages import page
from sync_server.routes.requests import FromWhere, PostedForm, RequestRefusal, Server, ServerHere
from sync_server.routes.review import ReviewerHere
from sync_server.routes.session import same
from sync_server.services.sheets import Publishing, SheetWrong, note_not_there, publish, sheet_page, sheets_page
from sync_server.services.signing_in import Reviewer, SessionRefusal

router = APIRouter()
_STATUS = {"form_not_from_here": 403, "password_wrong_for_decision": 403, "login_waits": 429,
           "sheet_changed_since_seen": 409}


@router.get("/sheets")
def sheets(server: ServerHere, reviewer: ReviewerHere) -> Response:
    """Show every component sheet with its newest version."""
    clinic = reviewer.account.clinic
    return page("sheets.html", sheets=sheets_page(server.station, clinic), words=words,
                reviewer=reviewer, clinic=server.station.clinic_name(clinic))


@router.get("/sheets/{sheet}")
def one_sheet(sheet: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere) -> Response:
    """Show the versions of one sheet side by side, and who used which."""
    return page("sheet.html", page=sheet_page(server.station, reviewer, sheet, where), words=words, most=MOST,
                reviewer=reviewer, clinic=server.station.clinic_name(reviewer.account.clinic))


@router.get("/sheets/{sheet}/enter")
def enter(sheet: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere) -> Response:
    """Show the form of the next version, filled with the newest."""
    return _form(server, reviewer, where, sheet)


@router.post("/sheets/{sheet}/enter")
def publish_version(
    sheet: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere, form: PostedForm
) -> Response:
    """Publish the next version; show the form again, as typed, when it is refused."""
    typed = {name: value for name, value in form.items() if name not in ("csrf", "password", "begun_from")}
    wrongs: Mapping[str, tuple[str, dict[str, str]]] = {}
    try:
        if not same(reviewer.session.csrf, form.get("csrf", "")):
            raise RequestRefusal("form_not_from_here")
        asked = Publishing(sheet, form.get("begun_from", ""), form.get("password", ""), typed)
        publish(server.station, server.door, reviewer, asked, where)
    except SheetWrong as refusal:
        wrong, status, wrongs = server_sentence(refusal), 422, refusal.wrongs
    except Refusal as refusal:
        if refusal.code == "not_found":
            raise
        wrong, status = server_sentence(refusal), _STATUS.get(refusal.code, 422)
    else:
        return RedirectResponse(f"/sheets/{sheet}", status_code=303)
    return _form(server, reviewer, where, sheet, status, typed, wrong, wrongs)


def _form(
    server: Server, reviewer: Reviewer, where: str, sheet: str, status: int = 200, typed: Mapping[str, str] | None = None,
    wrong: str = "", wrongs: Mapping[str, tuple[str, dict[str, str]]] | None = None,
) -> Response:
    clinic = reviewer.account.clinic
    shown = next((p for p in sheets_page(server.station, clinic) if p.sheet == sheet), None)
    if shown is None:
        note_not_there(server.station, reviewer, sheet, where)
        raise SessionRefusal("not_found")
    typed = typed if typed is not None else {**typed_of(shown.newest.body), "version": ""}
    said = {name: words.sheet_sentence(code, values) for name, (code, values) in (wrongs or {}).items()}
    return page(
        "sheet_form.html", status, page=shown, typed=typed, wrong=wrong, wrongs=said, words=words, plain=PLAIN,
        groups=GROUPS, optional=OPTIONAL, rows={s: (rows_of(typed, s), ROWS[s]) for s in ROWS},
        reviewer=reviewer, clinic=server.station.clinic_name(clinic),
    )
