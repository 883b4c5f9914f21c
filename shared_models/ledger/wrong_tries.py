"""Growing delays after wrong tries, counted in the store for all its processes.

What is tried (a login, an address) is kept as a digest only.  The delays slow
guessing down; they lock nothing.
"""

from __future__ import annotations

import hashlib

from sqlalchemy import Connection, delete, select, text, update

from shared_models.ledger.engine import Store
from shared_models.ledger.tables import wrong_try
from shared_models.ledger.tablet_access import AccessRefusal

#: A try this long ago counts no more.
FORGET_AFTER_S = 3600
_MS = 1000
_COUNT = text(
    "INSERT INTO wrong_try (source, tries, until_ms) VALUES (:source, 1, :now)"
    " ON CONFLICT (source) DO UPDATE SET tries = wrong_try.tries + 1"
)


class WrongTries:
    """The wrong tries of one purpose: ``free`` of them cost nothing."""

    def __init__(self, store: Store, purpose: str, free: int, longest_s: int) -> None:
        self._store = store
        self._purpose = purpose
        self._free, self._longest_s = free, longest_s

    def refuse_while_waiting(self, source: str, code: str) -> None:
        """Refuse with ``code`` (figure ``seconds``) while a delay runs."""
        now = self._store.now_ms()
        with self._store.reading() as connection:
            until = connection.scalar(
                select(wrong_try.c.until_ms).where(wrong_try.c.source == self._named(source))
            )
        left = (until or now) - now
        # Longer than any delay: the machine's clock began anew meanwhile.
        if 0 < left <= self._longest_s * _MS:
            raise AccessRefusal(code, seconds=-(-left // _MS))

    def count(self, source: str) -> None:
        """Note a wrong try; beyond the free ones each doubles the delay."""
        now, named = self._store.now_ms(), self._named(source)
        with self._store.writing() as connection:
            _forget_old(connection, now, self._longest_s)
            connection.execute(_COUNT, {"source": named, "now": now})
            mine = wrong_try.c.source == named
            tries = connection.scalar(select(wrong_try.c.tries).where(mine)) or 1
            over = min(tries - self._free, 30)
            delay = min(2 ** over, self._longest_s) * _MS if over > 0 else 0
            connection.execute(update(wrong_try).where(mine).values(until_ms=now + delay))

    def forget(self, source: str) -> None:
        """A right try ends the delays."""
        with self._store.reading() as connection:
            there = connection.scalar(
                select(wrong_try.c.tries).where(wrong_try.c.source == self._named(source))
            )
        if there is not None:
            with self._store.writing() as connection:
                connection.execute(
                    delete(wrong_try).where(wrong_try.c.source == self._named(source))
                )

    def _named(self, source: str) -> str:
        return hashlib.sha256(f"{self._purpose}:{source}".encode()).hexdigest()


def _forget_old(connection: Connection, now: int, longest_s: int) -> None:
    """Let go of what is long past, and of what an earlier start of the machine wrote."""
    connection.execute(delete(wrong_try).where(
        (wrong_try.c.until_ms < now - FORGET_AFTER_S * _MS)
        | (wrong_try.c.until_ms > now + FORGET_AFTER_S * _MS)
    ))
