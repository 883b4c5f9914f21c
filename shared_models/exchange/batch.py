"""A batch: entries and signatures of one clinic on their way to another store.

Wire form, gzip over canonical JSON::

    {"format": 1, "clinic": ..., "entries": [{"digest": ..., "envelope": {...}}],
     "signatures": [{...}]}

A batch is cut only where a tablet has signed its chain, so that each piece
can be checked by itself, also when a hub passes it on.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Iterable, Mapping, Sequence

from shared_models.entries.canonical import canonical_bytes
from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import CHAIN_HEAD, Signature
from shared_models.entries.written import WrittenLink
from shared_models.exchange.packing import (
    FORMAT,
    BatchRefusal,
    list_in,
    pack,
    text_in,
    unpack,
)
from shared_models.exchange.practice import refuse_practice

MOST_ITEMS = 2000
USUAL_ENTRIES = 500
USUAL_PLAIN_BYTES = 1024 * 1024
_NAMES = frozenset(("format", "clinic", "entries", "signatures"))


@dataclass(frozen=True)
class Batch:
    """What was read from the wire: strict JSON of the right form, nothing else is checked.

    ``entries`` are pairs of the digest stated and the envelope; ``signatures``
    are records.  ``intake.check_batch`` judges them.  ``plaintexts`` are the
    canonical bytes of the envelopes, where the batch was made of entries.
    """

    clinic: str
    entries: tuple[tuple[str, Mapping[str, Any]], ...]
    signatures: tuple[Mapping[str, Any], ...]
    plaintexts: tuple[bytes, ...] = field(default=(), repr=False, compare=False)


def batch_of(
    clinic: str, entries: Iterable[Entry], signatures: Iterable[Signature]
) -> Batch:
    """Return the batch of some entries and signatures."""
    entries = tuple(entries)
    return Batch(
        clinic,
        tuple((entry.digest, entry.envelope) for entry in entries),
        tuple(signature.as_record() for signature in signatures),
        tuple(entry.plaintext() for entry in entries),
    )


def encode(batch: Batch) -> bytes:
    """Return the bytes that travel; PracticeRefusal ``practice_never_sent`` for practice."""
    refuse_practice((batch.clinic, *(envelope.get("clinic") for _, envelope in batch.entries)))
    plaintexts = batch.plaintexts or [canonical_bytes(dict(envelope)) for _, envelope in batch.entries]
    digests = [digest for digest, _ in batch.entries]
    return _packed(batch.clinic, zip(digests, plaintexts, strict=True), batch.signatures)


def encode_links(clinic: str, links: Iterable[WrittenLink], signatures: Iterable[Signature]) -> bytes:
    """Return the bytes that travel of entries as they lie in a store; refused as ``encode``."""
    links = tuple(links)
    refuse_practice((clinic, *(link.clinic for link in links)))
    return _packed(
        clinic, ((link.digest, link.plaintext()) for link in links),
        [signature.as_record() for signature in signatures],
    )


def _packed(
    clinic: str, entries: Iterable[tuple[str, bytes]], signatures: Iterable[Mapping[str, Any]]
) -> bytes:
    return pack({
        "format": FORMAT, "clinic": clinic, "signatures": [dict(record) for record in signatures],
    }, {"entries": (
        b'{"digest":%b,"envelope":%b}' % (canonical_bytes(digest), plaintext)
        for digest, plaintext in entries
    )})


def decode(data: bytes) -> Batch:
    """Read the bytes of a batch; raise BatchRefusal as ``packing.unpack``.

    Further codes: ``batch_too_many`` (figures ``items``, ``largest``).
    """
    value = unpack(data, _NAMES)
    return Batch(
        text_in(value, "clinic"),
        tuple(_entry(item) for item in list_in(value, "entries", MOST_ITEMS)),
        tuple(_signature(item) for item in list_in(value, "signatures", MOST_ITEMS)),
    )


def _entry(item: Any) -> tuple[str, Mapping[str, Any]]:
    if not isinstance(item, dict) or set(item) != {"digest", "envelope"}:
        raise BatchRefusal("batch_wrong_form", place="entries")
    if not isinstance(item["envelope"], dict):
        raise BatchRefusal("batch_wrong_form", place="entries")
    return text_in(item, "digest"), item["envelope"]


def _signature(item: Any) -> Mapping[str, Any]:
    if not isinstance(item, dict):
        raise BatchRefusal("batch_wrong_form", place="signatures")
    return item


def cut(
    clinic: str, entries: Sequence[Entry], signatures: Sequence[Signature],
    most_entries: int = USUAL_ENTRIES, most_bytes: int = USUAL_PLAIN_BYTES,
) -> list[Batch]:
    """Cut one or more chains into batches, each ending at signed heads.

    ``entries`` are in chain order for each tablet.  A batch grows beyond the
    limits only where no head was signed within them; entries after the last
    signed head stay behind, because no receiver could take them.
    """
    heads = {
        found.signs for found in signatures if found.meaning == CHAIN_HEAD
    }
    over: dict[str, list[Signature]] = {}
    for found in signatures:
        over.setdefault(found.signs, []).append(found)
    batches: list[Batch] = []
    taken: list[Entry] = []
    size = 0
    for run in _runs(entries, heads):
        run_size = sum(len(item.plaintext()) for item in run)
        full = len(taken) + len(run) > most_entries or size + run_size > most_bytes
        if taken and full:
            batches.append(_with_signatures(clinic, taken, over))
            taken, size = [], 0
        taken.extend(run)
        size += run_size
    if taken:
        batches.append(_with_signatures(clinic, taken, over))
    stray = [
        found for found in signatures
        if found.signs not in {item.digest for item in entries}
    ]
    if stray:
        batches.append(batch_of(clinic, (), stray))
    return batches


def _runs(entries: Sequence[Entry], heads: set[str]) -> list[list[Entry]]:
    """Split chains into runs that each end with a signed head."""
    waiting: dict[str, list[Entry]] = {}
    runs: list[list[Entry]] = []
    for item in entries:
        waiting.setdefault(item.tablet, []).append(item)
        if item.digest in heads:
            runs.append(waiting.pop(item.tablet))
    return runs


def _with_signatures(
    clinic: str, entries: Sequence[Entry], over: Mapping[str, Sequence[Signature]]
) -> Batch:
    mine = [found for item in entries for found in over.get(item.digest, ())]
    return batch_of(clinic, entries, mine)
