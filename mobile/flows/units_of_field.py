"""Which units a figure's field offers, and how a typed text is parted into figure and unit."""

from __future__ import annotations

import re
from dataclasses import replace

from shared_models.catalogue.edition import Field
from shared_models.checks.entering import Limits, limits_in
from shared_models.checks.torque_reading import READING
from shared_models.quantities.units import CUSTOMARY, split_unit, typed_from, unit_from

#: Steps that one press takes in a unit, where the edition states them in the metric one.
_STEPS = {"lb": ("5", "1"), "in": ("0.5", "0.1"), "ft": ("5", "1"), "lbf": ("5", "1")}
_PLAIN = re.compile(r"[+-]?\d*([.,]\d*)?")


def units_of(field: Field, limits: Limits) -> list[str]:
    """Return the units that one key changes between, the record's own first; [] where there is one only.

    What the part or the wrench counts in is not chosen by the field.
    """
    counted_elsewhere = field.key == READING or field.unit.startswith("@")
    if field.type != "amount" or limits.whole or counted_elsewhere or limits.unit not in CUSTOMARY:
        return []
    return [limits.unit, CUSTOMARY[limits.unit]]


def limits_shown(limits: Limits, unit: str) -> Limits:
    """Return limits and steps as they stand beside a figure in the unit in hand."""
    if not unit or unit == limits.unit:
        return limits
    return replace(limits_in(limits, unit), steps=_STEPS.get(unit, ()))


def begins_in(units: list[str], pounds_first: bool) -> str:
    """Return the unit that an empty field offers first."""
    return units[-1 if pounds_first else 0] if units else ""


def parted(typed: str, units: list[str], pounds_first: bool = False) -> tuple[str, str]:
    """Return (figure, unit) of what stands in a field; a text that is no plain figure stays whole.

    ``5 ft 11 in`` says its units itself and stays as it is.
    """
    if not typed or not units:
        return typed, begins_in(units, pounds_first)
    figure, written = split_unit(typed)
    if written and _PLAIN.fullmatch(figure) and unit_from(written) in units:
        return figure, unit_from(written)
    return typed, units[0]


def as_in_unit(as_typed: str, unit: str) -> str:
    """Return the figure of what was typed, where it was typed in this unit; '' otherwise."""
    typed = typed_from(as_typed) if as_typed else None
    figure, written = split_unit(as_typed)
    plain = _PLAIN.fullmatch(figure) and unit_from(written) == unit
    return figure if typed is not None and typed.unit == unit and plain else ""
