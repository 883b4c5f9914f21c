"""What the look over a page found wrong."""

from __future__ import annotations

from typing import NamedTuple

CUT, OVERLAP, SMALL, FAINT, OUTSIDE, BOXES, WIDE, BROKEN = (
    "cut off", "overlapping", "too small", "too faint", "outside the window", "no glyph", "page too wide", "broken word",
)


class Finding(NamedTuple):
    """``what`` is one of the sorts above, ``where`` names the widget, ``figures`` says how far off it is."""

    what: str
    where: str
    figures: str

    def __str__(self) -> str:
        return f"{self.what}: {self.where} ({self.figures})"
