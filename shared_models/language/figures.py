"""Figures as people read them: the one place that knows a language's decimal sign.

The record holds decimal text with a point, ``12.500``, which a German reader
takes for twelve thousand five hundred; so a figure is written for whoever reads
it with the sign of their language (``12,500``), from the Unicode CLDR by way of
Babel.  Thousands are never set apart: a point or a comma in a figure is always
its decimal sign.  It lives beside `spoken`, which puts figures into sentences.

What a text is, its kind decides and not its looks: a number is a figure; text
is one where it goes into a sentence under a name that holds figures
(`figures_read`) or where whoever shows it says so (`figure_said`).
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache
from typing import Any, Mapping

from shared_models.language.catalogues import MARKED, SOURCE
from shared_models.language.choosing import current_language

#: The sign of the marked language (Arabic decimal separator): a figure with a point in it went past this module.
MARKED_SIGN = "\N{ARABIC DECIMAL SEPARATOR}"
POINT = "."
_WRITTEN = re.compile(r"[+\-\N{MINUS SIGN}\N{PLUS-MINUS SIGN}]?[0-9]+\.[0-9]+")
#: Names under which sentences take what somebody typed or named, or what counts something else than an amount.
NO_FIGURES = frozenset({
    "address", "batch_number", "by", "clinic", "code", "component", "digest", "edition", "family_name", "file", "file_number", "folder",
    "given_name", "known", "lot", "lot_number", "name", "newest", "note", "other", "part_number", "product", "reason", "schema", "screw",
    "serial", "serial_number", "sheet", "tablet", "text", "told", "typed", "version", "who", "whom", "wrench",
})


def decimal_sign() -> str:
    """Return the decimal sign of whoever reads now."""
    return _sign(current_language())


# Babel is read when the first figure is shown, as for dates; English needs none.


@lru_cache(maxsize=None)
def _sign(code: str) -> str:
    if code == SOURCE:
        return POINT
    if code == MARKED:
        return MARKED_SIGN
    from babel import UnknownLocaleError
    from babel.numbers import get_decimal_symbol

    try:
        return get_decimal_symbol(code.replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        return POINT


def figure_said(figure: str | int | float | Decimal) -> str:
    """Return a figure as its reader writes it; text that is no plain figure stays as it is.

    Digits and places stay as they are: ``12.500`` is ``12,500`` in German.
    """
    text = f"{figure:f}" if isinstance(figure, Decimal) else str(figure)
    sign = decimal_sign()
    return text.replace(POINT, sign) if sign != POINT and _WRITTEN.fullmatch(text) else text


def number_words(number: float | Decimal, spec: str) -> str:
    """Return a number written by a format such as ``.2f`` or ``g``, as its reader writes it."""
    return format(number, spec).replace(POINT, decimal_sign())


def figure_read(name: str, value: Any) -> Any:
    """Return what goes into a sentence under ``name`` as its reader writes it; anything but a figure as it is."""
    if decimal_sign() == POINT:
        return value
    if isinstance(value, (float, Decimal)):
        return _Number(value)
    if isinstance(value, str) and name not in NO_FIGURES:
        return figure_said(value)
    return value


def figures_read(figures: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the figures of a sentence as its reader writes them, each when it is asked for."""
    return figures if decimal_sign() == POINT else _Read(figures)


class _Read(dict):
    """Figures by name as the reader writes them; what lacks is up to the mapping beneath."""

    def __init__(self, figures: Mapping[str, Any]) -> None:
        super().__init__()
        self._figures = figures

    def __missing__(self, name: str) -> Any:
        return figure_read(name, self._figures[name])


class _Number:
    """A number that is written with the reader's sign, whatever format its sentence asks for."""

    def __init__(self, number: float | Decimal) -> None:
        self._number = number

    def __format__(self, spec: str) -> str:
        return number_words(self._number, spec)

    def __str__(self) -> str:
        return number_words(self._number, "")
