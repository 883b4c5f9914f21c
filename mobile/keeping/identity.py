"""A copied tablet goes on under another name; what it wrote stays under the old one.

Two devices wrote under one name when a store was copied, or put back from an
older copy.  Both records are kept.  Whoever notices takes a fresh name and key
from the server, once everything written under the old name is there.
"""

from __future__ import annotations

import base64
import secrets
from dataclasses import replace
from typing import Any, Callable, Mapping

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shared_models.entries.signatures import key_from, new_key, private_text, public_text
from shared_models.ledger.sync_states import SyncState
from mobile.keeping.session import Session

#: Kept with the access until a sync came to its end and could say that the record was copied.
UNTOLD = "copy_untold"
_NEXT = ("next_tablet", "next_key")


def become_another(
    session: Session, state: SyncState, ask: Callable[[Mapping[str, Any]], Mapping[str, Any]]
) -> SyncState | None:
    """Take a new name from the server; None while something under the old one is unsent.

    ``ask`` sends the request and returns the answer; it raises when there is
    none.  Name and key are kept before they are asked for, so that an answer
    that is lost costs nothing.
    """
    end = session.author.end
    if end.number > state.acknowledged_number:
        return None
    state, tablet, key = _next(session, state)
    answer = ask({
        "format": 1, "tablet": tablet, "public_key": public_text(key),
        "number": end.number, "digest": end.digest,
    })
    access = {k: v for k, v in (state.access or {}).items() if k not in _NEXT}
    fresh = replace(state, access={**access, "token": str(answer["token"]), UNTOLD: True})
    if not session.go_on_as(tablet, key, fresh):
        return None  # something was saved meanwhile: it goes up first
    return replace(fresh, acknowledged_number=0)


def _next(session: Session, state: SyncState) -> tuple[SyncState, str, Ed25519PrivateKey]:
    access = dict(state.access or {})
    if not all(access.get(name) for name in _NEXT):
        access["next_tablet"] = f"tablet-{secrets.token_hex(6)}"
        access["next_key"] = base64.b64encode(private_text(new_key())).decode()
        state = replace(state, access=access)
        session.entries.keep_sync_state(state)
    return state, str(access["next_tablet"]), key_from(base64.b64decode(access["next_key"]))
