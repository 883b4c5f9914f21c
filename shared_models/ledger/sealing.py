"""How content is kept in the store: in plain on a server, sealed on a tablet.

Sealed content is AES-256-GCM (NIST SP 800-38D) with a fresh 12-byte nonce in
front.  The place of the content (which row it belongs to) is associated data,
so that sealed content moved to another row does not open.
"""

from __future__ import annotations

import os
from typing import Protocol

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from shared_models.quantities.refusals import Refusal

KEY_BYTES = 32
NONCE_BYTES = 12


class SealingRefusal(Refusal):
    """Sealed content can't be opened: ``store_locked`` or ``content_damaged``."""


class Codec(Protocol):
    """Turns plaintext into what is stored at a place, and back."""

    def seal(self, place: str, plaintext: bytes) -> bytes:
        """Return what is stored."""

    def open(self, place: str, content: bytes) -> bytes:
        """Return the plaintext; raise SealingRefusal when it can't be had."""


class Plain:
    """A server's store; its disk is the operator's to encrypt."""

    def seal(self, place: str, plaintext: bytes) -> bytes:
        """Return the plaintext as it is."""
        return plaintext

    def open(self, place: str, content: bytes) -> bytes:
        """Return the content as it is."""
        return _bytes(place, content)


class Sealed:
    """A tablet's store, opened with the data key that a PIN unwrapped."""

    def __init__(self, data_key: bytes) -> None:
        if len(data_key) != KEY_BYTES:
            raise ValueError(f"a data key has {KEY_BYTES} bytes")
        self._cipher = AESGCM(data_key)

    def seal(self, place: str, plaintext: bytes) -> bytes:
        """Return nonce and ciphertext, bound to ``place``."""
        nonce = os.urandom(NONCE_BYTES)
        return nonce + self._cipher.encrypt(nonce, plaintext, place.encode())

    def open(self, place: str, content: bytes) -> bytes:
        """Return the plaintext; refuse content changed or moved from its place."""
        found = _bytes(place, content)
        nonce, sealed = found[:NONCE_BYTES], found[NONCE_BYTES:]
        try:
            return self._cipher.decrypt(nonce, sealed, place.encode())
        except (InvalidTag, ValueError) as error:
            raise SealingRefusal("content_damaged", place=place) from error


class Locked:
    """A tablet's store before anybody has unlocked it."""

    def seal(self, place: str, plaintext: bytes) -> bytes:
        """Refuse: nothing can be kept before somebody unlocks."""
        raise SealingRefusal("store_locked")

    def open(self, place: str, content: bytes) -> bytes:
        """Refuse: nothing can be read before somebody unlocks."""
        raise SealingRefusal("store_locked")


def _bytes(place: str, content: object) -> bytes:
    """A column edited by hand may hold text, which SQLite would hand out."""
    if not isinstance(content, (bytes, bytearray, memoryview)):
        raise SealingRefusal("content_damaged", place=place)
    return bytes(content)
