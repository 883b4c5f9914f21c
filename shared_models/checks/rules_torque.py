"""Rules of screws and wrenches: does the figure hold, and can the wrench tell."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from shared_models.calculations.torque import (
    CYCLES_BETWEEN_CALIBRATIONS,
    calibration_due,
    compare,
    months_between,
    permissible_percent,
    shown,
    within_range,
)
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import amount, rule
from shared_models.checks.torque_reading import (
    NEWTON_METRES,
    PLACES,
    TorqueReading,
    torque_reading,
)
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView, PlacedScrew
from shared_models.quantities.moments import day_of
from shared_models.quantities.refusals import Refusal

FINAL, CHECK = "torque_final", "torque_check"


def _screw(view: FittingView, entry: Entry) -> PlacedScrew | None:
    return view.screw(str(entry.body.get("screw", "")))


def _figure_nm(screw: PlacedScrew, entry: Entry) -> Fraction:
    """What the sheet asks at this stage, in N·m."""
    return Fraction(screw.screw.final_nm if entry.kind in (FINAL, CHECK) else screw.screw.interim_nm)


def _torque(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    screw, read = _screw(view, entry), torque_reading(entry.body)
    if screw is None:
        return [Remark("screw_not_in_chain", slot, entry.digest, {"screw": str(entry.body.get("screw", ""))})]
    if read.true_nm is None:
        return _not_known(entry, slot, read)
    figure = _figure_nm(screw, entry)
    judged = compare(read.true_nm, figure, screw.screw.tolerance_percent)
    if judged.is_within:
        return []
    figures = {
        "screw": screw.screw.name, "reading": shown(judged.torque_nm), "lowest": shown(judged.lowest_nm),
        "highest": shown(judged.highest_nm), "off": shown(abs(judged.off_nm), PLACES),
        "sense": "below" if judged.off_nm < 0 else "above",
    }
    if not read.is_extended:
        return [Remark("torque_outside", slot, entry.digest, figures)]
    more = {"read": shown(read.reading_nm), "setting": shown(read.setting(figure), 2), "unit": _unit(view, read)}
    return [Remark("torque_outside_with_extension", slot, entry.digest, {**figures, **more})]


def _not_known(entry: Entry, slot: str, read: TorqueReading) -> list[Remark]:
    """Why the true torque can't be told; a missing reading is said elsewhere."""
    if read.lacks_grip:
        return [Remark("extension_without_grip", slot, entry.digest, {"extension": shown(read.extension_mm)})]
    if read.trouble is not None:
        return [Remark("extension_unclear", slot, entry.digest, refused(read.trouble))]
    return []


def refused(refusal: Refusal) -> dict[str, str]:
    """Figures of a remark that passes on why something can't be: its code is worded with them."""
    return {"refused": refusal.code, **{name: str(value) for name, value in refusal.figures.items()}}


def _unit(view: FittingView, read: TorqueReading) -> str:
    return view.edition.words("torque_unit", read.unit)


@rule
def torque_interim_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The interim torque at the screw lies in the sheet's window."""
    return _torque(view, entry, slot)


@rule
def torque_final_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The final torque at the screw lies in the sheet's window."""
    return _torque(view, entry, slot)


@rule
def reading_agrees(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A reading in another unit is the same torque as the newton metres recorded beside it."""
    typed, recorded = amount(entry, "reading_as_typed"), amount(entry, "reading_nm")
    read = torque_reading(entry.body)
    if typed is None:
        return []
    if read.unit == NEWTON_METRES:
        if entry.body.get("reading_unit") and recorded == typed:
            return []
        return [Remark("reading_without_unit", slot, entry.digest, {"typed": str(typed)})]
    if recorded is None or read.reading_nm is None or round(read.reading_nm, PLACES) == recorded:
        return []
    return [Remark("reading_disagrees", slot, entry.digest, {
        "typed": str(typed), "unit": _unit(view, read), "converted": shown(read.reading_nm, PLACES),
        "recorded": str(recorded),
    })]


@rule
def locking_as_sheet(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The locking method is the one that the sheet states."""
    screw = _screw(view, entry)
    if screw is None or entry.body.get("locking_method") == screw.screw.locking_method:
        return []
    return [Remark("locking_differs", slot, entry.digest, {"screw": screw.screw.name, "asked": screw.screw.locking_method})]


IN_DATE, DUE_SOON, OUT_OF_DATE = "in_date", "due_soon", "out_of_date"
#: So many months, and so many uses, before a wrench is due it is said to be soon: common practice.
SOON_MONTHS, SOON_CYCLES = 1, 500


def calibration_state(calibrated_on: str, day: date, cycles: int | None = None) -> str:
    """Return whether a wrench is in date, due soon or out of date on a day.

    The same limits as `wrench_in_calibration`.  '' where it can't be told: no
    date, none that can be read, or one that lies ahead.
    """
    try:
        months = months_between(calibrated_on, day)
    except ValueError:
        return ""
    if months < 0:
        return ""
    if calibration_due(months, cycles):
        return OUT_OF_DATE
    soon = calibration_due(months + SOON_MONTHS, None if cycles is None else cycles + SOON_CYCLES)
    return DUE_SOON if soon else IN_DATE


@rule
def wrench_in_calibration(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The wrench was calibrated not longer ago, and used not more often, than its interval."""
    try:
        months = months_between(str(entry.body.get("wrench_calibrated_on", "")), day_of(entry.happened_at))
    except ValueError:
        return [Remark("field_missing", slot, entry.digest, {"field": "wrench_calibrated_on", "label": "Wrench calibrated on"})]
    figures = {"wrench": str(entry.body.get("wrench", "")), "date": str(entry.body.get("wrench_calibrated_on"))}
    if months < 0:
        return [Remark("calibration_ahead", slot, entry.digest, figures)]
    cycles = amount(entry, "wrench_cycles")
    due = calibration_due(months, None if cycles is None else int(cycles))
    if due == "months":
        return [Remark("wrench_overdue", slot, entry.digest, figures)]
    if due == "cycles":
        figures |= {"cycles": str(cycles), "most": str(CYCLES_BETWEEN_CALIBRATIONS)}
        return [Remark("wrench_many_cycles", slot, entry.digest, figures)]
    return []


@rule
def target_in_wrench_range(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """What the wrench has to show lies between its marks, extension and unit allowed for."""
    screw, read = _screw(view, entry), torque_reading(entry.body)
    lowest, highest = amount(entry, "wrench_lowest"), amount(entry, "wrench_highest")
    if screw is None or read.trouble or read.lacks_grip or (lowest is None and highest is None):
        return []
    try:
        setting = read.setting(_figure_nm(screw, entry))
        # Where only one end is known, the other one bounds nothing.
        bottom = Fraction(lowest or 0)
        inside = within_range(setting, bottom, setting + bottom + 1 if highest is None else highest)
    except Refusal as refusal:
        return [Remark("wrench_range_unclear", slot, entry.digest, refused(refusal))]
    if inside:
        return []
    return [Remark("wrench_out_of_range", slot, entry.digest, {
        "screw": screw.screw.name, "setting": shown(setting, 2), "unit": _unit(view, read),
        "wrench": str(entry.body.get("wrench", "")), "lowest": str(lowest if lowest is not None else "its lowest mark"),
        "highest": str(highest if highest is not None else "its highest mark"),
    })]


@rule
def wrench_fine_enough(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The sheet's window is not narrower than what a wrench of this class can tell."""
    screw, read = _screw(view, entry), torque_reading(entry.body)
    wrench_class = str(entry.body.get("wrench_class") or "")
    if screw is None or not wrench_class or read.trouble or read.lacks_grip:
        return []
    figure = _figure_nm(screw, entry)
    try:
        percent = permissible_percent(wrench_class, read.setting_nm(figure))
    except Refusal as refusal:
        return [Remark("wrench_range_unclear", slot, entry.digest, refused(refusal))]
    slack = figure * Fraction(screw.screw.tolerance_percent) / 100
    may_be_off = figure * percent / 100
    if may_be_off <= slack:
        return []
    return [Remark("wrench_too_coarse", slot, entry.digest, {
        "screw": screw.screw.name, "figure": shown(figure), "slack": shown(slack), "percent": shown(percent),
        "may_be_off": shown(may_be_off), "class_words": view.edition.words("wrench_class", wrench_class),
    }, blocks=False)]
