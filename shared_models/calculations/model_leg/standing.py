"""A model person's stance: whether damping comes in under load and lets go in time."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Mapping

from shared_models.calculations.model_leg import drawn
from shared_models.calculations.model_leg.perceiving import Complaint
from shared_models.calculations.model_leg.segments import GRAVITY_M_S2
from shared_models.calculations.model_leg.stance import Loading, Stance, stance

if TYPE_CHECKING:
    from shared_models.calculations.model_leg.people import ModelPerson

_WAYS = ("seen", "felt")


class Standing:
    """Threshold law of the knee and loads of the person."""

    def __init__(self, person: "ModelPerson", lot: drawn.Lot, window_width: float) -> None:
        self.person = person
        suited_n = person.mass_kg * GRAVITY_M_S2 * lot.even(drawn.SUITED_THRESHOLD_PART)
        below = lot.even(drawn.THRESHOLD_TOLERANCE, window_width)
        above = lot.even(drawn.THRESHOLD_TOLERANCE, window_width)
        self.let_go_part = lot.even(drawn.LET_GO_PART)
        self.level = Loading(suited_n * (1 + above), suited_n / (1 + below) * self.let_go_part)
        self.descent = self.level.held_up(lot.even(drawn.DESCENT_LOAD_PART))
        self.suited_n = suited_n

    def stance(self, positions: Mapping[str, Decimal], left: float = 1.0, down: bool = False) -> Stance:
        """Return what the threshold does; ``left``: part of the load on the leg."""
        loading = (self.descent if down else self.level).held_up(left)
        own = self.person.ranges.get("stance_threshold")
        if own is None:
            return stance(self.suited_n, self.let_go_part, loading)
        position = self.person.placed("stance_threshold", positions)
        threshold_n = own.law(self.suited_n).at(own.place_of(position))
        return stance(threshold_n, self.let_go_part, loading)

    def held_part(self, positions: Mapping[str, Decimal]) -> float:
        """Return how much the damping hampers the bending: 0 not at all, 1 wholly."""
        hold_n = self.stance(positions).hold_n
        return min(max(-hold_n / self.level.leaving_n, 0.0), 1.0)

    def complaints(self, positions: Mapping[str, Decimal], left: float) -> list[Complaint]:
        """Return what a stance trial may show, as parts of the threshold that suits."""
        done = self.stance(positions, left)
        stays = -done.hold_n / (self.let_go_part * self.suited_n)
        missing = -done.spare_n / self.suited_n
        error, marked = drawn.THRESHOLD_ERROR_PART, drawn.MARKED_THRESHOLD_PART
        return [
            Complaint("damping_stays_in", stays, error, marked, "threshold", -1, _WAYS),
            Complaint("no_damping_when_loaded", missing, error, marked, "threshold", 1, _WAYS, strict=True),
        ]

    def figures(self, done: Stance) -> dict[str, float]:
        """Return what the damping did, in N."""
        return {"load_above_threshold_n": done.spare_n, "let_go_above_load_n": done.hold_n}
