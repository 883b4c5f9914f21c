"""Amounts: exact decimal figures, as text in every record.

A record may come from anywhere, so text that is no plain decimal figure is
read as no figure at all, never as NaN, infinity or a power of ten that would
fill the memory.
"""

from __future__ import annotations

import re
from decimal import Decimal

_PLAIN = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,9})?")


def amount_from(value: object) -> Decimal | None:
    """Return the figure that plain decimal text (or a whole number) states, else None."""
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        return None
    text = str(value)
    return Decimal(text) if _PLAIN.fullmatch(text) else None


def text_of(value: Decimal) -> str:
    """Return an amount as people read it, without a needless tail."""
    normal = value.normalize()
    return f"{normal:f}"
