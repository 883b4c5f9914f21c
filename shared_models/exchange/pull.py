"""A pull's answer: a clinic's entries and signatures after a sequence number.

Wire form, gzip over canonical JSON::

    {"format": 1, "clinic": ..., "epoch": ..., "items": [
       {"sequence": 7, "digest": ..., "envelope": {...}},
       {"sequence": 8, "signature": {...}}],
     "next": 8, "more": false}
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Mapping, Protocol, Sequence

from shared_models.entries.canonical import NotStrictJson, canonical_bytes
from shared_models.entries.envelope import BadEnvelope, Entry, entry_read
from shared_models.entries.signatures import BadSignature, Signature, signature_from
from shared_models.entries.written import Written
from shared_models.exchange.packing import (
    FORMAT,
    LARGEST_PLAIN_BYTES,
    BatchRefusal,
    count_in,
    list_in,
    pack,
    text_in,
    unpack,
)

MOST_ITEMS = 2000
USUAL_ITEMS = 500
USUAL_BYTES = LARGEST_PLAIN_BYTES // 2
_NAMES = frozenset(("format", "clinic", "epoch", "items", "next", "more"))


class Numbered(Protocol):
    """An entry or a signature with its sequence; ``ledger`` feeds fit."""

    @property
    def sequence(self) -> int:
        """Return the server's sequence number."""

    @property
    def item(self) -> Entry | Signature | Written:
        """Return what has that number."""


@dataclass(frozen=True)
class PulledItem:
    """An entry or a signature with the server's sequence number; as it lies there on its way out."""

    sequence: int
    item: Entry | Signature | Written


@dataclass(frozen=True)
class Pull:
    """One page; ``next`` is what to ask after next time."""

    clinic: str
    epoch: str
    items: tuple[PulledItem, ...]
    next: int
    more: bool

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Return the page's entries."""
        return tuple(i.item for i in self.items if isinstance(i.item, Entry))

    @property
    def signatures(self) -> tuple[Signature, ...]:
        """Return the page's signatures."""
        return tuple(i.item for i in self.items if isinstance(i.item, Signature))

    @property
    def sequences(self) -> dict[str, int]:
        """Return the sequence number of each digest."""
        return {found.item.digest: found.sequence for found in self.items}


def page_of(
    clinic: str, epoch: str, items: Sequence[Numbered], after: int, limit: int
) -> Pull:
    """Return a page from up to ``limit + 1`` items after ``after``.

    A page ends early, with one item at least, where it would grow beyond what
    whoever asked can unpack: drawn strokes make large entries.
    """
    kept: list[PulledItem] = []
    size = 0
    for found in items[:limit]:
        if not isinstance(found.item, Signature):  # those are small
            size += len(found.item.plaintext())
        if kept and size > USUAL_BYTES:
            break
        kept.append(PulledItem(found.sequence, found.item))
    last = kept[-1].sequence if kept else after
    return Pull(clinic, epoch, tuple(kept), last, len(items) > len(kept))


def encode(pull: Pull) -> bytes:
    """Return the bytes that travel."""
    return pack({
        "format": FORMAT, "clinic": pull.clinic, "epoch": pull.epoch,
        "next": pull.next, "more": pull.more,
    }, {"items": map(_written, pull.items)})


@dataclass(frozen=True)
class Opened:
    """A page unpacked and not looked at yet: nothing of it is believed but where to ask next."""

    next: int
    more: bool
    _value: Mapping[str, Any] = field(repr=False)

    def checked(self) -> Pull:
        """Return the page; refuse it whole when anything in it is damaged, as ``decode``."""
        value = self._value
        items = tuple(
            _item(place, record)
            for place, record in enumerate(list_in(value, "items", MOST_ITEMS))
        )
        sequences = [found.sequence for found in items]
        if sequences != sorted(set(sequences)) or (sequences and sequences[-1] != self.next):
            raise BatchRefusal("pull_out_of_order")
        return Pull(text_in(value, "clinic"), text_in(value, "epoch"), items, self.next, self.more)


def opened(data: bytes) -> Opened:
    """Unpack a page; raise BatchRefusal as ``packing.unpack``."""
    value = unpack(data, _NAMES)
    if not isinstance(value["more"], bool):
        raise BatchRefusal("batch_wrong_form", place="more")
    return Opened(count_in(value, "next"), value["more"], value)


def decode(data: bytes) -> Pull:
    """Read a page; refuse it whole when anything in it is damaged.

    Codes as ``packing.unpack``, and ``pull_item_damaged`` (figures ``place``),
    ``pull_out_of_order``.  Signatures are verified by themselves; whether
    their keys are enrolled is for ``intake`` and the fold.
    """
    return opened(data).checked()


def _written(found: PulledItem) -> bytes:
    """Return an item in canonical JSON; the bytes of what it carries are not written again."""
    if isinstance(found.item, Signature):
        return b'{"sequence":%d,"signature":%b}' % (found.sequence, canonical_bytes(found.item.as_record()))
    if isinstance(found.item, Written) and found.item.subject is None:
        return b'{"sequence":%d,"signature":%b}' % (found.sequence, found.item.plaintext())
    return b'{"digest":"%b","envelope":%b,"sequence":%d}' % (
        found.item.digest.encode(), found.item.plaintext(), found.sequence
    )


def _item(place: int, record: Any) -> PulledItem:
    if not isinstance(record, dict):
        raise BatchRefusal("batch_wrong_form", place=f"items/{place}")
    sequence = count_in(record, "sequence")
    try:
        if set(record) == {"sequence", "signature"}:
            signature = signature_from(record["signature"])
            if not signature.is_valid():
                raise BadSignature("it does not verify")
            return PulledItem(sequence, signature)
        entry = entry_read(record.get("envelope"))
    except (BadEnvelope, BadSignature, NotStrictJson) as error:
        raise BatchRefusal("pull_item_damaged", place=f"items/{place}") from error
    if entry.digest != record.get("digest"):
        raise BatchRefusal("pull_item_damaged", place=f"items/{place}")
    return PulledItem(sequence, entry)
