"""What a torque entry says: the wrench's reading, and the true torque behind it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Mapping

from shared_models.calculations.torque import (
    from_nm,
    setting_for,
    shown,
    to_nm,
    torque_behind,
    unit_key,
    unit_shown,
)
from shared_models.checks.as_typed import AS_TYPED, typed_words, without
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.refusals import Refusal
from shared_models.quantities.units import rounded, split_unit, typed_from

NEWTON_METRES = "n_m"
READING, TYPED = "reading_nm", "reading_as_typed"
#: A reading in another unit is recorded in N·m too, to so many places.
PLACES = 4


@dataclass(frozen=True)
class TorqueReading:
    """One body of `torque_interim`, `torque_final` or `torque_check`, read.

    ``reading_nm``: what the wrench showed, exactly from the unit it was typed
    in; None when none is recorded.  ``unit``: what the wrench shows.
    ``extension_mm`` None without one.  ``true_nm``: the torque at the screw;
    None when it can't be told, ``trouble`` then says why where that is a
    refusal, and ``lacks_grip`` when only the wrench's length is missing.
    """

    reading_nm: Fraction | None
    unit: str = NEWTON_METRES
    extension_mm: Fraction | None = None
    grip_mm: Fraction | None = None
    angle_deg: Fraction = Fraction(0)
    true_nm: Fraction | None = None
    trouble: Refusal | None = None

    @property
    def is_extended(self) -> bool:
        """Whether an extension changes what the wrench shows."""
        return bool(self.extension_mm)

    @property
    def lacks_grip(self) -> bool:
        """Whether the length of the wrench is missing to allow for the extension."""
        return self.is_extended and self.grip_mm is None

    def setting_nm(self, wanted_nm: Fraction) -> Fraction | None:
        """Return what the wrench has to show for a wanted torque; None when not known.

        Raises Refusal for an extension that can't be.
        """
        if not self.is_extended:
            return wanted_nm
        if self.grip_mm is None:
            return None
        return setting_for(wanted_nm, self.grip_mm, self.extension_mm, self.angle_deg)

    def setting(self, wanted_nm: Fraction) -> Fraction | None:
        """Return the same in the wrench's own unit."""
        setting = self.setting_nm(wanted_nm)
        return None if setting is None else from_nm(setting, self.unit)


def torque_reading(body: Mapping[str, Any]) -> TorqueReading:
    """Read a body; what is missing or can't be read is None, nothing is raised."""
    unit = str(body.get("reading_unit") or NEWTON_METRES)
    typed = _amount(body, "reading_as_typed")
    extension, grip = _amount(body, "extension_mm"), _amount(body, "grip_mm")
    angle = _amount(body, "extension_angle_deg") or Fraction(0)
    trouble, reading, true = None, _amount(body, "reading_nm"), None
    try:
        if typed is not None and unit != NEWTON_METRES:
            reading = to_nm(typed, unit)
        if reading is not None and not extension:
            true = reading
        elif reading is not None and grip is not None:
            true = torque_behind(reading, grip, extension, angle)
    except Refusal as refusal:
        trouble = refusal
    return TorqueReading(reading, unit, extension, grip, angle, true, trouble)


def at_the_screw_nm(body: Mapping[str, Any]) -> Decimal | None:
    """Return the torque at the screw, behind an extension too; None where it can't be told."""
    read = torque_reading(body)
    if not read.is_extended:
        return amount_from(body.get(READING))
    return None if read.true_nm is None else Decimal(shown(read.true_nm, 2))


def in_wrench_unit(body: Mapping[str, Any]) -> dict[str, Any]:
    """Return a body whose reading, typed with its unit, is stated as every reading in that unit is.

    A unit behind the figure says what the wrench shows, so it becomes the
    reading's unit: ``62 in-lb`` is 62 with ``reading_unit`` lbf·in, and
    ``reading_nm`` follows from it.
    """
    words = typed_words(body, TYPED) or typed_words(body, READING)
    typed = typed_from(words) if words else None
    unit = unit_key(typed.unit) if typed else ""
    if typed is None or not unit:
        return dict(body)
    found = {**_range_in(without(body, (READING, TYPED)), unit), "reading_unit": unit}
    digits = split_unit(words)[0].replace(",", ".").lstrip("+")
    if unit == NEWTON_METRES:
        return {**found, READING: digits}
    return {**found, TYPED: digits, READING: shown(to_nm(typed.exact, unit), PLACES)}


def _range_in(body: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """Return a body whose wrench's range is stated in another unit, beside what was typed."""
    was, now = unit_shown(str(body.get("reading_unit") or NEWTON_METRES)), unit_shown(unit)
    found, as_typed = dict(body), dict(body.get(AS_TYPED) or {})
    for key in ("wrench_lowest", "wrench_highest"):
        words = typed_words(body, key) or f"{body.get(key)} {was}"
        typed = typed_from(words)
        if body.get(key) and typed is not None and was != now:
            found[key], as_typed[key] = rounded(typed.into(now)), words
    return {**found, AS_TYPED: as_typed} if as_typed else found


def _amount(body: Mapping[str, Any], key: str) -> Fraction | None:
    amount = amount_from(body.get(key))
    return None if amount is None else Fraction(amount)
