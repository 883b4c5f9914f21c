"""The pages of component sheets: all of them, one with its versions, and entering the next version or a new one."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Mapping

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from shared_models.catalogue.sheets import PLACES
from shared_models.checks.sheet_entering import Wrongs
from shared_models.checks.sheet_taking import QUESTIONS
from shared_models.checks.sheet_typed import (
    DRAWN,
    OPTIONAL,
    PLAIN,
    ROWS,
    groups_of,
    moved_up,
    names_of_rows,
    rows_of,
    sorts_of,
    typed_of,
    with_row,
    without_row,
)
from shared_models.language import phrase, spoken
from shared_models.ledger.parts_carried import MOST
from shared_models.quantities.refusals import Refusal
from shared_models.wording import component_sheets as words
from shared_models.wording.server_sentences import server_sentence
from shared_models.wording.sheet_troubles import trouble_sentence
from sync_server.routes.pages import page
from sync_server.routes.requests import FromWhere, PostedForm, RequestRefusal, Server, ServerHere
from sync_server.routes.review import ReviewerHere
from sync_server.routes.session import same
from sync_server.services.publishing_sheets import Publishing, SheetWrong, check, publish
from sync_server.services.sheet_drawing import SheetDrawing, sheet_drawing
from sync_server.services.sheets import SheetPage, note_not_there, sheet_page, sheets_page, side_by_side
from sync_server.services.signing_in import Reviewer, SessionRefusal

router = APIRouter()
_STATUS = {"form_not_from_here": 403, "password_wrong_for_decision": 403, "login_waits": 429,
           "sheet_changed_since_seen": 409}
_NOT_TYPED = ("csrf", "password", "begun_from", "check", "add", "drop", "up")
_MEND = phrase("Mend what is said beside the fields; what you typed is kept.")
#: A new sheet's form begins with one empty row of these.
_FIRST_ROWS = ("adjusters", "screws")


@dataclass(frozen=True)
class _Form:
    """What the page of the form shows: the sheet, None for a new one; what is typed and what is said of it."""

    part: str
    of: SheetPage | None
    typed: Mapping[str, str]
    status: int = 200
    wrong: str = ""
    sound: bool = False
    wrongs: Wrongs = field(default_factory=dict)
    drawing: SheetDrawing | None = None
    begun_from: str = ""
    changes_drawing: bool = False


@router.get("/sheets")
def sheets(server: ServerHere, reviewer: ReviewerHere) -> Response:
    """Show every component sheet with its newest version."""
    clinic = reviewer.account.clinic
    return page("sheets.html", sheets=sheets_page(server.station, clinic), words=words,
                reviewer=reviewer, clinic=server.station.clinic_name(clinic))


@router.get("/new-sheet")
def begin(server: ServerHere, where: FromWhere, reviewer: ReviewerHere, part: str = "") -> Response:
    """Ask where in the leg a new component goes, and show the empty form of such a part."""
    if not part:
        return page("sheet_new.html", words=words, places=PLACES,
                    reviewer=reviewer, clinic=server.station.clinic_name(reviewer.account.clinic))
    if part not in PLACES:
        note_not_there(server.station, reviewer, f"new {part}", where)
        raise SessionRefusal("not_found")
    typed: dict[str, str] = {}
    for sort in _FIRST_ROWS:
        if sort in sorts_of(part, typed):
            typed, _ = with_row(typed, sort)
    return _shown(server, reviewer, _Form(part, None, typed))


@router.post("/new-sheet")
def publish_new(
    server: ServerHere, where: FromWhere, reviewer: ReviewerHere, form: PostedForm, part: str = ""
) -> Response:
    """Publish the sheet of a new component; show the form again, as typed, when it is refused or grows."""
    return _posted(server, reviewer, where, form, "", part)


@router.get("/sheets/{sheet}")
def one_sheet(sheet: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere) -> Response:
    """Show the versions of one sheet side by side, and who used which."""
    return page("sheet.html", page=sheet_page(server.station, reviewer, sheet, where), words=words, most=MOST,
                reviewer=reviewer, clinic=server.station.clinic_name(reviewer.account.clinic))


@router.get("/sheets/{sheet}/enter")
def enter(sheet: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere) -> Response:
    """Show the form of the next version, filled with the newest."""
    found = _of(server, reviewer, sheet, where)
    typed = {**typed_of(found.newest.body), "version": ""}
    return _shown(server, reviewer, _Form(found.part, found, typed, drawing=found.drawing()))


@router.post("/sheets/{sheet}/enter")
def publish_version(
    sheet: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere, form: PostedForm
) -> Response:
    """Publish the next version; show the form again, as typed, when it is refused or grows."""
    return _posted(server, reviewer, where, form, sheet, "")


def _of(server: Server, reviewer: Reviewer, sheet: str, where: str) -> SheetPage:
    found = next((p for p in sheets_page(server.station, reviewer.account.clinic) if p.sheet == sheet), None)
    if found is None:
        note_not_there(server.station, reviewer, sheet, where)
        raise SessionRefusal("not_found")
    return found


def _posted(server: Server, reviewer: Reviewer, where: str, form: Mapping[str, str], sheet: str, part: str) -> Response:
    if not sheet and part not in PLACES:
        note_not_there(server.station, reviewer, f"new {part}", where)
        raise SessionRefusal("not_found")
    typed = {name: value for name, value in form.items() if name not in _NOT_TYPED}
    asked = Publishing(sheet, part, form.get("begun_from", ""), form.get("password", ""), typed)
    wrongs: Wrongs = {}
    try:
        if not same(reviewer.session.csrf, form.get("csrf", "")):
            raise RequestRefusal("form_not_from_here")
        if any(form.get(name) for name in ("add", "drop", "up", "check")):
            return _worked_on(server, reviewer, where, form, asked)
        entry = publish(server.station, server.door, reviewer, asked, where)
    except SheetWrong as refusal:
        wrong, status, wrongs = server_sentence(refusal), 422, refusal.wrongs
    except Refusal as refusal:
        if refusal.code == "not_found":
            raise
        wrong, status = server_sentence(refusal), _STATUS.get(refusal.code, 422)
    else:
        return RedirectResponse(f"/sheets/{entry.subject.id}", status_code=303)
    found = _of(server, reviewer, sheet, where) if sheet else None
    return _shown(server, reviewer, _Form(
        found.part if found else part, found, typed, status, wrong, wrongs=wrongs, begun_from=asked.begun_from))


def _worked_on(server: Server, reviewer: Reviewer, where: str, form: Mapping[str, str], asked: Publishing) -> Response:
    """The form with a row more, less or moved, or checked; nothing is published."""
    checked = check(server.station, reviewer, asked, where, "checked" if form.get("check") else "form changed")
    found = _of(server, reviewer, asked.sheet, where) if asked.sheet else None
    typed, part = dict(asked.typed), found.part if found else asked.part
    drawing = sheet_drawing(checked.body)
    changed_since = found is not None and asked.begun_from not in found.newest.digests
    wrong = server_sentence(SessionRefusal("sheet_changed_since_seen")) if changed_since else ""
    if form.get("check"):
        wrongs = checked.wrongs
        wrong = wrong or (spoken(_MEND) if wrongs else "")
        status = 409 if changed_since else 422 if wrongs else 200
        return _shown(server, reviewer, _Form(
            part, found, typed, status, wrong, not wrong, wrongs, drawing, asked.begun_from))
    if form.get("add"):
        typed, _ = with_row(typed, form["add"])
    elif form.get("drop"):
        typed = without_row(typed, form["drop"])
    else:
        typed = moved_up(typed, form["up"])
    touched = form.get("add") or form.get("drop") or form["up"]
    return _shown(server, reviewer, _Form(
        part, found, typed, 409 if changed_since else 200, wrong, drawing=drawing, begun_from=asked.begun_from,
        changes_drawing=touched.startswith(DRAWN)))


def _shown(server: Server, reviewer: Reviewer, form: _Form) -> Response:
    typed, of = form.typed, form.of
    begun = next((v for v in of.versions if form.begun_from in v.digests), None) if of else None
    newest = of.newest if of else None
    meanwhile = [
        line for line in side_by_side([begun.body, newest.body]) if line.differs
    ] if begun and newest and begun.digest != newest.digest else []
    rows = {sort: rows_of(typed, sort) for sort in ROWS}
    return page(
        "sheet_form.html", form.status, form=form, part=form.part, of=of, typed=typed, words=words,
        plain=PLAIN, optional=OPTIONAL, groups=groups_of(form.part, typed), sorts=sorts_of(form.part, typed),
        drawn=DRAWN, rows=rows, columns=ROWS, next_row={s: with_row(typed, s)[1] for s in ROWS},
        names=(names := names_of_rows(typed)), others=lambda row, sort="": words.other_rows(names, row, sort),
        drawing_open=form.changes_drawing or any(name.startswith((*DRAWN, "drawing")) for name in form.wrongs),
        meanwhile=meanwhile, place=words.place_words(form.part),
        said={name: trouble_sentence(form.wrongs[name]) for name in _in_order(form.wrongs, typed)},
        asks={name for name, trouble in form.wrongs.items() if trouble.code in QUESTIONS},
        levels=words.levels_of(form.part), title_of=words.field_title,
        action=f"/sheets/{of.sheet}/enter" if of else f"/new-sheet?part={form.part}",
        reviewer=reviewer, clinic=server.station.clinic_name(reviewer.account.clinic),
    )


def _in_order(wrongs: Wrongs, typed: Mapping[str, str]) -> list[str]:
    """The fields that are wrong, in the order in which they stand in the form; what is no field comes last."""
    order = {name: place for place, name in enumerate(typed)}
    return sorted(wrongs, key=lambda name: order.get(name, len(order)))
