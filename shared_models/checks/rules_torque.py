"""Rules of screws and wrenches."""

from __future__ import annotations

from shared_models.calculations.torque import months_between
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import amount, rule
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of
from shared_models.quantities.moments import day_of

#: Recheck of a torque tool where the user has no rule: ISO 6789-1:2017, from memory.
WRENCH_MONTHS = 12


def _torque(view: FittingView, entry: Entry, slot: str, final: bool) -> list[Remark]:
    screw, reading = view.screw(str(entry.body.get("screw", ""))), amount(entry, "reading_nm")
    if screw is None:
        return [Remark("screw_not_in_chain", slot, entry.digest, {"screw": str(entry.body.get("screw", ""))})]
    lowest, highest = screw.screw.window_nm(final)
    if reading is None or lowest <= reading <= highest:
        return []
    return [Remark("torque_outside", slot, entry.digest, {
        "screw": screw.screw.name, "reading": text_of(reading), "lowest": text_of(lowest),
        "highest": text_of(highest), "off": text_of(lowest - reading if reading < lowest else reading - highest),
        "sense": "below" if reading < lowest else "above",
    })]


@rule
def torque_interim_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The interim torque lies in the sheet's window."""
    return _torque(view, entry, slot, final=False)


@rule
def torque_final_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The final torque lies in the sheet's window."""
    return _torque(view, entry, slot, final=True)


@rule
def locking_as_sheet(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The locking method is the one that the sheet states."""
    screw = view.screw(str(entry.body.get("screw", "")))
    if screw is None or entry.body.get("locking_method") == screw.screw.locking_method:
        return []
    return [Remark("locking_differs", slot, entry.digest, {"screw": screw.screw.name, "asked": screw.screw.locking_method})]


@rule
def wrench_in_calibration(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The wrench was calibrated not longer ago than its interval."""
    try:
        months = months_between(str(entry.body.get("wrench_calibrated_on", "")), day_of(entry.happened_at))
    except ValueError:
        return [Remark("field_missing", slot, entry.digest, {"field": "wrench_calibrated_on", "label": "Wrench calibrated on"})]
    figures = {"wrench": str(entry.body.get("wrench", "")), "date": str(entry.body.get("wrench_calibrated_on"))}
    if months < 0:
        return [Remark("calibration_ahead", slot, entry.digest, figures)]
    if months >= WRENCH_MONTHS:
        return [Remark("wrench_overdue", slot, entry.digest, figures)]
    return []
