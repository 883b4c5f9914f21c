"""Torque wrenches: what a class may be off, where it measures, when it is due.

ISO 6789-1:2017, from memory (tables of the maximum permissible deviation, and
the clause on conformance during use).  The limit between the two deviations is
taken at the torque itself, which is never the more lenient reading: a reading
of 10 N·m or less is believed to 6 % only, whatever the wrench could also do.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Mapping

from shared_models.calculations.torque.units import Figure, figure_of, positive
from shared_models.quantities.refusals import Refusal

#: Recheck where the user has no rule of their own (ISO 6789-1:2017, from
#: memory); also after overload, damage, repair or a failed check.
MONTHS_BETWEEN_CALIBRATIONS = 12
CYCLES_BETWEEN_CALIBRATIONS = 5000
#: Up to this torque in N·m the wider deviation holds, itself included.
WIDER_UP_TO_NM = Fraction(10)
WIDER_PERCENT = Fraction(6)
NARROWER_PERCENT = Fraction(4)

#: Class -> (percent up to 10 N·m, percent above).  Type I indicates the torque
#: while it is applied, type II gives way at the torque it is set to.
CLASSES: Mapping[str, tuple[Fraction, Fraction]] = {
    "1a": (WIDER_PERCENT, WIDER_PERCENT),
    "1b": (WIDER_PERCENT, NARROWER_PERCENT),
    "1c": (WIDER_PERCENT, NARROWER_PERCENT),
    "1d": (WIDER_PERCENT, WIDER_PERCENT),
    "1e": (WIDER_PERCENT, NARROWER_PERCENT),
    "2a": (WIDER_PERCENT, NARROWER_PERCENT),
    "2b": (WIDER_PERCENT, NARROWER_PERCENT),
    "2c": (WIDER_PERCENT, NARROWER_PERCENT),
    "2d": (WIDER_PERCENT, WIDER_PERCENT),
    "2e": (WIDER_PERCENT, WIDER_PERCENT),
    "2f": (WIDER_PERCENT, WIDER_PERCENT),
    "2g": (WIDER_PERCENT, WIDER_PERCENT),
}


def permissible_percent(wrench_class: str, torque_nm: Figure) -> Fraction:
    """Return the largest deviation in percent that a wrench of a class may show.

    Raises Refusal ``wrench_class_unknown``.
    """
    if wrench_class not in CLASSES:
        raise Refusal("wrench_class_unknown", value=str(wrench_class)[:40], known=", ".join(CLASSES))
    low, high = CLASSES[wrench_class]
    return low if positive(torque_nm, "torque") <= WIDER_UP_TO_NM else high


def permissible_nm(wrench_class: str, torque_nm: Figure) -> Fraction:
    """Return the same as a torque: by so many N·m a reading may be wrong."""
    return positive(torque_nm, "torque") * permissible_percent(wrench_class, torque_nm) / 100


def deviation_percent(wrench_nm: Figure, reference_nm: Figure) -> Fraction:
    """Return the deviation of a wrench in percent of the reference it was held against.

    100·(wrench − reference)/reference, wrench being what it showed or was set
    to (ISO 6789-1:2017, from memory).  Plus: the wrench claims more than there is.
    """
    reference = positive(reference_nm, "reference")
    return 100 * (positive(wrench_nm, "wrench") - reference) / reference


def within_range(setting: Figure, lowest: Figure, highest: Figure) -> bool:
    """Tell whether a setting lies on the wrench's scale; all three in one unit.

    The scale begins at its lowest marked value (ISO 6789-1:2017).  Raises
    Refusal ``wrench_range_turned`` when the range does not run upwards.
    """
    low, high = figure_of(lowest, "wrench, lowest"), positive(highest, "wrench, highest")
    if not 0 <= low < high:
        raise Refusal("wrench_range_turned", lowest=str(lowest)[:40], highest=str(highest)[:40])
    return low <= positive(setting, "setting") <= high


def months_between(earlier: str, later: date) -> int:
    """Return the whole months from an ISO date to a day, negative when ahead.

    Raises ValueError when ``earlier`` is no ISO date.
    """
    start = date.fromisoformat(earlier)
    if start > later:
        return -1
    months = (later.year - start.year) * 12 + later.month - start.month
    return months - (1 if later.day < start.day else 0)


def calibration_due(months: int, cycles: int | None = None) -> str:
    """Return why a wrench is due: ``months``, ``cycles``, or '' while it is not.

    ``cycles`` are tightenings since calibration, None where nobody counts them.
    Raises Refusal ``torque_figure_impossible`` for a count below 0.
    """
    if months < 0 or (cycles is not None and cycles < 0):
        raise Refusal("torque_figure_impossible", field="calibration age", value=f"{months}, {cycles}")
    if months >= MONTHS_BETWEEN_CALIBRATIONS:
        return "months"
    return "cycles" if cycles is not None and cycles >= CYCLES_BETWEEN_CALIBRATIONS else ""
