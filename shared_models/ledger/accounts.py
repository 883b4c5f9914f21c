"""Accounts and sessions of the review page.

A password is never stored or compared: it is stretched by Argon2id (RFC 9106)
and opens the account's own signing key (AES-256-GCM), or it does not.  A wrong
try is counted before the password is tried; after ten the account is locked.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import Row, delete, insert, select, update

from shared_models.entries.signatures import key_from, private_text
from shared_models.ledger.engine import Store
from shared_models.ledger.key_slots import MOST_WRONG_TRIES, Stretch, stretch_from
from shared_models.ledger.sealing import Sealed, SealingRefusal
from shared_models.ledger.tables import account, web_session
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal

SHORTEST_PASSWORD = 15
LONGEST_PASSWORD = 256
_SALT_BYTES = 16
_TOKEN_BYTES = 32


class AccountRefusal(Refusal):
    """A log-in or a password is not taken."""


@dataclass(frozen=True)
class Account:
    """Who may log in, as whom and where."""

    login: str
    staff_id: str
    clinic: str
    roles: tuple[str, ...]


@dataclass(frozen=True)
class Session:
    """An open session; ``csrf`` is the token that every form carries."""

    token_hash: str = field(repr=False)
    csrf: str = field(repr=False)
    account: Account


def refuse_weak_password(password: str, login: str) -> None:
    """Refuse a password that is too short, too long or easily guessed.

    Codes ``password_too_short`` and ``password_too_long`` (figures
    ``characters``, ``shortest`` or ``longest``), ``password_too_common``.
    """
    length = len(password)
    if length < SHORTEST_PASSWORD:
        raise AccountRefusal("password_too_short", characters=length, shortest=SHORTEST_PASSWORD)
    if length > LONGEST_PASSWORD:
        raise AccountRefusal("password_too_long", characters=length, longest=LONGEST_PASSWORD)
    plain = password.casefold()
    few = len(set(plain)) < 5
    repeats = any(
        plain == (plain[:size] * length)[:length] for size in range(1, length // 2 + 1)
    )
    if few or repeats or plain.startswith(("password", "1234567890", "qwertyuiop")) or (
        len(login) > 3 and plain.replace(login.casefold(), "") in ("", "123", "1234")
    ):
        raise AccountRefusal("password_too_common")


class Accounts:
    """The accounts of a server's store."""

    def __init__(self, store: Store, stretch: Stretch = Stretch()) -> None:
        self._store = store
        self._stretch = stretch

    def add(self, new: Account, password: str, signing_key: Ed25519PrivateKey) -> None:
        """Add an account; refused: a weak password, ``login_taken``."""
        refuse_weak_password(password, new.login)
        values = {
            "login": new.login, "staff_id": new.staff_id, "clinic": new.clinic,
            "roles": json.dumps(list(new.roles)), "wrong_tries": 0, "locked": False,
            **self._wrapped(new.login, password, signing_key),
        }
        with self._store.writing() as connection:
            taken = connection.scalar(
                select(account.c.login).where(account.c.login == new.login)
            )
            if taken:
                raise AccountRefusal("login_taken", login=new.login)
            connection.execute(insert(account).values(**values))

    def give_new_password(
        self, login: str, password: str, signing_key: Ed25519PrivateKey
    ) -> None:
        """Unlock an account with a fresh password and signing key; end its sessions."""
        refuse_weak_password(password, login)
        values = self._wrapped(login, password, signing_key)
        with self._store.writing() as connection:
            connection.execute(_of(login).values(wrong_tries=0, locked=False, **values))
            connection.execute(delete(web_session).where(web_session.c.login == login))

    def knows(self, login: str) -> bool:
        """Tell whether there is an account of that log-in name."""
        with self._store.reading() as connection:
            return connection.scalar(select(account.c.login).where(account.c.login == login)) is not None

    def lock_for(self, clinic: str, staff_id: str) -> None:
        """Lock a person's accounts in a clinic until a new password, and end their sessions."""
        with self._store.writing() as connection:
            logins = list(connection.scalars(
                select(account.c.login).where(account.c.clinic == clinic, account.c.staff_id == staff_id)
            ))
            for login in logins:
                connection.execute(_of(login).values(locked=True))
                connection.execute(delete(web_session).where(web_session.c.login == login))

    def all(self) -> list[Account]:
        """Return every account, by login."""
        with self._store.reading() as connection:
            rows = connection.execute(select(account).order_by(account.c.login)).all()
        return [_account(row) for row in rows]

    def unlock(self, login: str, password: str) -> tuple[Account, Ed25519PrivateKey]:
        """Return account and signing key of a right password.

        Refused: ``wrong_login`` (whether or not the login exists),
        ``login_locked`` after ten wrong tries, even with the right password.
        """
        row = self._count_try(login)
        if row is None:
            self._stretch.key(password[:LONGEST_PASSWORD], b"0" * _SALT_BYTES, None)
            raise AccountRefusal("wrong_login")
        record = json.loads(row.password_record)
        stretch = stretch_from(record["stretch"])
        wrapper = Sealed(stretch.key(
            password[:LONGEST_PASSWORD], bytes.fromhex(record["salt"]), None
        ))
        try:
            secret = wrapper.open(f"account:{login}", row.wrapped_signing_key)
        except SealingRefusal as error:
            if row.wrong_tries >= MOST_WRONG_TRIES:
                raise AccountRefusal("login_locked", tries=MOST_WRONG_TRIES) from error
            raise AccountRefusal("wrong_login") from error
        with self._store.writing() as connection:
            connection.execute(_of(login).values(wrong_tries=0))
        return _account(row), key_from(secret)

    def _count_try(self, login: str) -> Row[Any] | None:
        with self._store.writing() as connection:
            counted = connection.execute(
                _of(login)
                .where(account.c.wrong_tries < MOST_WRONG_TRIES)
                .values(wrong_tries=account.c.wrong_tries + 1)
            ).rowcount
            row = connection.execute(
                select(account).where(account.c.login == login)
            ).one_or_none()
        if row is not None and (counted == 0 or row.locked):
            raise AccountRefusal("login_locked", tries=MOST_WRONG_TRIES)
        return row

    def _wrapped(
        self, login: str, password: str, signing_key: Ed25519PrivateKey
    ) -> dict[str, Any]:
        salt = os.urandom(_SALT_BYTES)
        wrapper = Sealed(self._stretch.key(password, salt, None))
        record = {"stretch": self._stretch.as_text(), "salt": salt.hex()}
        return {
            "password_record": json.dumps(record),
            "wrapped_signing_key": wrapper.seal(f"account:{login}", private_text(signing_key)),
        }


class Sessions:
    """The sessions of a server's store; only a hash of each token is kept."""

    def __init__(self, store: Store, idle_ms: int) -> None:
        self._store = store
        self._idle_ms = idle_ms

    def begin(self, login: str, now_ms: int) -> str:
        """Begin a session and return its token (256 random bits)."""
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        with self._store.writing() as connection:
            connection.execute(insert(web_session).values(
                token_hash=hash_of(token), login=login,
                csrf=secrets.token_urlsafe(_TOKEN_BYTES),
                created_at=moment_text(now_here()), last_seen_ms=now_ms, ended_at=None,
            ))
        return token

    def find(self, token: str, now_ms: int) -> Session | None:
        """Return an open session and note that it was used (``now_ms`` as ``Store.now_ms``); None otherwise."""
        mine = web_session.c.token_hash == hash_of(token)
        with self._store.writing() as connection:
            row = connection.execute(
                select(web_session, account)
                .join(account, account.c.login == web_session.c.login)
                .where(mine, web_session.c.ended_at.is_(None))
            ).one_or_none()
            if row is None:
                return None
            if row.locked or not 0 <= now_ms - row.last_seen_ms <= self._idle_ms:
                connection.execute(update(web_session).where(mine).values(
                    ended_at=moment_text(now_here())
                ))
                return None
            connection.execute(update(web_session).where(mine).values(last_seen_ms=now_ms))
        return Session(row.token_hash, row.csrf, _account(row))

    def end(self, session: Session) -> None:
        """End a session."""
        self._end(web_session.c.token_hash == session.token_hash)

    def end_all(self) -> None:
        """End every session: a clock that never runs back starts anew with the machine."""
        self._end()

    def _end(self, *which: Any) -> None:
        with self._store.writing() as connection:
            connection.execute(
                update(web_session)
                .where(web_session.c.ended_at.is_(None), *which)
                .values(ended_at=moment_text(now_here()))
            )


def hash_of(token: str) -> str:
    """Return what is stored of a random token: its SHA-256."""
    return hashlib.sha256(token.encode()).hexdigest()




def _of(login: str) -> Any:
    return update(account).where(account.c.login == login)


def _account(row: Row[Any]) -> Account:
    return Account(row.login, row.staff_id, row.clinic, tuple(json.loads(row.roles)))
