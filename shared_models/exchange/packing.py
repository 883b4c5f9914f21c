"""Bytes on the wire: gzip over canonical JSON, with limits on both sizes."""

from __future__ import annotations

import gzip
import zlib
from typing import Any, Iterable, Mapping

from shared_models.entries.canonical import NotStrictJson, canonical_bytes, strict_json
from shared_models.quantities.refusals import Refusal

FORMAT = 1
LARGEST_PACKED_BYTES = 4 * 1024 * 1024
LARGEST_PLAIN_BYTES = 8 * 1024 * 1024
#: Level 6 packs 3 % smaller than 5 and takes twice the time (docs/sync-speed.md).
_LEVEL = 5
_GZIP_ONLY = 16 + zlib.MAX_WBITS


class BatchRefusal(Refusal):
    """What came over the wire can't be read; nothing of it was taken."""


def pack(value: Mapping[str, Any], written: Mapping[str, Iterable[bytes]] | None = None) -> bytes:
    """Return ``value`` as gzip; the same value always gives the same bytes.

    ``written`` are further fields, lists whose items are canonical JSON already.
    """
    written = written or {}
    rest = canonical_bytes({**value, **{name: [] for name in written}})
    parts: list[bytes] = []
    for name in sorted(written):  # a text before it can't hold a quote that is not escaped
        before, opening, rest = rest.partition(f'"{name}":['.encode())
        parts += [before, opening, b",".join(written[name])]
    return gzip.compress(b"".join([*parts, rest]), compresslevel=_LEVEL, mtime=0)


def unpack(
    data: bytes, names: frozenset[str],
    largest_packed: int = LARGEST_PACKED_BYTES,
    largest_plain: int = LARGEST_PLAIN_BYTES,
) -> dict[str, Any]:
    """Return the object that ``pack`` packed, with exactly ``names``.

    Never unpacks more than ``largest_plain`` bytes.  Raises BatchRefusal:
    ``batch_too_large`` (figures ``bytes`` or ``plain_bytes``, ``largest``),
    ``batch_not_gzip`` (cut off, damaged, or something after it),
    ``batch_not_strict_json``, ``batch_unknown_format``, ``batch_wrong_form``.
    """
    if len(data) > largest_packed:
        raise BatchRefusal("batch_too_large", bytes=len(data), largest=largest_packed)
    value = _strict(_unzipped(data, largest_plain))
    if not isinstance(value, dict):
        raise BatchRefusal("batch_wrong_form", place="whole")
    stated = value.get("format")
    if isinstance(stated, bool) or stated != FORMAT:
        raise BatchRefusal("batch_unknown_format", known=FORMAT)
    if set(value) != names:
        raise BatchRefusal("batch_wrong_form", place="names")
    return value


def _unzipped(data: bytes, largest_plain: int) -> bytes:
    reader = zlib.decompressobj(_GZIP_ONLY)
    try:
        plain = reader.decompress(data, largest_plain + 1)
    except zlib.error as error:
        raise BatchRefusal("batch_not_gzip") from error
    if len(plain) > largest_plain:
        raise BatchRefusal("batch_too_large", largest=largest_plain)
    if not reader.eof or reader.unused_data:
        raise BatchRefusal("batch_not_gzip")
    return plain


def _strict(plain: bytes) -> Any:
    try:
        return strict_json(plain)
    except NotStrictJson as error:
        raise BatchRefusal("batch_not_strict_json") from error


def text_in(value: Mapping[str, Any], name: str) -> str:
    """Return a text of an answer; refuse its form otherwise."""
    found = value.get(name)
    if not isinstance(found, str):
        raise BatchRefusal("batch_wrong_form", place=name)
    return found


def count_in(value: Mapping[str, Any], name: str) -> int:
    """Return a whole number of at least 0; refuse its form otherwise."""
    found = value.get(name)
    if isinstance(found, bool) or not isinstance(found, int) or found < 0:
        raise BatchRefusal("batch_wrong_form", place=name)
    return found


def list_in(value: Mapping[str, Any], name: str, largest: int) -> list[Any]:
    """Return a list of at most ``largest`` items; refuse its form otherwise."""
    found = value.get(name)
    if not isinstance(found, list):
        raise BatchRefusal("batch_wrong_form", place=name)
    if len(found) > largest:
        raise BatchRefusal("batch_too_many", items=len(found), largest=largest)
    return found
