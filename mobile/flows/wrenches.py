"""The clinic's torque wrenches: every one that was recorded, with its calibration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from shared_models.checks.rules_torque import calibration_state
from shared_models.entries.record import Record
from shared_models.quantities.amounts import amount_from

KINDS = ("torque_interim", "torque_final", "torque_check")


@dataclass(frozen=True)
class Wrench:
    """One wrench by its name; ``calibrated_on`` '' where nobody recorded it.

    ``state``: in_date, due_soon, out_of_date, or '' where it can't be told.
    """

    name: str
    calibrated_on: str
    state: str


def key_of(name: str) -> str:
    """Return what two spellings of one wrench's name have in common."""
    return name.strip().casefold()


def wrenches(record: Record, day: date) -> list[Wrench]:
    """Return every wrench that the clinic's record names, the one used last first."""
    used = [e for e in record.entries.values() if e.kind in KINDS and key_of(str(e.body.get("wrench") or ""))]
    names: dict[str, str] = {}
    dates: dict[str, str] = {}
    cycles: dict[str, int | None] = {}
    for entry in sorted(used, key=lambda e: e.order, reverse=True):
        key = key_of(str(entry.body["wrench"]))
        names.setdefault(key, str(entry.body["wrench"]).strip())
        calibrated = entry.body.get("wrench_calibrated_on")
        if calibrated and key not in dates:
            dates[key] = str(calibrated)
            count = amount_from(entry.body.get("wrench_cycles"))
            cycles[key] = None if count is None else int(count)
    return [
        Wrench(name, dates.get(key, ""), calibration_state(dates.get(key, ""), day, cycles.get(key)))
        for key, name in names.items()
    ]
