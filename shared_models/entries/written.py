"""What a store gives out as it lies there: bytes that are what their digest names, not read again."""

from __future__ import annotations

from dataclasses import dataclass, field

from shared_models.entries.envelope import Subject


@dataclass(frozen=True)
class Written:
    """An entry or a signature in canonical JSON; ``subject`` is None for a signature.

    Whoever makes one has compared the digest with the bytes.
    """

    digest: str
    subject: Subject | None
    _plaintext: bytes = field(repr=False)

    def plaintext(self) -> bytes:
        """Return the canonical bytes that the digest covers."""
        return self._plaintext


@dataclass(frozen=True)
class WrittenLink:
    """An entry in canonical JSON with its place in its tablet's chain, as the store's columns say it."""

    digest: str
    clinic: str
    tablet: str
    number: int
    _plaintext: bytes = field(repr=False)

    def plaintext(self) -> bytes:
        """Return the canonical bytes that the digest covers."""
        return self._plaintext
