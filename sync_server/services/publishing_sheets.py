"""Publishing component sheets: the next version of one, or the first of a new component."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import Any, Mapping

from shared_models.catalogue.sheet_form import SheetTrouble
from shared_models.catalogue.sheets import PLACES
from shared_models.checks.sheet_entering import Wrongs, body_from, key_from
from shared_models.checks.sheet_taking import known_as
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import sign
from shared_models.ledger.server_folding import ClinicReading
from shared_models.quantities.refusals import Refusal
from sync_server.services.sheets import Version, sheet_row, versions_of
from sync_server.services.signing_in import Door, Reviewer, SessionRefusal
from sync_server.services.station import Station

KIND, MEANING = "component_sheet", "publishes"
#: Beside the name, so that two clinics' sheets of one name, or two of one clinic, never share an id.
_ID_BYTES = 4


class SheetWrong(Refusal):
    """What was typed can't be published: ``sheet_wrong``; ``wrongs`` by field, outside the figures, which may be logged."""

    wrongs: Wrongs


@dataclass(frozen=True)
class Publishing:
    """What the form says: the sheet, "" for a new one; its part; the version it began from; what was typed; the password."""

    sheet: str
    part: str
    begun_from: str
    password: str
    typed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Checked:
    """The form as read: its body as far as it can be read, and what is wrong by field."""

    body: Mapping[str, Any]
    wrongs: Wrongs


def check(station: Station, reviewer: Reviewer, asked: Publishing, from_where: str, doing: str) -> Checked:
    """Read what was typed without publishing it; refused: ``not_found``.  ``doing`` is noted down."""
    clinic = reviewer.account.clinic
    with station.reading(clinic) as reading:
        found = versions_of(reading)
    try:
        checked = _read(asked, found)
    except Refusal as refused:
        station.audit.note([sheet_row(reviewer, _named(asked), f"refused: {refused.code}", from_where)])
        raise
    station.audit.note([sheet_row(reviewer, _named(asked), doing, from_where)])
    return checked


def publish(
    station: Station, door: Door, reviewer: Reviewer, asked: Publishing, from_where: str,
) -> Entry:
    """Record and sign the next version of a sheet, or the first of a new one, for the tablets to fetch.

    Refused: ``not_found``; ``password_wrong_for_decision``; ``sheet_changed_since_seen`` when
    somebody published meanwhile; SheetWrong with a trouble for each field.
    """
    account = reviewer.account
    try:
        key = door.unlock_again(reviewer, asked.password, from_where)
        with station.writing(account.clinic) as reading:
            found = versions_of(reading)
            versions = found.get(asked.sheet, [])
            if versions and versions[-1].digest != asked.begun_from:
                raise SessionRefusal("sheet_changed_since_seen")
            checked = _read(asked, found)
            if checked.wrongs:
                refusal = SheetWrong("sheet_wrong")
                refusal.wrongs = checked.wrongs
                raise refusal
            body = dict(checked.body)
            author = station.author(reading, _record_of(reading))
            entry = author.record_fact(
                KIND, Subject("component_sheet", body["sheet"]), body, account.staff_id, settles=True)
            signed = sign(
                key, clinic=entry.clinic, signs=entry.digest, signer_type="staff", signer=account.staff_id,
                printed_name=reviewer.name, meaning=MEANING, signed_at=entry.recorded_at)
            station.keep(reading, [entry], [station.sign_head(entry), signed])
            station.audit.note([sheet_row(reviewer, body["sheet"], "published", from_where)], within=reading.connection)
        return entry
    except Refusal as refused:
        station.audit.note([sheet_row(reviewer, _named(asked), f"refused: {refused.code}", from_where)])
        raise


def _named(asked: Publishing) -> str:
    return asked.sheet or f"new {asked.part}"


def _read(asked: Publishing, found: Mapping[str, list[Version]]) -> Checked:
    if asked.sheet:
        versions = found.get(asked.sheet)
        if not versions:
            raise SessionRefusal("not_found")
        return Checked(*body_from(asked.typed, {**versions[-1].body, "sheet": asked.sheet}, {v.name for v in versions}))
    if asked.part not in PLACES:
        raise SessionRefusal("not_found")
    name = key_from(asked.typed.get("name", ""), ()).replace("_", "-")
    body, wrongs = body_from(asked.typed, {"sheet": f"{name}-{secrets.token_hex(_ID_BYTES)}", "part": asked.part})
    known = known_as(body, [versions[-1].body for versions in found.values()])
    if known is not None and body.get("name"):
        wrongs.setdefault("name", SheetTrouble("name", "component_known", {
            "name": str(known.get("name", "")), "version": str(known.get("version", ""))}))
    return Checked(body, wrongs)


def _record_of(reading: ClinicReading) -> Any:
    record = reading.staff_record()
    record.add(reading.sheets())
    return record
