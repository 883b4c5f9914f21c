"""Units of the edition that are words, for the catalogue: a unit is said by ``spoken(unit)``, a symbol stays as it is."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Callable, Mapping

from shared_models.language import PhraseRow, counted

WORDS = PhraseRow(("entries", "falls", "of 10", "pixels", "points", "steps", "times"))

#: Units of adjusters that sheets write in the plural, said for a number of them.
_COUNTED: Mapping[str, Callable[[int], str]] = {
    "clicks": lambda number: counted("click", "clicks", number),
    "marks": lambda number: counted("mark", "marks", number),
    "turns": lambda number: counted("turn", "turns", number),
}


def unit_behind(figure: object, unit: str) -> str:
    """Return a component sheet's unit as it stands behind a figure: '1 click', '2 clicks'.

    ``figure`` is as recorded, with a point; what is none takes the plural.
    A unit that is not counted, such as a symbol or a word of the clinic's own, stays as the sheet writes it.
    """
    said = _COUNTED.get(unit)
    if said is None:
        return unit
    try:
        amount = Decimal(str(figure))
    except InvalidOperation:  # not known yet
        return said(2)
    # A part of one takes the plural, as in '0.5 turns'.
    return said(int(amount) if amount == amount.to_integral_value() else 2)
