"""The typefaces of the papers, which characters they have, and the order in which a text is printed."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import as_file, files
from pathlib import Path

from typing import TYPE_CHECKING

from shared_models.papers.joining import as_written, unjoined

if TYPE_CHECKING:
    from fpdf import FPDF

MAIN, FALLBACK = "B612", "DejaVuSans"
_FILES = {(MAIN, ""): "B612-Regular.ttf", (MAIN, "B"): "B612-Bold.ttf", (FALLBACK, ""): "DejaVuSans.ttf"}
_PLAIN = frozenset(chr(code) for code in (*range(0x20, 0x7F), *range(0xA0, 0x100)))


def font_file(name: str) -> Path:
    """Return where a typeface lies, as a file."""
    with as_file(files("shared_models.papers") / "fonts" / name) as path:
        return path


def add_faces(pdf: "FPDF") -> None:
    """Give a paper its typefaces: B612, and DejaVu Sans for what that lacks."""
    for (family, style), name in _FILES.items():
        pdf.add_font(family, style, str(font_file(name)))
    # Without exact_match=False bold text would lose what only the fallback has.
    pdf.set_fallback_fonts([FALLBACK], exact_match=False)


@lru_cache(maxsize=1)
def _covered() -> frozenset[str]:
    """Every character that one of the faces has a glyph for."""
    # Imported here and below, so that whoever only shows a sheet does not wait for it.
    from fontTools.ttLib import TTFont

    codes: set[int] = set()
    for name in ("B612-Regular.ttf", "DejaVuSans.ttf"):
        with TTFont(font_file(name), lazy=True) as font:
            codes |= set(font.getBestCmap())
    return frozenset(chr(code) for code in codes)


@dataclass(frozen=True)
class Printable:
    """A text as it is printed, left to right; ``lacking`` are characters that can't be printed rightly."""

    text: str
    lacking: str = ""

    @property
    def scripts(self) -> str:
        """Name the writings of what is lacking: 'Thai', 'Arabic, Devanagari'."""
        names = (unicodedata.name(c, "UNKNOWN").split(" ")[0].capitalize() for c in self.lacking)
        return ", ".join(dict.fromkeys(names))


def printable(text: str) -> Printable:
    """Return a text with its letters joined and in the order in which they stand on paper.

    Control characters and line ends become spaces.
    """
    if _PLAIN.issuperset(text):
        return Printable(text)
    clean = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in unicodedata.normalize("NFC", text))
    lacking = unjoined(clean)
    shaped = as_written(clean)
    lacking += "".join(c for c in dict.fromkeys(shaped) if c not in _PLAIN and c not in _covered())
    return Printable(shaped, "".join(dict.fromkeys(lacking)))
