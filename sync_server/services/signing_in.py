"""Logging in to the review page, and who may do what there."""

from __future__ import annotations

from dataclasses import dataclass

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shared_models.checks.deciding import LEAD
from shared_models.ledger.accounts import (
    Account,
    AccountRefusal,
    Accounts,
    Session,
    Sessions,
)
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.wrong_tries import WrongTries
from shared_models.quantities.refusals import Refusal
from sync_server.services.station import Station
from sync_server.settings import Settings

#: Wrong passwords before each further one has to wait.
_FREE_TRIES = 3
_LONGEST_WAIT_S = 120
_LONGEST_LOGIN = 60


class SessionRefusal(Refusal):
    """A page is not shown: ``session_ended``, ``role_missing``, ``not_found``."""


@dataclass(frozen=True)
class Reviewer:
    """Who looks at a page."""

    session: Session
    name: str

    @property
    def account(self) -> Account:
        """The account of the session."""
        return self.session.account


class Door:
    """The log-in of the review page."""

    def __init__(self, station: Station, settings: Settings) -> None:
        self._station = station
        self.accounts = Accounts(station.store, settings.stretch)
        self._sessions = Sessions(station.store, settings.idle_minutes * 60_000)
        self._wrong = WrongTries(station.store, "log in", _FREE_TRIES, _LONGEST_WAIT_S)
        if station.store.in_a_file:
            self._sessions.end_all()

    def log_in(self, login: str, password: str, from_where: str) -> str:
        """Return a session token; refused: ``wrong_login``, ``login_locked``, ``login_waits``."""
        try:
            account, _ = self._unlock(login, password)
        except Refusal as refusal:
            # What is typed into the wrong field may be a password: only a name of ours is kept.
            who = login if self.accounts.knows(login) else "-"
            self._note(who, "log in", "", refusal.code, from_where)
            raise
        self._note(account.login, "log in", account.clinic, "", from_where)
        return self._sessions.begin(account.login, self._station.store.now_ms())

    def unlock_again(self, reviewer: Reviewer, password: str, from_where: str) -> Ed25519PrivateKey:
        """Return the signing key of who is logged in, by the password typed again."""
        account = reviewer.account
        try:
            return self._unlock(account.login, password)[1]
        except Refusal as refusal:
            self._note(account.login, "sign", account.clinic, refusal.code, from_where)
            if refusal.code == "wrong_login":
                raise AccountRefusal("password_wrong_for_decision") from refusal
            raise

    def _unlock(self, login: str, password: str) -> tuple[Account, Ed25519PrivateKey]:
        if not login or len(login) > _LONGEST_LOGIN:
            raise AccountRefusal("wrong_login")
        self._wrong.refuse_while_waiting(login, "login_waits")
        try:
            found = self.accounts.unlock(login, password)
        except AccountRefusal:
            self._wrong.count(login)
            raise
        self._wrong.forget(login)
        return found

    def session(self, token: str | None) -> Session | None:
        """Return the open session of a cookie, None when it has ended."""
        return self._sessions.find(token, self._station.store.now_ms()) if token else None

    def reviewer(self, token: str | None, what: str, from_where: str) -> Reviewer:
        """Return the lead clinician of a session.

        Refused: ``session_ended``; ``role_missing`` when account or staff list
        no longer names a lead clinician.
        """
        session = self.session(token)
        if session is None:
            self._note("-", what, "", "session_ended", from_where)
            raise SessionRefusal("session_ended")
        account = session.account
        with self._station.reading(account.clinic) as reading:
            staff = reading.staff_record().staff_body(account.staff_id)
        roles = staff.get("roles")
        if LEAD not in account.roles or not isinstance(roles, list) or LEAD not in roles:
            self._note(account.login, what, account.clinic, "role_missing", from_where)
            raise SessionRefusal("role_missing")
        return Reviewer(session, str(staff.get("name", account.login)))

    def close_for(self, clinic: str, staff_id: str) -> None:
        """Lock the accounts of somebody who no longer works in a clinic, and end their sessions."""
        self.accounts.lock_for(clinic, staff_id)

    def log_out(self, session: Session, from_where: str) -> None:
        """End a session."""
        self._sessions.end(session)
        self._note(session.account.login, "log out", session.account.clinic, "", from_where)

    def _note(self, who: str, what: str, clinic: str, refused: str, from_where: str) -> None:
        outcome = f"refused: {refused}" if refused else "done"
        self._station.audit.note([AuditRow(who, what, clinic, "", outcome, from_where)])


