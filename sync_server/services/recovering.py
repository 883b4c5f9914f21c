"""A forgotten PIN, reset through the server: a tablet's share, and one-time codes.

A share opens nothing by itself: it unwraps the data key that lies on the
tablet, and only there.  The server keeps it; the lead clinician's one-time
code gives it out once, to that tablet, for one person.
"""

from __future__ import annotations

from typing import Any, Mapping

from sqlalchemy import delete, insert, select, update

from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.entries.envelope import Subject
from shared_models.ledger.accounts import hash_of
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.tables import pin_reset, recovery_share
from shared_models.ledger.tablet_access import (
    Access,
    AccessRefusal,
    code_hash,
    new_code_text,
    refuse_old_code,
)
from shared_models.ledger.wrong_tries import WrongTries
from shared_models.quantities.moments import moment_text, now_here
from sync_server.services.access import FORMAT, is_key
from sync_server.services.holding import outside
from sync_server.services.station import Station

_LONGEST_SHARE = 200
_FREE_TRIES, _LONGEST_WAIT_S = 5, 600


class Recovery:
    """Keeps shares and gives them out."""

    def __init__(self, station: Station) -> None:
        self._station = station
        self._wrong = WrongTries(station.store, "pin reset", _FREE_TRIES, _LONGEST_WAIT_S)

    def keep_share(self, access: Access, data: bytes, from_where: str) -> None:
        """Keep a tablet's share in place of an earlier one; refused ``reset_wrong_form``."""
        value = _read(data, ("share",))
        if len(value["share"]) > _LONGEST_SHARE:
            raise AccessRefusal("reset_wrong_form", place="share")
        mine = (recovery_share.c.tablet == access.tablet, recovery_share.c.clinic == access.clinic)
        with self._station.store.writing() as connection:
            connection.execute(delete(recovery_share).where(*mine))
            connection.execute(insert(recovery_share).values(
                tablet=access.tablet, clinic=access.clinic, share=value["share"],
                kept_at=moment_text(now_here()),
            ))
        self._note(access.tablet, "keep recovery share", access.clinic, "", "kept", from_where)

    def new_code(self, clinic: str, tablet: str, staff: str, login: str, from_where: str) -> str:
        """Return a one-time code that resets one person's PIN on one tablet.

        Refused: ``no_recovery_share`` where that tablet left none here.
        """
        code = new_code_text()
        with self._station.store.writing() as connection:
            if connection.scalar(_share(tablet, clinic)) is None:
                raise AccessRefusal("no_recovery_share", tablet=tablet)
            connection.execute(insert(pin_reset).values(
                code_hash=hash_of_code(code), clinic=clinic, tablet=tablet, staff_id=staff,
                made_at=moment_text(now_here()), used_at=None,
            ))
        self._note(login, "reset PIN", clinic, f"staff/{staff}", f"code for {tablet}", from_where)
        return code

    def reset(self, data: bytes, from_where: str) -> dict[str, Any]:
        """Spend a code: give the tablet its share, and record the person's fresh key.

        Refused: ``reset_wrong_form``, ``code_not_known``, ``code_used``,
        ``code_expired``, ``enrolment_waits``.
        """
        asked = _read(data, ("code", "tablet", "staff_key"))
        if not is_key(asked["staff_key"]):
            raise AccessRefusal("reset_wrong_form", place="staff_key")
        self._wrong.refuse_while_waiting(from_where, "enrolment_waits")
        try:
            return self._reset(asked, from_where)
        except AccessRefusal as refusal:
            if refusal.code.startswith("code_"):
                self._wrong.count(from_where)
            self._note(asked["tablet"][:100], "reset PIN", "", "", f"refused: {refusal.code}", from_where)
            raise

    def _reset(self, asked: Mapping[str, str], from_where: str) -> dict[str, Any]:
        mine = pin_reset.c.code_hash == hash_of_code(asked["code"])
        with self._station.store.reading() as connection:
            row = connection.execute(select(pin_reset).where(mine)).one_or_none()
        if row is None or row.tablet != asked["tablet"]:
            raise AccessRefusal("code_not_known")
        refuse_old_code(row, now_here())
        with self._station.writing(row.clinic) as reading:
            out = outside(reading)
            if row.tablet in out.tablets or row.staff_id in out.people:
                raise AccessRefusal("code_not_known")
            used = reading.connection.execute(
                update(pin_reset).where(mine, pin_reset.c.used_at.is_(None))
                .values(used_at=moment_text(now_here()))
            )
            if used.rowcount != 1:
                raise AccessRefusal("code_used")
            share = reading.connection.scalar(_share(row.tablet, row.clinic))
            body = {"tablet": row.tablet, "public_key": asked["staff_key"]}
            self._station.record_facts(reading, [("staff_key", Subject("staff", row.staff_id), body)])
            self._station.audit.note([AuditRow(
                row.tablet, "reset PIN", row.clinic, f"staff/{row.staff_id}", "done", from_where
            )], within=reading.connection)
        return {"format": FORMAT, "share": share, "staff": row.staff_id}

    def _note(self, who: str, what: str, clinic: str, subject: str, outcome: str, from_where: str) -> None:
        self._station.audit.note([AuditRow(who, what, clinic, subject, outcome, from_where)])


def hash_of_code(code: str) -> str:
    """A reset code opens no enrolment and the other way round."""
    return hash_of("pin reset " + code_hash(code))


def _share(tablet: str, clinic: str) -> Any:
    return select(recovery_share.c.share).where(
        recovery_share.c.tablet == tablet, recovery_share.c.clinic == clinic
    )


def _read(data: bytes, names: tuple[str, ...]) -> dict[str, str]:
    try:
        value = strict_json(data)
    except NotStrictJson as error:
        raise AccessRefusal("reset_wrong_form", place="JSON") from error
    if not isinstance(value, dict) or value.get("format") != FORMAT:
        raise AccessRefusal("reset_wrong_form", place="format")
    for name in names:
        if not isinstance(value.get(name), str) or not value[name]:
            raise AccessRefusal("reset_wrong_form", place=name)
    return {name: value[name] for name in names}
