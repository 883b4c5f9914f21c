"""Setting a server up: its clinics, lead clinicians, and the invented demo."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Mapping

import uuid6

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.checks.deciding import LEAD
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import new_key, public_text
from shared_models.entries.vouching import has_ended, is_lead, is_server_chain
from shared_models.ledger.accounts import Account, AccountRefusal, Accounts, refuse_weak_password
from shared_models.quantities.refusals import Refusal
from sync_server.services.station import Station

_LOGIN = re.compile(r"[a-z][a-z0-9.-]{2,59}")


class StaffingRefusal(Refusal):
    """The server can't be set up so."""


@dataclass(frozen=True)
class NewLead:
    """A lead clinician to be: login, printed name, password."""

    login: str
    name: str
    password: str


def refuse_new_lead(accounts: Accounts, lead: NewLead) -> None:
    """Refuse ``login_wrong_form``, ``name_missing``, ``login_taken``, a weak password."""
    if not lead.name.strip():
        raise StaffingRefusal("name_missing")
    _refuse_log_in(accounts, lead.login, lead.password)


def _refuse_log_in(accounts: Accounts, login: str, password: str) -> None:
    if not _LOGIN.fullmatch(login):
        raise StaffingRefusal("login_wrong_form")
    refuse_weak_password(password, login)
    if any(a.login == login for a in accounts.all()):
        raise AccountRefusal("login_taken", login=login)


def add_lead(station: Station, accounts: Accounts, clinic: str, lead: NewLead) -> Account:
    """Record a lead clinician and open their account; refused as ``refuse_new_lead``."""
    refuse_new_lead(accounts, lead)
    account = Account(lead.login, f"staff-{uuid6.uuid7()}", clinic, (LEAD,))
    with station.writing(clinic) as reading:
        station.record_facts(reading, [(
            "staff", Subject("staff", account.staff_id),
            {"name": lead.name.strip(), "roles": [LEAD]},
        )])
    _open_account(station, accounts, account, lead.password)
    return account


def known_lead(station: Station, accounts: Accounts, clinic: str, staff: str) -> str:
    """Return the id of a lead clinician who has no log-in yet.

    Refused: ``staff_not_known``, ``not_a_lead_yet``, ``has_a_log_in`` (figure ``login``).
    """
    known_people(station, clinic, staff)
    staff = staff.strip()
    with station.reading(clinic) as reading:
        record = reading.staff_record()
    if not is_lead(record, staff) or has_ended(record, staff):
        raise StaffingRefusal("not_a_lead_yet", staff=staff[:100])
    mine = next((a for a in accounts.all() if (a.clinic, a.staff_id) == (clinic, staff)), None)
    if mine is not None:
        raise StaffingRefusal("has_a_log_in", staff=staff[:100], login=mine.login)
    return staff


def open_log_in(station: Station, accounts: Accounts, clinic: str, staff: str, login: str, password: str) -> None:
    """Let a lead clinician of the staff list log in; refused ``login_wrong_form``, ``login_taken``, a weak password."""
    _refuse_log_in(accounts, login, password)
    _open_account(station, accounts, Account(login, staff, clinic, (LEAD,)), password)


def give_new_password(station: Station, accounts: Accounts, login: str, password: str) -> None:
    """Give an account a fresh password and, with it, a fresh signing key."""
    account = next((a for a in accounts.all() if a.login == login), None)
    if account is None:
        raise StaffingRefusal("login_not_known", login=login[:60])
    refuse_weak_password(password, login)
    key = new_key()
    _record_key(station, account, public_text(key))
    accounts.give_new_password(login, password, key)


def _open_account(
    station: Station, accounts: Accounts, account: Account, password: str
) -> None:
    key = new_key()
    _record_key(station, account, public_text(key))
    accounts.add(account, password, key)


def _record_key(station: Station, account: Account, public_key: str) -> None:
    """Record the account's signing key under its person: it signs on this server."""
    subject = Subject("staff", account.staff_id)
    body = {"tablet": station.chain, "public_key": public_key}
    with station.writing(account.clinic) as reading:
        station.record_facts(reading, [("staff_key", subject, body)], by=account.staff_id)


def set_up_demo(station: Station, accounts: Accounts) -> str:
    """Fill a fresh store with the invented clinic; return its id.

    A store that holds this demo already is left as it is; refused:
    ``no_demo_in_use`` when it holds another clinic.
    """
    people = demo_people()
    clinic, known = str(people["clinic"]), station.clinics()
    if known and clinic not in known:
        raise StaffingRefusal("no_demo_in_use")
    lead = demo_lead()
    if clinic not in known:
        _record_demo(station, clinic, people, lead["id"])
    if not any(a.login == lead["login"] for a in accounts.all()):
        account = Account(lead["login"], lead["id"], clinic, tuple(lead["roles"]))
        _open_account(station, accounts, account, lead["password"])
    return clinic


def demo_lead() -> Mapping[str, Any]:
    """Return the invented lead clinician, with the public password."""
    found: Mapping[str, Any] = next(p for p in demo_people()["staff"] if LEAD in p["roles"])
    return found


def _record_demo(station: Station, clinic: str, people: Mapping[str, Any], lead: str) -> None:
    """Record clinic, staff and sheets in one transaction: all of the demo or none."""
    bodies = [demo_sheet(name) for name in DEMO_SHEETS]
    with station.writing(clinic) as reading:
        if reading.common():
            return  # another process was first
        station.record_facts(reading, station.founding_facts(clinic, people["clinic_name"]))
        station.record_facts(reading, [
            ("staff", Subject("staff", person["id"]),
             {"name": person["name"], "roles": list(person["roles"])})
            for person in people["staff"]
        ])
        station.record_facts(reading, [
            ("component_sheet", Subject("component_sheet", body["sheet"]), body)
            for body in bodies
        ], by=lead)


def found_clinic(station: Station, name: str) -> str:
    """Record a new clinic of that name; return its id."""
    clinic = f"clinic-{uuid6.uuid7()}"
    with station.writing(clinic) as reading:
        station.record_facts(reading, station.founding_facts(clinic, name))
    return clinic


def known_people(station: Station, clinic: str, told: str) -> list[str]:
    """Return the members of staff named in ``a,b``; refused: ``staff_not_known``."""
    named = [name.strip() for name in told.split(",") if name.strip()]
    with station.reading(clinic) as reading:
        record = reading.staff_record()
    for name in named:
        if not record.staff_body(name):
            known = ", ".join(record.subjects("staff"))
            raise StaffingRefusal("staff_not_known", staff=name[:100], known=known or "none")
    return named


def begin_vouching(station: Station) -> None:
    """Let the rule of `entries.vouching` begin in clinics of older stores.

    Every key that was recorded until now is recorded by the server too, so that
    nothing signed before loses its standing; from then on keys need a voucher.
    """
    for clinic in station.clinics():
        with station.writing(clinic) as reading:
            record = reading.staff_record()
            head = record.head(Subject("clinic", clinic), "clinic")
            if head is None or head.body.get("keys_vouched") is True:
                continue
            known = [e for e in reading.of_kinds("staff_key") if not is_server_chain(e.tablet)]
            if known:
                station.record_facts(reading, [
                    ("staff_key", e.subject, {"tablet": e.tablet, "public_key": e.body["public_key"]})
                    for e in known if isinstance(e.body.get("public_key"), str)
                ])
            station.record_facts(reading, [
                ("clinic", head.subject, {**head.body, "keys_vouched": True})
            ])


def chosen_clinic(station: Station, told: str | None) -> str:
    """Return the clinic that was told, or the only one there is."""
    known = station.clinics()
    if told is None:
        if len(known) != 1:
            raise StaffingRefusal("clinic_needed", known=", ".join(known) or "none")
        return next(iter(known))
    if told not in known:
        raise StaffingRefusal("clinic_not_known", clinic=told[:100], known=", ".join(known) or "none")
    return told
