"""A forgotten PIN: further wrappings of the data key, opened by a sealed code or a server's share.

A recovery code (100 random bits) is made beforehand for one person, written down
and kept sealed; it opens once.  A share (256 random bits) is kept by the server
and comes back for the lead clinician's one-time code.  Neither opens a signing
key: whoever resets a PIN gets a fresh one, which counts once it is vouched for.
"""

from __future__ import annotations

import os
import secrets

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import bindparam, delete, insert, select, update

from shared_models.ledger.engine import Store
from shared_models.ledger.key_slots import (
    MOST_WRONG_TRIES,
    SALT_BYTES,
    KeySlots,
    Stretch,
    Unlocked,
    stretch_from,
)
from shared_models.ledger.pins import PinRefusal, refuse_weak
from shared_models.ledger.prepared import Prepared
from shared_models.ledger.sealing import Sealed, SealingRefusal
from shared_models.ledger.tables import recovery_slot
from shared_models.quantities.moments import moment_text, now_here

_CODE, _SHARE = "code", "server"
_GROUPS, _GROUP = 5, 4
#: No letter that reads like a figure.
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
CODE_LETTERS = _GROUPS * _GROUP

_NAMED = Prepared(select(recovery_slot.c.name).where(recovery_slot.c.name == bindparam("of")))


class RecoverySlots:
    """The recovery slots of one tablet, beside its ``KeySlots``."""

    def __init__(
        self, store: Store, slots: KeySlots, stretch: Stretch = Stretch(),
        device_secret: bytes | None = None,
    ) -> None:
        self._store = store
        self._slots = slots
        self._stretch = stretch
        self._device_secret = device_secret

    def new_code(self, by: Unlocked, staff_id: str) -> str:
        """Return a fresh recovery code for a person; an earlier one opens nothing any more."""
        letters = [secrets.choice(_LETTERS) for _ in range(CODE_LETTERS)]
        code = "-".join("".join(letters[s:s + _GROUP]) for s in range(0, CODE_LETTERS, _GROUP))
        self._keep(f"{_CODE} {staff_id}"[:100], _CODE, staff_id, _plain(code), by, None)
        return code

    def new_share(self, by: Unlocked, address: str) -> str:
        """Return a fresh share for the server at ``address``; it is kept there, not here."""
        share = secrets.token_urlsafe(32)
        self._keep(_SHARE, _SHARE, "", share, by, address)
        return share

    def has_code(self, staff_id: str) -> bool:
        """Tell whether a person has a recovery code that was not used."""
        return self._row(f"{_CODE} {staff_id}"[:100]) is not None

    def server_address(self) -> str:
        """Return the server that keeps this tablet's share, "" when none does."""
        row = self._row(_SHARE)
        return str(row.address or "") if row else ""

    def has_share(self) -> bool:
        """Tell whether a share of this tablet was made."""
        with self._store.reading() as connection:
            return bool(_NAMED.run(connection, of=_SHARE))

    def reset_with_code(self, staff_id: str, code: str, new_pin: str) -> Unlocked:
        """Give a person a new PIN by their recovery code, which is then used up.

        Refused: a weak PIN; ``no_recovery_code``; ``wrong_recovery_code`` (figure
        ``tries_left``); ``recovery_code_dead`` after ten wrong tries.
        """
        refuse_weak(new_pin)
        name = f"{_CODE} {staff_id}"[:100]
        row = self._count_try(name)
        data_key = self._opened(row, _plain(code))
        return self._reset(staff_id, data_key, new_pin, None, name)

    def reset_with_share(
        self, staff_id: str, share: str, new_pin: str, signing_key: Ed25519PrivateKey
    ) -> Unlocked:
        """Give a person a new PIN by what the server kept; refused as ``reset_with_code``."""
        refuse_weak(new_pin)
        row = self._row(_SHARE)
        if row is None:
            raise PinRefusal("no_recovery_code")
        return self._reset(staff_id, self._opened(row, share), new_pin, signing_key, "")

    def _reset(
        self, staff_id: str, data_key: bytes, new_pin: str, key: Ed25519PrivateKey | None, used: str
    ) -> Unlocked:
        with self._store.together():
            unlocked = self._slots.give_new_pin_with(data_key, staff_id, new_pin, key)
            if used:
                with self._store.writing() as connection:
                    connection.execute(delete(recovery_slot).where(recovery_slot.c.name == used))
        return unlocked

    def _keep(
        self, name: str, sort: str, staff_id: str, secret: str, by: Unlocked, address: str | None
    ) -> None:
        salt = os.urandom(SALT_BYTES)
        wrapper = Sealed(self._stretch.key(secret, salt, self._device_secret))
        values = {
            "name": name, "sort": sort, "staff_id": staff_id, "salt": salt,
            "stretch": self._stretch.as_text(), "address": address, "wrong_tries": 0,
            "wrapped_data_key": wrapper.seal(f"recovery:{name}", by.data_key),
            "made_at": moment_text(now_here()),
        }
        with self._store.writing() as connection:
            connection.execute(delete(recovery_slot).where(recovery_slot.c.name == name))
            connection.execute(insert(recovery_slot).values(**values))

    def _count_try(self, name: str):  # type: ignore[no-untyped-def]
        """Count a try on the disk before it is tried."""
        with self._store.writing() as connection:
            mine = recovery_slot.c.name == name
            counted = connection.execute(
                update(recovery_slot).where(mine, recovery_slot.c.wrong_tries < MOST_WRONG_TRIES)
                .values(wrong_tries=recovery_slot.c.wrong_tries + 1)
            ).rowcount
        row = self._row(name)
        if row is None:
            raise PinRefusal("no_recovery_code")
        if counted == 0:
            raise PinRefusal("recovery_code_dead", tries=MOST_WRONG_TRIES)
        return row

    def _opened(self, row, secret: str) -> bytes:  # type: ignore[no-untyped-def]
        key = stretch_from(row.stretch).key(secret, row.salt, self._device_secret)
        try:
            return Sealed(key).open(f"recovery:{row.name}", row.wrapped_data_key)
        except SealingRefusal as error:
            left = MOST_WRONG_TRIES - row.wrong_tries
            raise PinRefusal("wrong_recovery_code", tries_left=left) from error

    def _row(self, name: str):  # type: ignore[no-untyped-def]
        with self._store.reading() as connection:
            return connection.execute(
                select(recovery_slot).where(recovery_slot.c.name == name)
            ).one_or_none()


def _plain(code: str) -> str:
    """A code is read off paper and typed: case, blanks and hyphens don't matter."""
    return "".join(c for c in code.upper() if c.isascii() and c.isalnum())
