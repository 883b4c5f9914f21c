"""Where this store stands towards the server above it, and the device key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import bindparam, delete, insert, select

from shared_models.entries.canonical import canonical_bytes, strict_json
from shared_models.entries.signatures import key_from, private_text
from shared_models.ledger.engine import Store
from shared_models.ledger.prepared import Prepared, insert_one
from shared_models.ledger.sealing import Codec
from shared_models.ledger.tables import device, entry, sync_state
from shared_models.quantities.moments import moment_text, now_here

_STATE = Prepared(select(
    sync_state.c.epoch, sync_state.c.pulled_to, sync_state.c.acknowledged_number,
    sync_state.c.last_contact_at, sync_state.c.sealed,
).where(sync_state.c.clinic == bindparam("of")))
_DROP_STATE = Prepared(delete(sync_state).where(sync_state.c.clinic == bindparam("of")))
_KEEP_STATE = insert_one(sync_state)
_DEVICE = Prepared(select(device.c.tablet, device.c.sealed_signing_key))


@dataclass(frozen=True)
class SyncState:
    """How far a clinic's entries went up and came down.

    ``pulled_to`` is the server's sequence; ``acknowledged_number`` this
    tablet's number; ``epoch`` "" before the first contact; ``access`` the
    server's address and token, sealed.
    """

    clinic: str
    epoch: str = ""
    pulled_to: int = 0
    acknowledged_number: int = 0
    last_contact_at: str | None = None
    access: Mapping[str, Any] | None = None


def access_place(clinic: str) -> str:
    """Return the place that a clinic's address and token are bound to."""
    return f"access:{clinic}"


class SyncStates:
    """Sync states by clinic, and the signing key of this device."""

    _store: Store
    _codec: Codec

    def sync_state(self, clinic: str) -> SyncState:
        """Return the clinic's state; a fresh one before the first contact."""
        with self._store.reading() as connection:
            rows = _STATE.run(connection, of=clinic)
        if not rows:
            return SyncState(clinic)
        epoch, pulled_to, acknowledged, contact, sealed = rows[0]
        access = None
        if sealed is not None:
            access = strict_json(self._codec.open(access_place(clinic), sealed))
        return SyncState(clinic, epoch, pulled_to, acknowledged, contact, access)

    def sync_clinics(self) -> tuple[str, ...]:
        """Return the clinics that this store keeps a state for."""
        with self._store.reading() as connection:
            return tuple(connection.scalars(
                select(sync_state.c.clinic).order_by(sync_state.c.clinic)
            ))

    def holds_clinic_between(self, first: str, behind: str) -> bool:
        """Return whether an id from ``first`` up to before ``behind`` is a clinic of this store.

        Looks at what is readable before anybody unlocks: entries and sync states.
        """
        with self._store.reading() as connection:
            return any(
                connection.scalar(
                    select(table.c.clinic)
                    .where(table.c.clinic >= first, table.c.clinic < behind).limit(1)
                ) is not None
                for table in (sync_state, entry)
            )

    def keep_sync_state(self, state: SyncState) -> None:
        """Keep a clinic's state; durable when this returns."""
        sealed = None
        if state.access is not None:
            plaintext = canonical_bytes(dict(state.access))
            sealed = self._codec.seal(access_place(state.clinic), plaintext)
        with self._store.writing() as connection:
            _DROP_STATE.run(connection, of=state.clinic)
            _KEEP_STATE.run(
                connection, clinic=state.clinic, epoch=state.epoch, pulled_to=state.pulled_to,
                acknowledged_number=state.acknowledged_number,
                last_contact_at=state.last_contact_at, sealed=sealed,
            )

    def keep_device(self, tablet: str, signing_key: Ed25519PrivateKey) -> None:
        """Keep this device's identity in place of any earlier one."""
        sealed = self._codec.seal(f"device:{tablet}", private_text(signing_key))
        with self._store.writing() as connection:
            connection.execute(delete(device))
            connection.execute(insert(device).values(
                tablet=tablet, sealed_signing_key=sealed,
                made_at=moment_text(now_here()),
            ))

    def keep_identity(
        self, tablet: str, signing_key: Ed25519PrivateKey, state: SyncState
    ) -> None:
        """Keep a device's fresh identity and its state towards the server, both or neither."""
        with self._store.together():
            self.keep_device(tablet, signing_key)
            self.keep_sync_state(state)

    def device_name(self) -> str | None:
        """Return this device's tablet id; readable before anybody unlocks."""
        with self._store.reading() as connection:
            return connection.scalar(select(device.c.tablet))

    def device_key(self) -> Ed25519PrivateKey | None:
        """Return this device's signing key, None before it has one."""
        with self._store.reading() as connection:
            rows = _DEVICE.run(connection)
        if not rows:
            return None
        tablet, sealed = rows[0]
        return key_from(self._codec.open(f"device:{tablet}", sealed))
