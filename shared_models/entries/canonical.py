"""One byte form for each JSON value, so that a digest means one thing.

Canonical form: RFC 8785 (JSON Canonicalization Scheme).  Stancebook's records
hold no floating-point numbers: amounts and clocks are text, so that ``38.0``
stays ``38.0`` on every machine.
"""

from __future__ import annotations

import hashlib
import json
import re
from typing import Any

import rfc8785

LARGEST_INTEGER = 2**53 - 1
DEEPEST_NESTING = 32


class NotStrictJson(ValueError):
    """The bytes are not the strict JSON that a record may hold."""


#: Writes RFC 8785's form of what has exact values and no name beyond the basic plane:
#: code points then sort as UTF-16 units do, and both escape the same characters alike.
_PLAIN = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), check_circular=False
)
#: The first byte of what UTF-8 writes for a character beyond the basic plane.
_BEYOND = re.compile(rb"[\xf0-\xf4]")


def canonical_bytes(value: Any) -> bytes:
    """Return ``value`` in canonical JSON; raise NotStrictJson when it can't be."""
    _refuse_inexact(value, 0)
    return canonical_of_strict(value)


def canonical_of_strict(value: Any) -> bytes:
    """Return the canonical JSON of what ``strict_json`` read, or a part of it, without looking again."""
    try:
        plain = _PLAIN.encode(value).encode()
        return plain if plain.isascii() or not _BEYOND.search(plain) else rfc8785.dumps(value)
    except (rfc8785.CanonicalizationError, UnicodeError) as error:
        raise NotStrictJson(str(error)) from error


def digest_of(value: Any) -> str:
    """Return the SHA-256 of the canonical form, as 64 lower-case hex digits."""
    return sha256_of(canonical_bytes(value))


def sha256_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, as 64 lower-case hex digits."""
    return hashlib.sha256(data).hexdigest()


def strict_json(data: bytes) -> Any:
    """Read JSON that has no doubled names, no floats and is valid UTF-8."""
    try:
        value = _STRICT.decode(data.decode("utf-8"))
    except NotStrictJson:
        raise
    except (ValueError, RecursionError) as error:
        raise NotStrictJson(str(error)) from error
    _refuse_too_deep(value)
    return value


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        double = next(name for name in names if names.count(name) > 1)
        raise NotStrictJson(f"the name {double!r} stands twice in one object")
    return found


def _no_float(text: str) -> Any:
    raise NotStrictJson(f"{text} is not exact; amounts travel as text")


def _exact(text: str) -> int:
    number = int(text)
    if abs(number) > LARGEST_INTEGER:
        raise NotStrictJson(f"{text} is too large to travel exactly")
    return number


#: Refuses while it reads whatever a record can't hold, but for the depth.
_STRICT = json.JSONDecoder(
    object_pairs_hook=_without_doubles, parse_float=_no_float, parse_constant=_no_float, parse_int=_exact
)
_HOLDERS = (dict, list)


def _refuse_too_deep(value: Any) -> None:
    """Refuse what the decoder read where it lies deeper than ``_refuse_inexact`` lets it; level by level."""
    holders = [value] if type(value) in _HOLDERS else []
    for _ in range(DEEPEST_NESTING):
        if not holders:
            return
        holders = [
            item for holder in holders for item in (holder.values() if type(holder) is dict else holder)
            if type(item) in _HOLDERS
        ]
    if any(holders):
        raise NotStrictJson(f"nested deeper than {DEEPEST_NESTING} levels")


def _refuse_inexact(value: Any, depth: int) -> None:
    """Refuse what a record can't hold; text inside lists and objects is passed over quickly."""
    if depth > DEEPEST_NESTING:
        raise NotStrictJson(f"nested deeper than {DEEPEST_NESTING} levels")
    if isinstance(value, (str, bool)) or value is None:
        return
    if isinstance(value, int):
        if abs(value) > LARGEST_INTEGER:
            raise NotStrictJson(f"{value} is too large to travel exactly")
        return
    if isinstance(value, dict):
        for name in value:
            if not isinstance(name, str):
                raise NotStrictJson(f"{name!r} is not a name")
        inner = value.values()
    elif isinstance(value, (list, tuple)):
        inner = value  # type: ignore[assignment]
    else:
        raise NotStrictJson(f"{type(value).__name__} can't be recorded")
    for item in inner:
        if type(item) is not str or depth == DEEPEST_NESTING:
            _refuse_inexact(item, depth + 1)
