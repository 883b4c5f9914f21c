"""What a tablet has not sent yet, cut into parts that one request carries."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import Iterator, Protocol, Sequence, TypeVar

from shared_models.entries.signatures import Signature
from shared_models.entries.written import WrittenLink
from shared_models.exchange import batch as batches
from shared_models.exchange.packing import LARGEST_PLAIN_BYTES
from mobile.keeping.line import SyncRefusal
from mobile.keeping.session import Session

ENTRIES_A_BATCH = 400
BYTES_A_BATCH = LARGEST_PLAIN_BYTES // 2
#: A sixteenth, 25 entries, goes up within seconds at 64 kbit/s.
_SMALLEST_SHARE = 16


class _HasBytes(Protocol):
    def plaintext(self) -> bytes: ...


_Sized = TypeVar("_Sized", bound=_HasBytes)


class Load:
    """How much one request carries: less on a line that was cut while one was under way.

    What was cut off comes to nothing, so on a weak line a small part gets there
    where a large one never would.
    """

    def __init__(self) -> None:
        self._share = 1

    @property
    def entries(self) -> int:
        """How many entries one request carries at most."""
        return ENTRIES_A_BATCH // self._share

    @property
    def bytes(self) -> int:
        """How many bytes they have at most before they are packed, where there are several."""
        return BYTES_A_BATCH // self._share

    @contextmanager
    def carried(self) -> Iterator[None]:
        """Carry one inside the block; the next one is larger again, or smaller after a cut."""
        try:
            yield
        except SyncRefusal as refusal:
            if refusal.code == "server_not_reached":
                self._share = min(self._share * 4, _SMALLEST_SHARE)
            raise
        self._share = max(self._share // 2, 1)


def unsent_parts(session: Session, acknowledged: int, load: Load) -> Iterator[Sequence[WrittenLink]]:
    """Give this tablet's own entries after a number, part by part.

    No more than one request carries is in memory, however long nothing was sent.
    """
    number = acknowledged + 1
    while found := _read(session, number, load.entries):
        start = 0
        while start < len(found):
            part = fitting_part(found, start, load)
            start += len(part)
            yield part
        number = found[-1].number + 1


@dataclass(frozen=True)
class Packed:
    """A part as it travels; ``head`` is signed over its last entry, which has ``last_number``."""

    packed: bytes
    head: Signature
    last_number: int
    count: int


def packed_parts(session: Session, acknowledged: int, load: Load) -> Iterator[Packed]:
    """Give what is unsent after a number, part by part, each ready to travel."""
    for part in unsent_parts(session, acknowledged, load):
        packed, head = packed_part(session, part)
        yield Packed(packed, head, part[-1].number, len(part))


def _read(session: Session, number: int, most: int) -> Sequence[WrittenLink]:
    """Read entries from a number on; what was written twice under one number stays together."""
    found = session.entries.chain_written(session.clinic, session.tablet, number, most=most + 1)
    if len(found) <= most:
        return found
    return [e for e in found if e.number < found[-1].number] or found


def fitting_part(entries: Sequence[_Sized], start: int, load: Load = Load()) -> Sequence[_Sized]:
    """Return the entries from ``start`` on that go into one batch: at least one.

    Entries with much drawn in them are large; a batch must stay below what a
    server takes at once.
    """
    size = 0
    for count, entry in enumerate(entries[start:start + load.entries]):
        size += len(entry.plaintext())
        if count and size > load.bytes:
            return entries[start:start + count]
    return entries[start:start + load.entries]


def packed_part(session: Session, part: Sequence[WrittenLink]) -> tuple[bytes, Signature]:
    """Return the bytes of a part with what people signed of it, and the head signed over it."""
    head = session.sign_head(part[-1])
    signatures = [
        s for s in session.entries.signatures(session.clinic, [e.digest for e in part])
        if s.signer_type == "staff"
    ]
    return batches.encode_links(session.clinic, part, [*signatures, head]), head
