"""A one-time code as a QR symbol, for a scanner that types into the tablet's field.

The symbol holds the code alone: in the tablet's form, address and code are two fields, and not every
scanner can be told to go from one to the next. Capitals, figures and hyphens are QR's alphanumeric
mode, and no keyboard layout of a scanner changes the capitals and figures.
"""

from __future__ import annotations

from dataclasses import dataclass

#: The empty border around a symbol, in modules (ISO/IEC 18004: four).
QUIET_MODULES = 4


@dataclass(frozen=True)
class ScannedCode:
    """A drawn code: its letters, its side with the border (modules), and the dark modules as an SVG path.

    ``path`` is empty where the drawing library is not installed; the letters are enough by themselves.
    """

    code: str
    side_modules: int
    path: str


def scanned_code(code: str) -> ScannedCode:
    """Return the QR symbol (ISO/IEC 18004, a quarter of it may be unreadable) of a one-time code."""
    try:
        import segno  # here: a server that was renewed without it still starts, and still gives codes
    except ImportError:
        return ScannedCode(code, 0, "")
    rows = [bytes(row) for row in segno.make_qr(code, error="q").matrix]
    return ScannedCode(code, len(rows) + 2 * QUIET_MODULES, _path(rows))


def _path(rows: list[bytes]) -> str:
    """Each run of dark modules in a row as one rectangle."""
    drawn = []
    for down, row in enumerate(rows, QUIET_MODULES):
        at = 0
        while (begin := row.find(1, at)) >= 0:
            end = row.find(0, begin)
            at = end if end >= 0 else len(row)
            drawn.append(f"M{begin + QUIET_MODULES} {down}h{at - begin}v1h-{at - begin}z")
    return "".join(drawn)
