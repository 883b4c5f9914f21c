"""A leg to rehearse on: it answers trials as an invented person would.

Each function has a hidden window of positions where it works well.  Outside it
the leg answers with the finding that belongs to the side missed, graded by how
far off it is.  It stands in for a person in rehearsals and tests; it is no
model of anybody.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Mapping

#: Below and above the window: which finding a trial of the function shows.
_ANSWERS = {
    "stance_threshold": ("damping_stays_in", "no_damping_when_loaded"),
    "swing_flexion": ("heel_rise_too_high", "heel_rise_too_low"),
    "swing_extension": ("terminal_impact", "extension_incomplete"),
    "stance_damping": ("drops_on_descent", "yields_too_slowly"),
}


@dataclass(frozen=True)
class RehearsalLeg:
    """Windows of good positions, by function: lowest and highest that work."""

    windows: Mapping[str, tuple[Decimal, Decimal]]
    marked_from: Decimal = Decimal(3)

    def answer(self, function: str, position: Decimal) -> list[dict[str, str]]:
        """Return the findings of a trial of a function at a position."""
        lowest, highest = self.windows[function]
        if lowest <= position <= highest:
            return []
        below = position < lowest
        off = lowest - position if below else position - highest
        grade = "marked" if off >= self.marked_from else "slight"
        finding = _ANSWERS[function][0 if below else 1]
        perceived = "felt" if function == "stance_damping" else "seen"
        return [{"finding": finding, "grade": grade, "perceived": perceived}]


def demo_leg() -> RehearsalLeg:
    """Return the leg of the rehearsal, within the ranges of the demo knee."""
    return RehearsalLeg({
        "stance_threshold": (Decimal(2), Decimal(5)),
        "swing_flexion": (Decimal(12), Decimal(13)),
        "swing_extension": (Decimal(10), Decimal(11)),
        "stance_damping": (Decimal(9), Decimal(10)),
    })
