"""A file that carries between two machines with no network between them.

Sealed to one receiver and signed by the sender.  Both already know each other's
Ed25519 key (enrolment gives them), so no further key has to travel: the
receiver's is turned into its X25519 form (RFC 7748, 4.1: the two curves are
birationally equivalent), and a fresh key agrees with it once for each file.

::

    "stancebook sealed file 1\\n"     what it is
    4 bytes                           length of the header, big-endian
    header                            canonical JSON, readable
    sealed                            AES-256-GCM, 16-byte tag at its end
    64 bytes                          Ed25519 by ``from_key`` over all bytes before

    secret = X25519(fresh, receiver)
    key    = HKDF-SHA256(secret, salt = fresh public || receiver public (X25519),
                         info = "stancebook sealed file 1\\n")
    nonce  = 12 zero bytes: each key seals one file only
    associated data = everything before ``sealed``

The header names ids and no person.  Using one key pair for Ed25519 and for such
a key agreement is shown to be sound by E. Thormarker, IACR ePrint 2021/509
(from memory).
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from dataclasses import dataclass
from typing import Any, Mapping

from cryptography.exceptions import InvalidSignature, InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from shared_models.entries.canonical import NotStrictJson, canonical_bytes, strict_json
from shared_models.entries.signatures import public_text
from shared_models.quantities.refusals import Refusal

START = b"stancebook sealed file "
MAGIC = START + b"1\n"
ENTRIES, PHOTO, RECEIPT = "entries", "photo", "receipt"
SORTS = (ENTRIES, PHOTO, RECEIPT)
#: What a file may have in all; a batch or a piece of a photo is far below it.
LARGEST_FILE = 10 * 1024 * 1024
PHOTO_PIECE = 4 * 1024 * 1024
_LARGEST_HEADER = 4096
_SIGNATURE, _TAG, _NONCE = 64, 16, bytes(12)
_TEXTS = ("sort", "clinic", "from", "from_key", "to_key", "fresh", "made_at")
_P = 2**255 - 19


class SealedRefusal(Refusal):
    """A carried file is not taken, and nothing of it.

    Codes: ``sealed_not_ours``, ``sealed_unknown_format``, ``sealed_damaged``,
    ``sealed_for_another``, ``sealed_sender_unknown``, ``sealed_too_large``.
    """


@dataclass(frozen=True)
class Sealed:
    """What a file says and holds: ``order`` is its place among the sender's files."""

    sort: str
    clinic: str
    sender: str
    sender_key: str
    order: int
    made_at: str
    content: bytes


def seal(
    sort: str, content: bytes, *, clinic: str, sender: str, key: Ed25519PrivateKey,
    to_key: str, made_at: str, order: int = 0,
) -> bytes:
    """Return a file for whoever has the private half of ``to_key`` (base64 Ed25519)."""
    fresh = X25519PrivateKey.generate()
    receiver = _agreeing_public(_key_bytes(to_key))
    header = canonical_bytes({
        "format": 1, "sort": sort, "clinic": clinic, "from": sender, "from_key": public_text(key),
        "to_key": to_key, "fresh": base64.b64encode(_raw(fresh.public_key())).decode(),
        "made_at": made_at, "order": order,
    })
    before = MAGIC + len(header).to_bytes(4, "big") + header
    file_key = _file_key(fresh.exchange(receiver), fresh.public_key(), receiver)
    unsigned = before + AESGCM(file_key).encrypt(_NONCE, content, before)
    return unsigned + key.sign(unsigned)


def header_of(data: bytes) -> Mapping[str, Any]:
    """Return a file's header; refused ``sealed_not_ours``, ``…_unknown_format``, ``…_damaged``, ``…_too_large``.

    Nothing of it is believed yet.
    """
    return _split(data)[0]


def open_sealed(data: bytes, key: Ed25519PrivateKey) -> Sealed:
    """Open a file that is sealed to this key; whose key signed it is for the caller to judge.

    Refused as ``header_of``, and ``sealed_for_another``.
    """
    header, before, sealed = _split(data)
    try:
        Ed25519PublicKey.from_public_bytes(_key_bytes(header["from_key"])).verify(
            data[-_SIGNATURE:], data[:-_SIGNATURE]
        )
        if header["to_key"] != public_text(key):
            raise SealedRefusal("sealed_for_another")
        own = _agreeing_private(key)
        fresh = X25519PublicKey.from_public_bytes(_key_bytes(header["fresh"]))
        file_key = _file_key(own.exchange(fresh), fresh, own.public_key())
        content = AESGCM(file_key).decrypt(_NONCE, sealed, before)
    except (InvalidSignature, InvalidTag, ValueError) as error:
        raise SealedRefusal("sealed_damaged") from error
    return Sealed(
        header["sort"], header["clinic"], header["from"], header["from_key"],
        header["order"], header["made_at"], content,
    )


def photo_content(sha256: str, offset: int, length: int, data: bytes) -> bytes:
    """Return the content of a file with a piece of a photo."""
    return canonical_bytes({"sha256": sha256, "offset": offset, "length": length}) + b"\n" + data


def photo_in(content: bytes) -> tuple[str, int, int, bytes]:
    """Read a piece of a photo: SHA-256, offset, length of the whole, bytes."""
    head, _, data = content.partition(b"\n")
    try:
        told = strict_json(head)
        sha256, offset, length = told["sha256"], told["offset"], told["length"]
    except (NotStrictJson, KeyError, TypeError) as error:
        raise SealedRefusal("sealed_damaged") from error
    if not isinstance(sha256, str) or not all(type(n) is int and n >= 0 for n in (offset, length)):
        raise SealedRefusal("sealed_damaged")
    return sha256, offset, length, data


def _split(data: bytes) -> tuple[Mapping[str, Any], bytes, bytes]:
    if not data.startswith(START):
        raise SealedRefusal("sealed_not_ours")
    if not data.startswith(MAGIC):
        raise SealedRefusal("sealed_unknown_format")
    if len(data) > LARGEST_FILE:
        raise SealedRefusal("sealed_too_large", most=LARGEST_FILE // 1_000_000)
    at = len(MAGIC) + 4
    length = int.from_bytes(data[len(MAGIC):at], "big")
    if length > _LARGEST_HEADER or len(data) < at + length + _TAG + _SIGNATURE:
        raise SealedRefusal("sealed_damaged")
    try:
        header = strict_json(data[at:at + length])
    except NotStrictJson as error:
        raise SealedRefusal("sealed_damaged") from error
    if not isinstance(header, dict) or not all(isinstance(header.get(name), str) for name in _TEXTS):
        raise SealedRefusal("sealed_damaged")
    if header.get("format") != 1 or header["sort"] not in SORTS:
        raise SealedRefusal("sealed_unknown_format")
    if type(header.get("order")) is not int:
        raise SealedRefusal("sealed_damaged")
    return header, data[:at + length], data[at + length:-_SIGNATURE]


def _file_key(secret: bytes, fresh: X25519PublicKey, receiver: X25519PublicKey) -> bytes:
    return HKDF(SHA256(), 32, salt=_raw(fresh) + _raw(receiver), info=MAGIC).derive(secret)


def _agreeing_public(key: bytes) -> X25519PublicKey:
    """The X25519 form of an Ed25519 public key: u = (1 + y) / (1 - y)."""
    y = int.from_bytes(key, "little") & (2**255 - 1)
    if y >= _P or y == 1:
        raise SealedRefusal("sealed_damaged")
    u = (1 + y) * pow(1 - y, -1, _P) % _P
    return X25519PublicKey.from_public_bytes(u.to_bytes(32, "little"))


def _agreeing_private(key: Ed25519PrivateKey) -> X25519PrivateKey:
    """The X25519 form of an Ed25519 private key: the scalar that it signs with (RFC 8032, 5.1.5)."""
    return X25519PrivateKey.from_private_bytes(hashlib.sha512(key.private_bytes_raw()).digest()[:32])


def _raw(key: X25519PublicKey) -> bytes:
    return key.public_bytes_raw()


def _key_bytes(text: str) -> bytes:
    try:
        found = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise SealedRefusal("sealed_damaged") from error
    if len(found) != 32:
        raise SealedRefusal("sealed_damaged")
    return found
