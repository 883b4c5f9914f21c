"""Units of torque, exactly: newton metres as fractions.

The factors are those of `quantities.units`; the keys here are those of the
edition's choice ``torque_unit``.
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import Mapping

from shared_models.quantities.refusals import Refusal
from shared_models.quantities.units import FAMILIES

#: Key -> unit as it is shown.
_SHOWN = {"n_m": "N·m", "lbf_in": "lbf·in", "lbf_ft": "lbf·ft", "kgf_cm": "kgf·cm"}
#: Newton metres in one unit, exactly; the keys are those of the edition's units.
UNITS: Mapping[str, Fraction] = {key: FAMILIES["torque"][words] for key, words in _SHOWN.items()}

Figure = Fraction | Decimal | int | float | str


def figure_of(value: Figure, field: str) -> Fraction:
    """Return a figure exactly; refuse what is none, with the field's name.

    Raises Refusal ``torque_figure_impossible`` for NaN, infinity and text that
    states no figure.
    """
    try:
        if isinstance(value, float) and not math.isfinite(value):
            raise ValueError(value)
        return Fraction(value)
    except (ValueError, OverflowError, TypeError, ZeroDivisionError):
        raise Refusal("torque_figure_impossible", field=field, value=str(value)[:40]) from None


def positive(value: Figure, field: str) -> Fraction:
    """Return a figure above 0; refuse any other (``torque_not_above_zero``)."""
    figure = figure_of(value, field)
    if figure <= 0:
        raise Refusal("torque_not_above_zero", field=field, value=str(value)[:40])
    return figure


def to_nm(amount: Figure, unit: str) -> Fraction:
    """Return an amount in ``unit`` as newton metres, exactly.

    Raises Refusal ``torque_unit_unknown`` for a unit that is not in `UNITS`,
    and ``torque_not_above_zero`` for a reading of nothing or less.
    """
    return positive(amount, "reading") * _unit(unit)


def from_nm(torque_nm: Figure, unit: str) -> Fraction:
    """Return newton metres as an amount in ``unit``, exactly."""
    return positive(torque_nm, "torque") / _unit(unit)


def unit_key(words: str) -> str:
    """Return the key of a unit as it is shown; '' for one that is none of torque."""
    return next((key for key, shown_as in _SHOWN.items() if shown_as == words), "")


def unit_shown(key: str) -> str:
    """Return a unit as people read it; '' for a key that is none."""
    return _SHOWN.get(key, "")


def _unit(unit: str) -> Fraction:
    if unit not in UNITS:
        raise Refusal("torque_unit_unknown", unit=str(unit)[:40], known=", ".join(UNITS))
    return UNITS[unit]


def shown(figure: Fraction, places: int = 3) -> str:
    """Return a figure for reading, rounded half to even, without a needless tail."""
    scaled = round(figure * 10**places)
    sign, digits = "-" if scaled < 0 else "", f"{abs(scaled):0{places + 1}d}"
    whole, tail = digits[: len(digits) - places], digits[len(digits) - places:].rstrip("0")
    return sign + whole + (f".{tail}" if tail else "")
