"""Rows as CSV (RFC 4180), so that neither a program nor a spreadsheet reads them wrongly."""

from __future__ import annotations

import csv
import io
import re
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


#: Where a cell begins for a spreadsheet: in the language of many a clinic it parts
#: cells at semicolons, wherever they stand, or at tabs and ends of lines.
_BEGINS_A_FORMULA = re.compile(r"(\A|[;\t\r\n])(?=-| *[=+@])")


def harmless(text: str) -> str:
    """A spreadsheet takes a cell that begins so for a formula; a quote before it keeps it a text."""
    kept = _BEGINS_A_FORMULA.sub(lambda begins: begins[0] + "'", text)
    return f"'{kept}" if kept.startswith(("\t", "\r", "\n")) else kept
