"""What has drifted: how the leg was found at a visit, against how it was left last time."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.checks.rules_alignment import HEIGHT_TOLERANCE_MM
from shared_models.checks.torque_reading import at_the_screw_nm
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView, PlacedScrew
from shared_models.quantities.amounts import amount_from

#: Where the load line, and the height, was read last, the latest in a fitting first.
_LINES = ("alignment/closing", "alignment/recheck", "alignment/static", "alignment/found")
_HEIGHTS = ("alignment/recheck", "alignment/static", "alignment/found")
LOAD_LINE, HEIGHT = "load_line_offset_mm", "height_difference_mm"


@dataclass(frozen=True)
class Drift:
    """One figure as it was left, as it was found, and as it is left now; None where not recorded.

    ``slot`` is where it was found; ``tolerance`` is how far it may lie off
    without having drifted; ``unit`` as on the sheet.
    """

    slot: str
    name: str
    unit: str
    left: Decimal | None
    found: Decimal | None
    now: Decimal | None
    tolerance: Decimal | None
    is_position: bool = False

    @property
    def difference(self) -> Decimal | None:
        """Found less left; None where one of the two is not there."""
        return None if self.left is None or self.found is None else self.found - self.left

    @property
    def has_drifted(self) -> bool:
        """Whether the difference is more than the tolerance; a position at one step counts."""
        if self.difference is None or self.tolerance is None:
            return False
        off = abs(self.difference)
        return off >= self.tolerance if self.is_position else off > self.tolerance


def drifts(view: FittingView) -> list[Drift]:
    """Return every figure that a visit compares; [] for a first fitting."""
    if view.former is None:
        return []
    found = [d for f in FUNCTIONS if (d := drift_of_setting(view, f))]
    return [*found, *drifts_of_alignment(view), *(drift_of_torque(view, s) for s in view.screws())]


def drift_of_setting(view: FittingView, function: str) -> Drift | None:
    """Compare one adjuster; None where the knee has none, or is another one.

    Less than the sheet's smallest step is the same position: nobody sets it finer.
    """
    adjuster = view.adjuster(function)
    if adjuster is None or "knee" in view.exchanged:
        return None
    left = next((p for v in _before(view) if (p := v.settings().get(function)) is not None), None)
    return Drift(
        f"found/{function}", adjuster.name, adjuster.unit, amount_from(left),
        amount_from(view.value(f"found/{function}", "position")),
        amount_from(view.value(f"setting/{function}", "position")), adjuster.smallest_step, is_position=True,
    )


def drifts_of_alignment(view: FittingView) -> list[Drift]:
    """Compare load line (the sheet's tolerance) and height (Friberg 1984: 10 mm is borne)."""
    knee = view.sheets().get("knee")
    line = knee.alignment.get("load_line_tolerance_mm") if knee else None
    return [
        Drift(
            "alignment/found", name, "mm", _left(view, slots, field),
            amount_from(view.value("alignment/found", field)), _first(view, slots[:-1], field), tolerance,
        )
        for name, slots, field, tolerance in (
            ("Load line", _LINES, LOAD_LINE, line), ("Height", _HEIGHTS, HEIGHT, HEIGHT_TOLERANCE_MM),
        )
    ]


def drift_of_torque(view: FittingView, screw: PlacedScrew) -> Drift:
    """Compare one screw; the sheet's window about its final figure is the tolerance."""
    lowest, highest = screw.screw.window_nm(True)
    last = last_torque(view, screw)
    return Drift(
        f"torque_check/{screw.key}", screw.screw.name, "N·m", at_the_screw_nm(last.body) if last else None,
        _torque(view, f"torque_check/{screw.key}"), _torque(view, f"torque_final/{screw.key}"), (highest - lowest) / 2,
    )


def last_torque(view: FittingView, screw: PlacedScrew) -> Entry | None:
    """Return the last torque, final or re-checked, of a screw before this visit; None where its part is new."""
    if screw.place in view.exchanged:
        return None
    for before in _before(view):
        for slot in (f"torque_final/{screw.key}", f"torque_check/{screw.key}"):
            if _torque(before, slot) is not None:
                return before.head(slot)
        if screw.place in before.exchanged:
            break
    return None


def _torque(view: FittingView, slot: str) -> Decimal | None:
    head = view.head(slot)
    return at_the_screw_nm(head.body) if head else None


def _before(view: FittingView) -> list[FittingView]:
    """The visits before this one, the last one first."""
    found, before = [], view.former
    while before is not None:
        found.append(before)
        before = before.former
    return found


def _left(view: FittingView, slots: tuple[str, ...], field: str) -> Decimal | None:
    return next((a for v in _before(view) if (a := _first(v, slots, field)) is not None), None)


def _first(view: FittingView, slots: tuple[str, ...], field: str) -> Decimal | None:
    return next((a for s in slots if (a := amount_from(view.value(s, field))) is not None), None)


def mass_last_time(view: FittingView) -> Entry | None:
    """Return the body mass recorded before this visit."""
    return next((e for v in _before(view) if (e := v.head("body")) is not None), None)
