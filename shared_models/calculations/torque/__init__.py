"""Torque: units, wrenches, extensions, order and locking; figures in, figures out.

Torques are exact fractions of newton metres (`units`), so that a reading in
another unit meets a limit of the sheet without rounding in between.  What
cannot be is refused by `checked_nm` and the functions that use it.
"""

from __future__ import annotations

from shared_models.calculations.torque.extension import setting_for, torque_behind
from shared_models.calculations.torque.locking import Cure, cure_of
from shared_models.calculations.torque.order import Place, crosswise, skipped_before
from shared_models.calculations.torque.reading import Judged, compare
from shared_models.calculations.torque.units import UNITS, from_nm, shown, to_nm, unit_key, unit_shown
from shared_models.calculations.torque.wrench import (
    CLASSES,
    CYCLES_BETWEEN_CALIBRATIONS,
    MONTHS_BETWEEN_CALIBRATIONS,
    calibration_due,
    deviation_percent,
    months_between,
    permissible_nm,
    permissible_percent,
    within_range,
)

__all__ = [
    "CLASSES", "CYCLES_BETWEEN_CALIBRATIONS", "Cure", "Judged", "MONTHS_BETWEEN_CALIBRATIONS",
    "Place", "UNITS", "calibration_due", "compare", "crosswise", "cure_of",
    "deviation_percent", "from_nm", "months_between", "permissible_nm", "permissible_percent",
    "setting_for", "shown", "skipped_before", "to_nm", "torque_behind", "unit_key",
    "unit_shown", "within_range",
]
