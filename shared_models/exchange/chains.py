"""Verifying a chain as it lies in a store: the first bad row, if any."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable, Protocol

from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.entries.envelope import BadEnvelope, entry_read


class Row(Protocol):
    """A stored row: its number, its digest, and its canonical plaintext."""

    @property
    def number(self) -> int:
        """Return the number that the row states."""

    @property
    def digest(self) -> str:
        """Return the digest that the row states."""

    @property
    def plaintext(self) -> bytes | None:
        """Return the envelope's bytes, None when they could not be opened."""


@dataclass(frozen=True)
class PlainRow:
    """A row made of an entry."""

    number: int
    digest: str
    plaintext: bytes | None


@dataclass(frozen=True)
class BadRow:
    """The first row that is wrong.

    Codes: ``content_damaged``, ``digest_differs``, ``number_differs``,
    ``row_missing``, ``chain_broken``, ``tail_missing``.
    """

    number: int
    digest: str
    code: str


def verify_chain(
    rows: Iterable[Row], held_head: tuple[int, str] | None = None
) -> BadRow | None:
    """Return the first bad row of one tablet's chain for one clinic.

    ``rows`` are ordered by number; a cloned tablet's second branch may stand
    among them.  ``held_head`` is a head that another store holds: without it,
    a tail cut off whole could not be seen.
    """
    before: set[str] = set()
    here: set[str] = set()
    number = 0
    holds_head = held_head is None or held_head[0] <= 0
    for row in rows:
        if row.number != number:
            before, here = here, set()
            if row.number != number + 1:
                return BadRow(number + 1, row.digest, "row_missing")
            number = row.number
        code = _trouble(row, before)
        if code:
            return BadRow(row.number, row.digest, code)
        here.add(row.digest)
        holds_head = holds_head or (row.number, row.digest) == held_head
    if held_head is not None and not holds_head:
        return BadRow(held_head[0], held_head[1], "tail_missing")
    return None


def _trouble(row: Row, before: set[str]) -> str:
    if row.plaintext is None:
        return "content_damaged"
    try:
        entry = entry_read(strict_json(row.plaintext))
    except (NotStrictJson, BadEnvelope):
        return "content_damaged"
    if entry.digest != row.digest:
        return "digest_differs"
    if entry.number != row.number:
        return "number_differs"
    if entry.number > 1 and entry.previous not in before:
        return "chain_broken"
    return ""
