"""Entries and signatures as rows, and back with their digest checked."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Mapping, NamedTuple

from shared_models.entries.canonical import NotStrictJson, canonical_bytes, sha256_of, strict_json
from shared_models.entries.envelope import BadEnvelope, Entry, Subject, entry_in
from shared_models.entries.signatures import BadSignature, Signature, signature_from
from shared_models.entries.written import Written, WrittenLink
from shared_models.ledger.faults_of_storage import StoreRefusal
from shared_models.ledger.sealing import Codec, Plain, SealingRefusal


class Kept(NamedTuple):
    """Of a row what its entry or signature is read from."""

    digest: str
    content: bytes


def entry_row(entry: Entry, codec: Codec, received_at: str) -> dict[str, Any]:
    """Return the row of an entry, its content sealed."""
    return {
        "digest": entry.digest, "entry_id": entry.id, "clinic": entry.clinic,
        "subject_type": entry.subject.type, "subject_id": entry.subject.id,
        "kind": entry.kind, "tablet": entry.tablet, "number": entry.number,
        "previous": entry.previous, "clock": entry.clock,
        "received_at": received_at,
        "content": codec.seal(f"entry:{entry.digest}", entry.plaintext()),
    }


def signature_row(
    signature: Signature, codec: Codec, received_at: str
) -> dict[str, Any]:
    """Return the row of a signature, its content sealed."""
    digest = signature.digest
    return {
        "digest": digest, "clinic": signature.clinic, "signs": signature.signs,
        "signer_type": signature.signer_type, "signer": signature.signer,
        "received_at": received_at,
        "content": codec.seal(
            f"signature:{digest}", canonical_bytes(signature.as_record())
        ),
    }


def entry_of(row: Any, codec: Codec) -> Entry:
    """Return the entry of a row.

    Raises StoreRefusal ``record_damaged`` when the content is no longer what
    its digest names, so that nothing damaged is ever shown or passed on.
    """
    try:
        found = entry_in(codec.open(f"entry:{row.digest}", row.content))
    except (SealingRefusal, NotStrictJson, BadEnvelope) as error:
        _let_locked_rise(error)
        raise _damaged(row) from error
    if found.digest != row.digest:
        raise _damaged(row)
    return found


def entry_kept_plain(digest: str, content: bytes) -> Entry:
    """Return the entry of a row that is not sealed; what is read again and again is read once.

    Bytes that differ are read anew, so damage is found as by ``entry_of``.
    """
    return (_read_once if len(content) <= _READ_ONCE_BYTES else _read)(digest, content)


def _read(digest: str, content: bytes) -> Entry:
    return entry_of(Kept(digest, content), Plain())


_READ_ONCE_BYTES = 4096
_read_once = lru_cache(maxsize=2048)(_read)


def signature_of(row: Any, codec: Codec) -> Signature:
    """Return the signature of a row; refuse a damaged one as ``entry_of``."""
    try:
        found = signature_from(_content(row, codec, "signature"))
    except (SealingRefusal, NotStrictJson, BadSignature) as error:
        _let_locked_rise(error)
        raise _damaged(row) from error
    if found.digest != row.digest:
        raise _damaged(row)
    return found


def written_entry(row: Any, codec: Codec) -> Written:
    """Return the entry of a row as it lies there; refuse a damaged one as ``entry_of``."""
    return Written(row.digest, Subject(row.subject_type, row.subject_id), _bytes(row, codec, "entry"))


def written_signature(row: Any, codec: Codec) -> Written:
    """Return the signature of a row as it lies there; refuse a damaged one as ``entry_of``."""
    return Written(row.digest, None, _bytes(row, codec, "signature"))


def written_link(clinic: str, tablet: str, number: int, row: Any, codec: Codec) -> WrittenLink:
    """Return the entry of a chain as it lies there; refuse a damaged one as ``entry_of``."""
    return WrittenLink(row.digest, clinic, tablet, number, _bytes(row, codec, "entry"))


def _bytes(row: Any, codec: Codec, what: str) -> bytes:
    """Return the bytes of a row, which are what its digest names."""
    try:
        found = codec.open(f"{what}:{row.digest}", row.content)
    except SealingRefusal as error:
        _let_locked_rise(error)
        raise _damaged(row) from error
    if sha256_of(found) != row.digest:
        raise _damaged(row)
    return found


def _content(row: Any, codec: Codec, what: str) -> Mapping[str, Any]:
    found: Mapping[str, Any] = strict_json(
        codec.open(f"{what}:{row.digest}", row.content)
    )
    return found


def _let_locked_rise(error: Exception) -> None:
    if isinstance(error, SealingRefusal) and error.code == "store_locked":
        raise error


def _damaged(row: Any) -> StoreRefusal:
    return StoreRefusal("record_damaged", digest=row.digest)
