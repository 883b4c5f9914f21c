"""Which characters a typeface has a glyph for: what it lacks would be drawn as an empty box."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from pathlib import Path

from kivy.core.text import Label as CoreLabel

from mobile.widgets.fonts import MAIN, covered_by_main, covered_code_points

#: Line ends, joiners and marks of direction are acted on, never drawn.
_NOT_DRAWN = {"Cc", "Cf", "Zl", "Zp"}


def lacking(text: str, font_name: str) -> str:
    """Return the characters of a text that a font can't draw, each once."""
    covered = _covered(font_name)
    return "".join(dict.fromkeys(
        c for c in text if ord(c) not in covered and unicodedata.category(c) not in _NOT_DRAWN
    ))


@lru_cache(maxsize=16)
def _covered(font_name: str) -> frozenset[int]:
    if font_name == MAIN:
        return covered_by_main()
    label = CoreLabel(text=" ", font_name=font_name)
    label.resolve_font_name()
    return covered_code_points(Path(label.options["font_name_r"]))
