"""Arabic letters joined as they are written, from the standard library's own tables.

Unicode's presentation forms name for each letter its shape alone, at the
beginning, in the middle and at the end; the letters' joining follows from which
of these exist.  Letters without such forms are told by `unjoined`.  Order from
right to left is fpdf2's own reading of the Unicode Bidirectional Algorithm.
Paper and screen take both from here; what is kept stays as it was typed.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

_SHAPES = ("isolated", "initial", "medial", "final")
#: Presentation Forms-B, and of Forms-A the single letters of Persian, Urdu and others.
_FORMS = (*range(0xFE70, 0xFEFD), *range(0xFB50, 0xFC00))
_FORMS_B = 0xFE70
_TATWEEL = "\u0640"


@lru_cache(maxsize=1)
def _forms() -> dict[str, dict[str, str]]:
    """Letters, or lam with alef behind it, to their shapes."""
    found: dict[str, dict[str, str]] = {}
    for code in _FORMS:
        tag, *codes = unicodedata.decomposition(chr(code)).split() or [""]
        shape, letters = tag.strip("<>"), "".join(chr(int(c, 16)) for c in codes)
        if shape in _SHAPES and letters and not letters.startswith((" ", _TATWEEL)) and (code >= _FORMS_B or len(letters) == 1):
            found.setdefault(letters, {})[shape] = chr(code)
    return found


def joined(text: str) -> str:
    """Return a text in reading order with each Arabic letter in the shape its neighbours ask for."""
    forms, units = _forms(), _units(text)
    shaped = []
    for n, unit in enumerate(units):
        own = forms.get(unit)
        if own is None:
            shaped.append(unit)
            continue
        before = n > 0 and _joins_on(units[n - 1])
        behind = _joins_on(unit) and n + 1 < len(units) and _takes(units[n + 1])
        before = before and "final" in own
        shape = "medial" if before and behind else "final" if before else "initial" if behind else "isolated"
        shaped.append(own.get(shape) or own.get("isolated") or unit)
    return "".join(shaped)


def _units(text: str) -> list[str]:
    """Letters, with lam and alef taken together as they are written."""
    units: list[str] = []
    for character in text:
        if units and units[-1] + character in _forms():
            units[-1] += character
        else:
            units.append(character)
    return units


def _joins_on(unit: str) -> bool:
    """Whether a letter joins the one behind it."""
    return unit == _TATWEEL or "initial" in _forms().get(unit, {})


def _takes(unit: str) -> bool:
    """Whether a letter can be joined by the one before it."""
    return unit == _TATWEEL or "final" in _forms().get(unit, {})


def unjoined(text: str) -> str:
    """Return the characters whose shape or place can't be had here: they would be printed wrongly.

    Letters of Arabic that have no presentation form, and marks that are set over
    or under a letter of any script and have no letter of their own with it.
    """
    forms, found = _forms(), []
    for character in unicodedata.normalize("NFC", text):
        joins = unicodedata.bidirectional(character) == "AL" and unicodedata.category(character) == "Lo"
        if (joins and character not in forms and character not in _own_shapes()) or unicodedata.combining(character):
            found.append(character)
    return "".join(dict.fromkeys(found))


@lru_cache(maxsize=1)
def _own_shapes() -> frozenset[str]:
    """Presentation forms themselves, which are joined already."""
    return frozenset(chr(code) for code in _FORMS)


def runs_right_to_left(text: str) -> bool:
    """Whether any part of a text is written from right to left."""
    return not text.isascii() and any(unicodedata.bidirectional(c) in ("R", "AL", "AN") for c in text)


def begins_right_to_left(text: str) -> bool:
    """Whether the first letter that has a direction is written from right to left."""
    return next((d != "L" for d in map(unicodedata.bidirectional, text) if d in ("L", "R", "AL")), False)


def as_written(text: str) -> str:
    """Return one line of a text joined, and in the order in which it stands from left to right.

    Marks that only steer the order are gone: they have done so.
    """
    shaped = joined(unicodedata.normalize("NFC", text))
    if runs_right_to_left(shaped):
        # Imported here, so that whoever has no such name does not wait for it.
        from fpdf.bidi import BidiParagraph

        shaped = BidiParagraph(text=shaped).get_reordered_string()
    return "".join(c for c in shaped if unicodedata.category(c) != "Cf")
