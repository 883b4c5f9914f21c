"""What a tablet has not sent yet, cut into parts that one request carries."""

from __future__ import annotations

from typing import Iterator, Sequence

from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import Signature
from shared_models.exchange import batch as batches
from shared_models.exchange.packing import LARGEST_PLAIN_BYTES
from mobile.keeping.session import Session

ENTRIES_A_BATCH = 400
BYTES_A_BATCH = LARGEST_PLAIN_BYTES // 2


def unsent_parts(session: Session, acknowledged: int) -> Iterator[Sequence[Entry]]:
    """Give this tablet's own entries after a number, part by part.

    No more than one request carries is in memory, however long nothing was sent.
    """
    number = acknowledged + 1
    while found := _read(session, number):
        start = 0
        while start < len(found):
            part = fitting_part(found, start)
            start += len(part)
            yield part
        number = found[-1].number + 1


def _read(session: Session, number: int) -> Sequence[Entry]:
    """Read entries from a number on; what was written twice under one number stays together."""
    found = session.entries.chain(session.clinic, session.tablet, number, most=ENTRIES_A_BATCH + 1)
    if len(found) <= ENTRIES_A_BATCH:
        return found
    return [e for e in found if e.number < found[-1].number] or found


def fitting_part(entries: Sequence[Entry], start: int) -> Sequence[Entry]:
    """Return the entries from ``start`` on that go into one batch: at least one.

    Entries with much drawn in them are large; a batch must stay below what a
    server takes at once.
    """
    size = 0
    for count, entry in enumerate(entries[start:start + ENTRIES_A_BATCH]):
        size += len(entry.plaintext())
        if count and size > BYTES_A_BATCH:
            return entries[start:start + count]
    return entries[start:start + ENTRIES_A_BATCH]


def packed_part(session: Session, part: Sequence[Entry]) -> tuple[bytes, Signature]:
    """Return the bytes of a part with what people signed of it, and the head signed over it."""
    head = session.sign_head(part[-1])
    signatures = [
        s for s in session.entries.signatures(session.clinic, [e.digest for e in part])
        if s.signer_type == "staff"
    ]
    return batches.encode(batches.batch_of(session.clinic, part, [*signatures, head])), head
