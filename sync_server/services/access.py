"""Letting tablets in: enrolment by a one-time code, and access tokens."""

from __future__ import annotations

import base64
import binascii
import re
from dataclasses import dataclass
from typing import Any, Mapping, Sequence

from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.entries.envelope import Subject
from shared_models.entries.vouching import is_revoked, server_chain_of
from shared_models.exchange.practice import refuse_practice
from shared_models.ledger.accounts import Account
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.tablet_access import HUB, Access, AccessRefusal, TabletAccess
from shared_models.ledger.wrong_tries import WrongTries
from shared_models.quantities.moments import now_here
from sync_server.services.holding import note_copied, outside, revoke_tablet
from sync_server.services.station import SERVER_CHAIN, Station

FORMAT = 1
_TABLET = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:-]{0,99}")
_KEY_BYTES = 32
_FREE_TRIES = 10
_LONGEST_WAIT_S = 600


@dataclass(frozen=True)
class Enrolment:
    """What a tablet asks for."""

    code: str
    tablet: str
    public_key: str
    #: Where the chain of a copied tablet ends, as it says: number and digest.
    end: tuple[int, str] = (0, "")
    #: The clinic that comes here for the first time, with a hub or its founder.
    clinic: str = ""


class Gate:
    """Who comes in, and as which tablet."""

    def __init__(self, station: Station) -> None:
        self._station = station
        self._access = TabletAccess(station.store)
        self._wrong = WrongTries(station.store, "enrol", _FREE_TRIES, _LONGEST_WAIT_S)

    def new_code(self, clinic: str, tablet_name: str = "", people: Sequence[str] = ()) -> str:
        """Return a fresh one-time enrolment code for a clinic; never for one of practice.

        ``people``: whose first keys on that tablet count without further vouching.
        """
        refuse_practice([clinic])
        return self._access.new_code(clinic, tablet_name, people)

    def _adopted(self, reading: ClinicReading, asked: Enrolment) -> None:
        """A clinic that comes here for the first time: this server's key stands before all else."""
        if not reading.of_subject("tablet", self._station.chain):
            own = {"name": "Stancebook server", "public_key": self._station.public_key}
            self._station.record_facts(reading, [("tablet", Subject("tablet", self._station.chain), own)])

    def new_identity(self, access: Access, data: bytes, from_where: str) -> dict[str, Any]:
        """Let a copied tablet go on under another name; what it wrote stays under the old one.

        Asked again with the same name and key it gives another token.  Refused:
        ``enrolment_wrong_form``, ``tablet_id_taken``, and ``not_copied`` where
        the chain here ends as the tablet says, and never forked.
        """
        asked = enrolment_from(data, needs_code=False)
        old, clinic = access.tablet, access.clinic
        end = asked.end
        with self._station.writing(clinic) as reading:
            known = {e.body.get("copy_of") for e in reading.of_subject("tablet", asked.tablet)}
            forked = self._station.entries.branches(clinic, old)
            if not forked and end == reading.chain_end(old) and old not in known:
                raise AccessRefusal("not_copied")
            self._refuse_taken(reading, asked)
            note_copied(self._station, reading, {old})
            if old not in known:
                body = {"name": asked.tablet, "public_key": asked.public_key, "copy_of": old}
                self._station.record_facts(reading, [("tablet", Subject("tablet", asked.tablet), body)])
            token = self._access.give_token(reading.connection, asked.tablet, clinic)
            self._station.audit.note([AuditRow(
                old, "new identity", clinic, f"tablet/{asked.tablet}", "enrolled", from_where
            )], within=reading.connection)
        return {"format": FORMAT, "tablet": asked.tablet, "token": token}

    def revoke(self, tablet: str, reason: str = "") -> int:
        """Take a tablet's access away, in whatever clinic, as the operator; return how many tokens it had.

        What it brings from now on is held back.  It never comes back under this
        identity: it is enrolled anew, as another.
        """
        return sum(self._revoke(clinic, tablet, reason, "") for clinic in self._access.clinics_of(tablet))

    def _revoke(self, clinic: str, tablet: str, reason: str, by: str) -> int:
        revoke_tablet(self._station, clinic, tablet, reason, by)
        return self._access.revoke(clinic, tablet)

    def revoke_in(self, by: Account, tablet: str, reason: str, from_where: str) -> None:
        """Take a tablet's access away on the page, as a lead clinician, in their clinic alone."""
        with self._station.reading(by.clinic) as reading:
            is_gone = is_revoked(reading.staff_record(), tablet)
        if not is_gone:
            self._revoke(by.clinic, tablet, reason, by.staff_id)
        self._station.audit.note([AuditRow(
            by.login, "revoke", by.clinic, f"tablet/{tablet}", "taken away", from_where
        )])

    def enrol(self, data: bytes, from_where: str) -> dict[str, Any]:
        """Let a tablet in; return the answer it gets.

        Refused: ``enrolment_wrong_form`` (figure ``place``), ``code_…``,
        ``enrolment_waits``, ``tablet_id_taken``.
        """
        asked = enrolment_from(data)
        self._wrong.refuse_while_waiting(from_where, "enrolment_waits")
        try:
            return self._enrol(asked, from_where)
        except AccessRefusal as refusal:
            if refusal.code.startswith("code_"):
                self._wrong.count(from_where)
            self._station.audit.note([AuditRow(
                asked.tablet, "enrol", "", f"tablet/{asked.tablet}",
                f"refused: {refusal.code}", from_where,
            )])
            raise

    def _enrol(self, asked: Enrolment, from_where: str) -> dict[str, Any]:
        clinic, sort = self._clinic_of(asked.code), self._sort_of(asked.code)
        if sort != HUB and asked.tablet.startswith(SERVER_CHAIN):
            raise AccessRefusal("code_not_for_a_hub")
        if sort and not clinic:
            clinic = self._new_clinic(asked)
        if asked.clinic and asked.clinic != clinic:
            raise AccessRefusal("code_of_other_clinic")
        with self._station.writing(clinic) as reading:
            self._access.use_code(reading.connection, asked.code, now_here())
            self._refuse_taken(reading, asked)
            name: dict[str, Any] = {"name": asked.tablet, "public_key": asked.public_key}
            if sort:
                self._adopted(reading, asked)
                name.update({"hub": True} if sort == HUB else {"founded_to": asked.end[0]})
            people = self._access.people_of_code(reading.connection, asked.code)
            if people:
                name["code_for"] = people
            self._station.record_facts(
                reading, [("tablet", Subject("tablet", asked.tablet), name)]
            )
            token = self._access.give_token(reading.connection, asked.tablet, clinic)
            self._station.audit.note([AuditRow(
                asked.tablet, "enrol", clinic, f"tablet/{asked.tablet}", "enrolled", from_where
            )], within=reading.connection)
        return {
            "format": FORMAT, "clinic": clinic,
            "clinic_name": self._station.clinic_name(clinic), "tablet": asked.tablet,
            "token": token, "server": self._station.chain,
            "server_key": self._station.public_key, "epoch": self._station.entries.epoch,
        }

    def _sort_of(self, code: str) -> str:
        with self._station.store.reading() as connection:
            return self._access.sort_of_code(connection, code)

    def _new_clinic(self, asked: Enrolment) -> str:
        """Return the clinic that comes here with its founder; refused where it is known here."""
        if not _TABLET.fullmatch(asked.clinic):
            raise AccessRefusal("enrolment_wrong_form", place="clinic")
        refuse_practice([asked.clinic])
        if asked.clinic in self._station.clinics():
            raise AccessRefusal("clinic_known_here", clinic=asked.clinic)
        return asked.clinic

    def _clinic_of(self, code: str) -> str:
        """Look whose code it is, to know which clinic to hold while using it up."""
        with self._station.store.reading() as connection:
            return self._access.clinic_of_code(connection, code, now_here())

    def _refuse_taken(self, reading: ClinicReading, asked: Enrolment) -> None:
        keys = {
            str(e.body.get("public_key"))
            for e in reading.of_subject("tablet", asked.tablet) if e.kind == "tablet"
        }
        strange = keys and asked.public_key not in keys
        strange = strange or asked.tablet in outside(reading).tablets
        if strange or reading.of_other_clinics({("tablet", asked.tablet)}):
            raise AccessRefusal("tablet_id_taken")

    def admit(
        self, authorization: str | None, clinic: str, what: str, from_where: str,
        even_revoked: bool = False,
    ) -> Access:
        """Return who comes with an access token; ``even_revoked`` to hand over what it has.

        Refused: ``token_missing``, ``token_not_known``, ``access_revoked``,
        ``clinic_not_yours``.
        """
        who = "-"
        try:
            scheme, _, token = (authorization or "").partition(" ")
            if scheme.lower() != "bearer" or not token:
                raise AccessRefusal("token_missing")
            access = self._access.of_token(token, even_revoked)
            who = access.tablet
            if access.clinic != clinic:
                raise AccessRefusal("clinic_not_yours")
        except AccessRefusal as refusal:
            self._station.audit.note([AuditRow(
                who, what, clinic[:100], "", f"refused: {refusal.code}", from_where
            )])
            raise
        return access


def enrolment_from(data: bytes, needs_code: bool = True) -> Enrolment:
    """Read a request to enrol; raise AccessRefusal ``enrolment_wrong_form``."""
    try:
        value = strict_json(data)
    except NotStrictJson as error:
        raise AccessRefusal("enrolment_wrong_form", place="JSON") from error
    if not isinstance(value, Mapping):
        raise AccessRefusal("enrolment_wrong_form", place="JSON")
    if isinstance(value.get("format"), bool) or value.get("format") != FORMAT:
        raise AccessRefusal("enrolment_wrong_form", place="format")
    for name in (("code",) if needs_code else ()) + ("tablet", "public_key"):
        if not isinstance(value.get(name), str) or not value[name]:
            raise AccessRefusal("enrolment_wrong_form", place=name)
    is_server = value["tablet"].startswith(SERVER_CHAIN)
    own = needs_code and value["tablet"] == server_chain_of(value["public_key"])
    if not _TABLET.fullmatch(value["tablet"]) or (is_server and not own):
        raise AccessRefusal("enrolment_wrong_form", place="tablet")
    if not is_key(value["public_key"]):
        raise AccessRefusal("enrolment_wrong_form", place="public_key")
    number, digest = value.get("number"), value.get("digest")
    end = (number, digest) if isinstance(number, int) and isinstance(digest, str) else (0, "")
    return Enrolment(
        value["code"] if needs_code else "", value["tablet"], value["public_key"], end,
        str(value.get("clinic") or ""),
    )


def is_key(text: str) -> bool:
    """Tell whether a text writes an Ed25519 public key, in the one way that is taken."""
    try:
        plain = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return False
    return len(plain) == _KEY_BYTES and base64.b64encode(plain).decode() == text
