"""One byte form for each JSON value, so that a digest means one thing.

Canonical form: RFC 8785 (JSON Canonicalization Scheme).  Stancebook's records
hold no floating-point numbers: amounts and clocks are text, so that ``38.0``
stays ``38.0`` on every machine.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

import rfc8785

LARGEST_INTEGER = 2**53 - 1
DEEPEST_NESTING = 32


class NotStrictJson(ValueError):
    """The bytes are not the strict JSON that a record may hold."""


#: Writes RFC 8785's form of what has exact values and ASCII names only: code points
#: then sort as UTF-16 units do, and both escape the same characters alike.
_PLAIN = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), check_circular=False
)


def canonical_bytes(value: Any) -> bytes:
    """Return ``value`` in canonical JSON; raise NotStrictJson when it can't be."""
    has_plain_names = _refuse_inexact(value, 0)
    try:
        return _PLAIN.encode(value).encode() if has_plain_names else rfc8785.dumps(value)
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
        value = json.loads(
            data.decode("utf-8"),
            object_pairs_hook=_without_doubles,
            parse_float=_no_float,
            parse_constant=_no_float,
        )
    except NotStrictJson:
        raise
    except (ValueError, RecursionError) as error:
        raise NotStrictJson(str(error)) from error
    _refuse_inexact(value, 0)
    return value


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise NotStrictJson(f"the name {name!r} stands twice in one object")
        found[name] = value
    return found


def _no_float(text: str) -> Any:
    raise NotStrictJson(f"{text} is not exact; amounts travel as text")


def _refuse_inexact(value: Any, depth: int) -> bool:
    """Refuse what a record can't hold; tell whether all names are ASCII."""
    if isinstance(value, (str, bool)) or value is None:
        return True
    if isinstance(value, int):
        if abs(value) > LARGEST_INTEGER:
            raise NotStrictJson(f"{value} is too large to travel exactly")
        return True
    is_plain = True
    if value and depth >= DEEPEST_NESTING and isinstance(value, (list, tuple, dict)):
        raise NotStrictJson(f"nested deeper than {DEEPEST_NESTING} levels")
    if isinstance(value, (list, tuple)):
        for item in value:
            if type(item) is not str:  # most are text, which is always exact
                is_plain &= _refuse_inexact(item, depth + 1)
        return is_plain
    if isinstance(value, dict):
        for name, item in value.items():
            if not isinstance(name, str):
                raise NotStrictJson(f"{name!r} is not a name")
            if type(item) is not str:
                is_plain &= _refuse_inexact(item, depth + 1)
            is_plain &= name.isascii()
        return is_plain
    raise NotStrictJson(f"{type(value).__name__} can't be recorded")
