"""A tablet's keys: one slot for each person, opened by that person's PIN.

A slot wraps two keys with AES-256-GCM under a key stretched from the PIN by
Argon2id (RFC 9106): the data key, which seals the whole store, and the
person's own Ed25519 signing key, which exists on this tablet only.  The PIN
is never compared with anything: it decrypts, or it does not.

A wrong try is counted on the disk before the PIN is tried, so that neither
pulling the battery nor changing the clock gives a further try; after ten the
slot stays locked until ``give_new_pin``.  From the fourth on each wrong try makes
the next one wait, twice as long each time, by a clock that never runs backwards;
a restart begins the waiting anew.
"""

from __future__ import annotations

import json
import os
import time
from dataclasses import dataclass, field
from typing import Callable, Collection

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from sqlalchemy import Connection, func, insert, select, update

from shared_models.entries.signatures import key_from, new_key, private_text
from shared_models.ledger.engine import Store
from shared_models.ledger.pins import PinRefusal, refuse_weak
from shared_models.ledger.sealing import KEY_BYTES, Sealed, SealingRefusal
from shared_models.ledger.tables import key_slot

MOST_WRONG_TRIES = 10
#: Wrong tries that cost no waiting (common practice: a slip of a gloved finger).
FREE_TRIES = 3
SALT_BYTES = 16


@dataclass(frozen=True)
class Stretch:
    """How much work one try costs: memory in KiB, passes, lanes."""

    memory_kib: int = 64 * 1024
    passes: int = 3
    lanes: int = 4

    def key(self, pin: str, salt: bytes, device_secret: bytes | None) -> bytes:
        """Return the wrapping key of a PIN."""
        return Argon2id(
            salt=salt, length=KEY_BYTES, iterations=self.passes, lanes=self.lanes,
            memory_cost=self.memory_kib, secret=device_secret,
        ).derive(pin.encode())

    def as_text(self) -> str:
        """Return the form kept beside the slot, so that old slots still open."""
        return json.dumps({
            "algorithm": "argon2id", "memory_kib": self.memory_kib,
            "passes": self.passes, "lanes": self.lanes,
        })


def stretch_from(text: str) -> Stretch:
    """Read the form that ``Stretch.as_text`` wrote."""
    found = json.loads(text)
    return Stretch(found["memory_kib"], found["passes"], found["lanes"])


@dataclass(frozen=True)
class Unlocked:
    """What a right PIN opens; keep it in memory only, and drop it on locking."""

    staff_id: str
    data_key: bytes = field(repr=False)
    signing_key: Ed25519PrivateKey = field(repr=False)

    @property
    def codec(self) -> Sealed:
        """Return what opens and seals the store's content."""
        return Sealed(self.data_key)


class KeySlots:
    """The slots of one tablet.

    ``stretch`` serves new slots (OWASP ASVS 5 asks for at least 46 MiB);
    ``device_secret`` is a secret that the tablet's system keeps, where it
    offers one, so that a copied store can't be guessed open elsewhere.
    """

    def __init__(
        self, store: Store, stretch: Stretch = Stretch(),
        device_secret: bytes | None = None,
    ) -> None:
        self._store = store
        self._stretch = stretch
        self._device_secret = device_secret
        #: A clock that never runs backwards, in seconds.
        self.seconds: Callable[[], float] = time.monotonic
        #: When the last wrong try was, by person; before a restart, the restart.
        self._last_wrong: dict[str, float] = {}
        self._started: float | None = None

    def people(self) -> tuple[str, ...]:
        """Return the staff ids that have a slot."""
        with self._store.reading() as connection:
            return tuple(connection.scalars(
                select(key_slot.c.staff_id).order_by(key_slot.c.staff_id)
            ))

    def begin(self, staff_id: str, pin: str) -> Unlocked:
        """Make the data key and the first person's slot.

        Refused: a weak PIN, and ``keys_already_made`` when there is a slot.
        """
        refuse_weak(pin)
        unlocked = Unlocked(staff_id, os.urandom(KEY_BYTES), new_key())
        values = self._wrapped(unlocked, pin)
        with self._store.writing() as connection:
            if connection.scalar(select(func.count()).select_from(key_slot)):
                raise PinRefusal("keys_already_made")
            connection.execute(insert(key_slot).values(**values))
        return unlocked

    def add_person(self, by: Unlocked, staff_id: str, pin: str) -> Unlocked:
        """Make a further person's slot and signing key.

        Refused: a weak PIN, and ``person_has_a_pin``.
        """
        refuse_weak(pin)
        unlocked = Unlocked(staff_id, by.data_key, new_key())
        values = self._wrapped(unlocked, pin)
        with self._store.writing() as connection:
            if _slot(connection, staff_id) is not None:
                raise PinRefusal("person_has_a_pin", staff_id=staff_id)
            connection.execute(insert(key_slot).values(**values))
        return unlocked

    def unlock(self, staff_id: str, pin: str) -> Unlocked:
        """Open a person's slot.

        Refused: ``no_pin_for_person``; ``wrong_pin`` (figure ``tries_left``);
        ``pin_waits`` (figure ``seconds``), which counts as no try; ``pin_locked``
        after ten wrong tries, even with the right PIN.
        """
        self._refuse_while_waiting(staff_id)
        slot = self._count_try(staff_id)
        try:
            unlocked = self._opened(slot, pin)
        except SealingRefusal as error:
            self._last_wrong[staff_id] = self.seconds()
            left = MOST_WRONG_TRIES - slot.wrong_tries
            if left <= 0:
                raise PinRefusal("pin_locked", tries=MOST_WRONG_TRIES) from error
            raise PinRefusal("wrong_pin", tries_left=left) from error
        with self._store.writing() as connection:
            connection.execute(_of(staff_id).values(wrong_tries=0))
        return unlocked

    def change_pin(self, staff_id: str, pin: str, new_pin: str) -> Unlocked:
        """Wrap the same keys by another PIN; refused as ``unlock`` and weak PINs."""
        refuse_weak(new_pin)
        unlocked = self.unlock(staff_id, pin)
        values = self._wrapped(unlocked, new_pin)
        with self._store.writing() as connection:
            connection.execute(_of(staff_id).values(**values))
        return unlocked

    def give_new_pin(self, by: Unlocked, staff_id: str, new_pin: str) -> Unlocked:
        """Reset a forgotten or locked PIN with somebody else's open keys.

        The old signing key is lost with the old PIN; the person gets a fresh
        one, and its ``staff_key`` entry has to be recorded.
        """
        return self.give_new_pin_with(by.data_key, staff_id, new_pin)

    def give_new_pin_with(
        self, data_key: bytes, staff_id: str, new_pin: str,
        signing_key: Ed25519PrivateKey | None = None,
    ) -> Unlocked:
        """Reset a PIN with the data key itself, as a recovery slot opens it."""
        refuse_weak(new_pin)
        unlocked = Unlocked(staff_id, data_key, signing_key or new_key())
        values = self._wrapped(unlocked, new_pin)
        with self._store.writing() as connection:
            if connection.execute(_of(staff_id).values(**values)).rowcount == 0:
                raise PinRefusal("no_pin_for_person", staff_id=staff_id)
        self._last_wrong.pop(staff_id, None)
        return unlocked

    def wrap_again(self, unlocked: Unlocked, pin: str) -> None:
        """Keep a person's keys, opened before and perhaps renewed since, by the PIN they have."""
        values = self._wrapped(unlocked, pin)
        with self._store.writing() as connection:
            connection.execute(_of(unlocked.staff_id).values(**values))

    def lock_all_but(self, staff_ids: Collection[str]) -> None:
        """Let the slots of everybody else open nothing, as after ten wrong tries, until a new PIN."""
        with self._store.writing() as connection:
            connection.execute(
                update(key_slot).where(key_slot.c.staff_id.not_in(staff_ids))
                .values(wrapped_data_key=os.urandom(KEY_BYTES), wrong_tries=MOST_WRONG_TRIES)
            )

    def _refuse_while_waiting(self, staff_id: str) -> None:
        with self._store.reading() as connection:
            slot = _slot(connection, staff_id)
        now = self.seconds()
        if self._started is None:
            self._started = now
        if slot is None or not FREE_TRIES < slot.wrong_tries < MOST_WRONG_TRIES:
            return
        since = now - self._last_wrong.get(staff_id, self._started)
        left = 2 ** (slot.wrong_tries - FREE_TRIES) - since
        if left > 0:
            raise PinRefusal("pin_waits", seconds=int(left) + 1)

    def _count_try(self, staff_id: str):  # type: ignore[no-untyped-def]
        with self._store.writing() as connection:
            counted = connection.execute(
                _of(staff_id)
                .where(key_slot.c.wrong_tries < MOST_WRONG_TRIES)
                .values(wrong_tries=key_slot.c.wrong_tries + 1)
            )
            slot = _slot(connection, staff_id)
        if slot is None:
            raise PinRefusal("no_pin_for_person", staff_id=staff_id)
        if counted.rowcount == 0:
            raise PinRefusal("pin_locked", tries=MOST_WRONG_TRIES)
        return slot

    def _opened(self, slot, pin: str) -> Unlocked:  # type: ignore[no-untyped-def]
        stretch = stretch_from(slot.stretch)
        wrapper = Sealed(stretch.key(pin, slot.salt, self._device_secret))
        data_key = wrapper.open(f"data_key:{slot.staff_id}", slot.wrapped_data_key)
        secret = wrapper.open(f"signing_key:{slot.staff_id}", slot.wrapped_signing_key)
        return Unlocked(slot.staff_id, data_key, key_from(secret))

    def _wrapped(self, unlocked: Unlocked, pin: str) -> dict[str, object]:
        salt = os.urandom(SALT_BYTES)
        wrapper = Sealed(self._stretch.key(pin, salt, self._device_secret))
        person = unlocked.staff_id
        return {
            "staff_id": person,
            "salt": salt,
            "stretch": self._stretch.as_text(),
            "wrapped_data_key": wrapper.seal(f"data_key:{person}", unlocked.data_key),
            "wrapped_signing_key": wrapper.seal(
                f"signing_key:{person}", private_text(unlocked.signing_key)
            ),
            "wrong_tries": 0,
        }


def _of(staff_id: str):  # type: ignore[no-untyped-def]
    return update(key_slot).where(key_slot.c.staff_id == staff_id)


def _slot(connection: Connection, staff_id: str):  # type: ignore[no-untyped-def]
    return connection.execute(
        select(key_slot).where(key_slot.c.staff_id == staff_id)
    ).one_or_none()
