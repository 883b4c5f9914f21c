"""The lead clinician's page of tablets, people, keys and what is held back; PIN resets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response

from shared_models.catalogue.edition import load_edition
from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.server_sentences import server_sentence
from sync_server.routes.exchange import Admitted
from sync_server.routes.pages import page
from sync_server.routes.requests import (
    FromWhere,
    PackedBody,
    PostedForm,
    RequestRefusal,
    Server,
    ServerHere,
    recovery_of,
)
from sync_server.routes.review import ReviewerHere
from sync_server.routes.session import same
from sync_server.services.holding import LONGEST_REASON, copied_looked_into, decide_held, end_person
from sync_server.services.people import known_person, known_tablet, note_act, people_page, vouch_on_page
from sync_server.services.roles import RolesAsked, RolesRefused, change_roles, refused_form
from sync_server.services.scanned_code import ScannedCode, scanned_code
from sync_server.services.signing_in import Reviewer

router = APIRouter()
_STATUS = {"form_not_from_here": 403, "password_wrong_for_decision": 403, "login_waits": 429,
           "held_not_there": 409, "key_not_waiting": 409, "roles_changed_meanwhile": 409}


@dataclass(frozen=True)
class ShownOnce:
    """What the answer itself shows, and no page after it: a sentence, where it is typed in, the code."""

    said: str
    where_to: str
    drawn: ScannedCode


@router.get("/people")
def people(server: ServerHere, where: FromWhere, reviewer: ReviewerHere) -> Response:
    """Show tablets, people, keys that wait, and what is held back."""
    return _page(server, reviewer, where)


@router.post("/people/{act}")
def change(
    act: str, server: ServerHere, where: FromWhere, reviewer: ReviewerHere, form: PostedForm
) -> Response:
    """Do one thing; show the page again with a sentence when it is refused."""
    if act not in _ACTS:
        raise RequestRefusal("not_found")
    try:
        if not same(reviewer.session.csrf, form.get("csrf", "")):
            raise RequestRefusal("form_not_from_here")
        once = _ACTS[act](server, reviewer, form, where)
    except Refusal as refusal:
        note_act(server.station, reviewer, f"people: {act}", "", f"refused: {refusal.code}", where)
        if refusal.code == "role_missing":  # taken away while this was under way: the page is not theirs to see
            raise
        return _refused(server, reviewer, where, act, form, refusal)
    if once:
        return _page(server, reviewer, where, once=once)
    return RedirectResponse("/people", status_code=303)


def _refused(
    server: Server, reviewer: Reviewer, where: str, act: str, form: dict[str, str], refusal: Refusal
) -> Response:
    """The page again: what is wrong, and of a form of roles what was chosen and typed."""
    said = server_sentence(refusal)
    kept = refused_form(_roles_asked(form), refusal.code, said) if act == "roles" else None
    return _page(server, reviewer, where, _STATUS.get(refusal.code, 422), wrong=said, kept=kept)


def _page(
    server: Server, reviewer: Reviewer, where: str, status: int = 200,
    once: ShownOnce | None = None, wrong: str = "", kept: RolesRefused | None = None,
) -> Response:
    return page("people.html", status, page=people_page(server.station, reviewer, where),
                reviewer=reviewer, once=once, wrong=wrong, kept=kept,
                longest_reason=LONGEST_REASON, clinic=server.station.clinic_name(reviewer.account.clinic))


def _revoke(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> None:
    tablet = known_tablet(server.station, reviewer.account.clinic, form.get("tablet", ""))
    server.gate.revoke_in(reviewer.account, tablet, _reason(form), where)


def _end(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> None:
    clinic, by = reviewer.account.clinic, reviewer.account.staff_id
    staff = known_person(server.station, clinic, form.get("staff", ""))
    if staff == by:
        raise RequestRefusal("not_yourself")
    ended = form.get("ended") != "no"
    end_person(server.station, clinic, staff, ended, _reason(form), by)
    if ended:
        server.door.close_for(clinic, staff)
    note_act(server.station, reviewer, "people: end", f"staff/{staff}", "ended" if ended else "works again", where)


def _roles(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> None:
    change_roles(server.station, server.door, reviewer, _roles_asked(form), where)


def _roles_asked(form: dict[str, str]) -> RolesAsked:
    chosen = tuple(code for code in load_edition().choices["role"] if f"role-{code}" in form)
    # Browsers send a line's end as two characters and count it as one.
    reason = form.get("reason", "").strip().replace("\r\n", "\n")
    return RolesAsked(form.get("staff", ""), chosen, reason, form.get("seen", ""), form.get("password", ""))


def _vouch(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> None:
    vouch_on_page(server.station, server.door, reviewer, form.get("key", ""),
                  form.get("password", ""), where)


def _code(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> ShownOnce:
    clinic = reviewer.account.clinic
    people = [known_person(server.station, clinic, name.removeprefix("for-"))
              for name in form if name.startswith("for-")]
    code = server.gate.new_code(clinic, people=people)
    about = " ".join(f"staff/{person}" for person in people)
    note_act(server.station, reviewer, "people: code", about, "code for a tablet", where)
    said = spoken("One-time code for a new tablet, good for seven days, shown once: {code}", code=code)
    return ShownOnce(said, spoken("On the new tablet: Join a clinic, then the field for the one-time code. Scan the square into it, or type the letters."), scanned_code(code))


def _reset(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> ShownOnce:
    clinic = reviewer.account.clinic
    tablet = known_tablet(server.station, clinic, form.get("tablet", ""))
    staff = known_person(server.station, clinic, form.get("staff", ""))
    code = recovery_of(server).new_code(clinic, tablet, staff, reviewer.account.login, where)
    said = spoken("One-time code for a new PIN on {tablet}, shown once. Tell it to nobody else: {code}", tablet=tablet, code=code)
    return ShownOnce(said, spoken("On the locked tablet: PIN forgotten, then the field for the code. Scan the square into it, or type the letters."), scanned_code(code))


def _held(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> None:
    account = reviewer.account
    decide_held(
        server.station, account.clinic, form.get("about", ""), form.get("act") == "take in",
        form.get("reason", ""), (account.staff_id, account.login), where, form.get("up_to", ""),
    )


def _reason(form: dict[str, str]) -> str:
    if not form.get("reason", "").strip():
        raise RequestRefusal("reason_missing")
    return form["reason"].strip()


def _looked(server: Server, reviewer: Reviewer, form: dict[str, str], where: str) -> None:
    clinic = reviewer.account.clinic
    tablet = known_tablet(server.station, clinic, form.get("tablet", ""))
    copied_looked_into(server.station, clinic, tablet, _reason(form), reviewer.account.staff_id)
    note_act(server.station, reviewer, "people: looked", f"tablet/{tablet}", "looked into", where)


_ACTS: dict[str, Callable[..., ShownOnce | None]] = {
    "revoke": _revoke, "looked": _looked, "end": _end, "roles": _roles, "vouch": _vouch, "code": _code, "reset": _reset,
    "held": _held}


@router.post("/exchange/{clinic}/identity")
def identity(server: ServerHere, where: FromWhere, access: Admitted, body: PackedBody) -> Response:
    """Let a copied tablet go on under another name."""
    return JSONResponse(server.gate.new_identity(access, body, where))


@router.put("/exchange/{clinic}/recovery")
def keep_share(server: ServerHere, where: FromWhere, access: Admitted, body: PackedBody) -> Response:
    """Keep a tablet's share, for a forgotten PIN."""
    recovery_of(server).keep_share(access, body, where)
    return JSONResponse({"format": 1})


@router.post("/exchange/pin-reset")
def pin_reset(server: ServerHere, where: FromWhere, body: PackedBody) -> Response:
    """Give a tablet its share back for a one-time code of the lead clinician."""
    return JSONResponse(recovery_of(server).reset(body, where))
