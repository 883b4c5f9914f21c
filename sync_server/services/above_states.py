"""Where this server stands towards one above it; the token for that one is sealed by its key.

The token has to be sent, so it can't be kept as a hash.  It is sealed by a key
made from the server's signing key, which lies in a file beside the store: a
copy or a dump of the store alone lets nobody in above.
"""

from __future__ import annotations

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from sqlalchemy import select, update

from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.ledger.engine import Store
from shared_models.ledger.sealing import KEY_BYTES, Sealed, SealingRefusal
from shared_models.ledger.sync_states import SyncStates, access_place
from shared_models.ledger.tables import sync_state

_PURPOSE = b"stancebook token for the server above 1"


class AboveStates(SyncStates):
    """Sync states of a server, by clinic."""

    def __init__(self, store: Store, signing_key: Ed25519PrivateKey) -> None:
        self._store = store
        self._codec = _sealing_by(signing_key)

    def seal_what_lies_in_plain(self) -> None:
        """Seal tokens that an earlier version kept as they are."""
        with self._store.reading() as connection:
            plain = [row.clinic for row in connection.execute(select(sync_state)) if _in_plain(row.sealed)]
        for clinic in plain:
            with self._store.writing() as connection:
                mine = sync_state.c.clinic == clinic
                kept = connection.scalar(select(sync_state.c.sealed).where(mine))
                if _in_plain(kept):
                    sealed = self._codec.seal(access_place(clinic), bytes(kept))
                    connection.execute(update(sync_state).where(mine).values(sealed=sealed))

    def seal_by(self, signing_key: Ed25519PrivateKey) -> None:
        """Seal every token by another key; what that key sealed already stays."""
        other = _sealing_by(signing_key)
        with self._store.writing() as connection:
            for clinic, sealed in connection.execute(select(sync_state.c.clinic, sync_state.c.sealed)).all():
                if sealed is None:
                    continue
                try:
                    opened = self._codec.open(access_place(clinic), sealed)
                except SealingRefusal:
                    continue  # this was done before, or it opens by neither: then the server joins anew
                connection.execute(
                    update(sync_state).where(sync_state.c.clinic == clinic)
                    .values(sealed=other.seal(access_place(clinic), opened))
                )


def _sealing_by(signing_key: Ed25519PrivateKey) -> Sealed:
    derived = HKDF(SHA256(), KEY_BYTES, salt=None, info=_PURPOSE)
    return Sealed(derived.derive(signing_key.private_bytes_raw()))


def _in_plain(kept: object) -> bool:
    """Tell a token that lies as JSON from one that is sealed, which begins by chance."""
    if not isinstance(kept, (bytes, memoryview)):
        return False
    try:
        return isinstance(strict_json(bytes(kept)), dict)
    except NotStrictJson:
        return False
