"""Rows as CSV (RFC 4180), so that neither a program nor a spreadsheet reads them wrongly."""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from typing import Iterable, Sequence


def csv_bytes(columns: Sequence[str], rows: Iterable[Sequence[str | Decimal]]) -> bytes:
    """Return rows as UTF-8 with a mark at its start, by which a spreadsheet knows it.

    A Decimal is written as a figure, with its sign and every digit; any text as `harmless` text.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    for row in rows:
        writer.writerow([f"{cell:f}" if isinstance(cell, Decimal) else harmless(cell) for cell in row])
    return ("\ufeff" + out.getvalue()).encode()


def harmless(text: str) -> str:
    """A spreadsheet takes a text that begins so for a formula; a quote before it keeps it a text."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r", "\n") else text
