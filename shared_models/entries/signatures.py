"""Signatures: Ed25519 (RFC 8032) over a plain statement, kept with the entries.

A statement says what is signed (the digest of an entry), by whom, in which
sense and when.  Two senses: a tablet signs the head of its chain (``chain_head``);
a person signs an entry of their own (``signs_off``, ``requests_review``,
``decides``).  The signed bytes are a fixed prefix and the statement in
canonical JSON, so that a signature for one purpose never fits another.
"""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Mapping

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)

from shared_models.entries.canonical import canonical_bytes, digest_of

PREFIX = b"stancebook statement 1\n"
CHAIN_HEAD = "chain_head"
_NAMES = (
    "clinic", "signs", "signer_type", "signer", "printed_name", "meaning",
    "signed_at", "key", "value",
)


class BadSignature(ValueError):
    """The signature record is not of the form, or does not verify."""


@dataclass(frozen=True)
class Signature:
    """A statement and its signature value.

    ``signer_type`` is ``tablet`` or ``staff``; ``key`` the public key and
    ``value`` the signature, both base64; ``printed_name`` and ``meaning`` are
    what every output shows beside it.
    """

    clinic: str
    signs: str
    signer_type: str
    signer: str
    printed_name: str
    meaning: str
    signed_at: str
    key: str
    value: str

    @cached_property
    def digest(self) -> str:
        """Identity of the signature record."""
        return digest_of(self.as_record())

    def as_record(self) -> dict[str, str]:
        """Return the form that is stored and travels."""
        return {name: getattr(self, name) for name in _NAMES}

    def statement(self) -> bytes:
        """Return the bytes that the value signs."""
        record = self.as_record()
        del record["value"]
        return PREFIX + canonical_bytes(record)

    def is_valid(self) -> bool:
        """Tell whether the value was made with ``key`` over this statement."""
        try:
            public = Ed25519PublicKey.from_public_bytes(_bytes(self.key))
            public.verify(_bytes(self.value), self.statement())
        except (InvalidSignature, ValueError):
            return False
        return True


def signature_from(record: Mapping[str, Any]) -> Signature:
    """Check the form of a signature record; raise BadSignature otherwise."""
    if not isinstance(record, Mapping) or set(record) != set(_NAMES):
        raise BadSignature("a signature has exactly the fields " + ", ".join(_NAMES))
    if not all(isinstance(record[name], str) for name in _NAMES):
        raise BadSignature("each field of a signature is text")
    return Signature(**{name: record[name] for name in _NAMES})


def sign(
    private: Ed25519PrivateKey,
    *,
    clinic: str,
    signs: str,
    signer_type: str,
    signer: str,
    printed_name: str,
    meaning: str,
    signed_at: str,
) -> Signature:
    """Sign that ``signer`` means ``meaning`` of the entry with digest ``signs``."""
    fields = dict(
        clinic=clinic, signs=signs, signer_type=signer_type, signer=signer,
        printed_name=printed_name, meaning=meaning, signed_at=signed_at,
        key=public_text(private),
    )
    unsigned = Signature(**fields, value="")
    value = private.sign(unsigned.statement())
    return Signature(**fields, value=base64.b64encode(value).decode())


def new_key() -> Ed25519PrivateKey:
    """Make a fresh signing key."""
    return Ed25519PrivateKey.generate()


def private_text(private: Ed25519PrivateKey) -> bytes:
    """Return the 32 secret bytes, for wrapping only."""
    return private.private_bytes_raw()


def key_from(secret: bytes) -> Ed25519PrivateKey:
    """Return the key of 32 secret bytes."""
    return Ed25519PrivateKey.from_private_bytes(secret)


def public_text(private: Ed25519PrivateKey) -> str:
    """Return the public half, base64, as entries and signatures name it."""
    return base64.b64encode(private.public_key().public_bytes_raw()).decode()


def _bytes(text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except binascii.Error as error:
        raise ValueError("not base64") from error
