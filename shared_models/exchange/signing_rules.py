"""Who may sign what, and which signatures a batch must bring.

A tablet signs the heads of its own chain; every stretch of new entries ends
in, or leads up to, an entry whose chain head is signed.  A person signs
entries that they recorded themselves, with a key recorded as theirs.
"""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass
from typing import Any, Mapping, Protocol, Sequence

from shared_models.entries.canonical import NotStrictJson
from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import (
    CHAIN_HEAD,
    BadSignature,
    Signature,
    signature_from,
)
from shared_models.exchange.batch import Batch
from shared_models.exchange.keys import Keys

Trouble = tuple[str, str, str, Mapping[str, Any]]
_SIGNATURE_BYTES = 64


class _Known(Protocol):
    def by_digest(self, digest: str) -> Entry | None: ...

    def known_signatures(self, digests: Sequence[str]) -> set[str]: ...


class Signed(Protocol):
    """What is asked of an entry that a signature signs."""

    @property
    def clinic(self) -> str:
        """Return the clinic that it belongs to."""

    @property
    def tablet(self) -> str:
        """Return the chain that it stands on."""

    @property
    def recorded_by(self) -> str:
        """Return who recorded it."""


@dataclass(frozen=True)
class SignaturesFound:
    """The sound signatures that are new, and why others are refused."""

    new: tuple[Signature, ...]
    troubles: tuple[Trouble, ...]


def check_signatures(
    batch: Batch, by_digest: Mapping[str, Entry], new: Sequence[Entry],
    known: _Known, keys: Keys,
) -> SignaturesFound:
    """Judge a batch's signatures, and that its new entries are covered."""
    troubles: list[Trouble] = []
    sound: dict[str, Signature] = {}
    for place, record in enumerate(batch.signatures):
        where = f"signatures/{place}"
        try:
            signature = signature_from(record)
            digest = signature.digest
        except (BadSignature, NotStrictJson):
            troubles.append((where, "", "signature_wrong_form", {}))
            continue
        entry = by_digest.get(signature.signs) or known.by_digest(signature.signs)
        code = trouble_with(signature, entry, batch.clinic, keys)
        if code:
            troubles.append((where, signature.signs, code, {"signer": signature.signer}))
        else:
            sound[digest] = signature
    heads = {
        found.signs for found in sound.values() if found.signer_type == "tablet"
    }
    troubles.extend(_uncovered(batch, by_digest, new, heads))
    there = known.known_signatures(list(sound))
    fresh = tuple(found for digest, found in sound.items() if digest not in there)
    return SignaturesFound(fresh, tuple(troubles))


def trouble_with(
    signature: Signature, entry: Signed | None, clinic: str, keys: Keys
) -> str:
    """Return why a signature is refused, "" when it is sound."""
    if entry is None:
        return "signs_unknown_entry"
    if signature.clinic != clinic or entry.clinic != clinic:
        return "signature_other_clinic"
    if not _one_writing(signature.value):
        return "signature_wrong_form"
    if signature.signer_type == "tablet":
        if signature.meaning != CHAIN_HEAD or signature.signer != entry.tablet:
            return "signature_not_of_this_chain"
        enrolled = keys.of_tablet(signature.signer)
    elif signature.signer_type == "staff":
        if signature.meaning == CHAIN_HEAD or signature.signer != entry.recorded_by:
            return "signer_did_not_record_entry"
        enrolled = keys.of_staff(signature.signer)
    else:
        return "signature_wrong_form"
    if signature.key not in enrolled:
        return "key_not_enrolled"
    return "" if signature.is_valid() else "signature_does_not_verify"


def _one_writing(value: str) -> bool:
    """Base64 can write the same bytes in several ways; only one is taken."""
    try:
        plain = base64.b64decode(value, validate=True)
    except (binascii.Error, ValueError):
        return False
    return len(plain) == _SIGNATURE_BYTES and (
        base64.b64encode(plain).decode() == value
    )


def _uncovered(
    batch: Batch, by_digest: Mapping[str, Entry], new: Sequence[Entry],
    heads: set[str],
) -> list[Trouble]:
    """New entries that lead up to no signed head of their chain."""
    covered: set[str] = set()
    for head in heads:
        at: str = head
        while at in by_digest and at not in covered:
            covered.add(at)
            at = by_digest[at].previous
    places = {digest: place for place, (digest, _) in enumerate(batch.entries)}
    return [
        (f"entries/{places[entry.digest]}", entry.digest, "chain_head_not_signed",
         {"tablet": entry.tablet, "number": entry.number})
        for entry in new if entry.digest not in covered
    ]
