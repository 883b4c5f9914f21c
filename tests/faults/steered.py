"""What the simulator steers: wall clocks, ids and keys.

One process plays every machine.  Whose turn it is decides which wall clock the
program reads; entries get their ids and keys from the seed, so that a schedule
played again makes the same digests.
"""

from __future__ import annotations

import random
from contextlib import contextmanager
from datetime import datetime, timezone
from types import SimpleNamespace
from typing import Iterator
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

import mobile.keeping.tablet as tablet_module
import shared_models.entries.composing as composing
import shared_models.ledger.key_slots as key_slots
import shared_models.quantities.moments as moments
import sync_server.services.station as station_module

DAY_MS = 86_400_000
START_MS = 1_790_000_000_000


class Clocks:
    """A wall clock for each machine: one true time, and how far each is off."""

    def __init__(self) -> None:
        self.true_ms = START_MS
        self.off_ms: dict[str, int] = {}
        self.at = ""

    def now_ms(self) -> int:
        """Return what the machine whose turn it is reads off its clock."""
        return self.true_ms + self.off_ms.get(self.at, 0)

    @contextmanager
    def turn_of(self, machine: str) -> Iterator[None]:
        """Let a machine run; time passes a little."""
        before, self.at = self.at, machine
        self.true_ms += 7
        try:
            yield
        finally:
            self.at = before


@contextmanager
def steered(clocks: Clocks, chance: random.Random) -> Iterator[None]:
    """Have the program read these clocks, and take ids and keys from ``chance``."""

    class SteeredDatetime(datetime):
        @classmethod
        def now(cls, tz=None):  # type: ignore[no-untyped-def,override]
            return datetime.fromtimestamp(clocks.now_ms() / 1000, tz or timezone.utc)

    def key() -> Ed25519PrivateKey:
        return Ed25519PrivateKey.from_private_bytes(chance.randbytes(32))

    def uuid7() -> UUID:
        return UUID(int=clocks.true_ms << 80 | 7 << 76 | 2 << 62 | chance.getrandbits(62))

    put = [
        (moments, "datetime", SteeredDatetime),
        (tablet_module, "_wall_ms", clocks.now_ms),
        (station_module, "time", SimpleNamespace(time=lambda: clocks.now_ms() / 1000)),
        (composing, "uuid6", SimpleNamespace(uuid7=uuid7)),
        (key_slots, "new_key", key), (tablet_module, "new_key", key),
        (station_module, "new_key", key),
    ]
    before = [(module, name, getattr(module, name)) for module, name, _ in put]
    for module, name, value in put:
        setattr(module, name, value)
    try:
        yield
    finally:
        for module, name, value in before:
            setattr(module, name, value)
