"""How figures of alignment are written, and what one note is."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.language import decimal_sign, number_words

INFO, DOUBT = "info", "doubt"
#: What a note is about: the line and what moves it, or the rest of standing.
LINE, STANDING = "line", "standing"


@dataclass(frozen=True)
class Note:
    """One thing to say beside a reading: ``kind`` info or doubt, its heart, and the rest.

    ``about``: the line or the rest of standing, so that it can stand by its fields.
    """

    kind: str
    lead: str
    text: str = ""
    about: str = LINE

    @property
    def sentence(self) -> str:
        """Both parts as one text."""
        return f"{self.lead} {self.text}".strip()


def tenth(value: float) -> str:
    """Return a figure to one decimal place as its reader writes it; a negative zero is zero."""
    return number_words(round(value, 1) + 0.0, ".1f")


def plain(value: float) -> str:
    """Return a figure to one decimal place, without a needless nought."""
    return tenth(value).removesuffix(f"{decimal_sign()}0")


def plus_minus(value: float, half: float | None, unit: str) -> str:
    """Return a figure with the half width of its interval, as far as there is one."""
    return f"{tenth(value)} ± {tenth(half)} {unit}" if half is not None else f"{plain(value)} {unit}"
