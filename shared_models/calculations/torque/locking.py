"""How far a locking compound has got: still open, setting, or cured.

Both times belong to the compound and the sheet: some minutes until it has set
(from then on turning the screw breaks the bond, and the reading misleads), and
the time until it may be loaded.  Neither has a default.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from shared_models.calculations.torque.units import Figure, figure_of, positive
from shared_models.quantities.refusals import Refusal


@dataclass(frozen=True)
class Cure:
    """What is known of a compound after some minutes; None: the sheet lacks the figure.

    ``is_set``: whether the screw may no longer be turned; ``is_cured``: whether
    it may be loaded; ``minutes_left`` until it may.
    """

    is_set: bool | None
    is_cured: bool | None
    minutes_left: Fraction | None


def cure_of(minutes: Figure, sets_in_min: Figure | None, cures_in_min: Figure | None) -> Cure:
    """Return how far a compound has got ``minutes`` after the screw was tightened.

    What has cured has set, whether or not the sheet says when.  Raises Refusal
    ``torque_figure_impossible``, ``minutes_below_zero`` and, for a sheet's
    time of nothing, ``torque_not_above_zero``.
    """
    passed = figure_of(minutes, "minutes since tightening")
    if passed < 0:
        raise Refusal("minutes_below_zero", value=str(minutes)[:40])
    sets = None if sets_in_min is None else positive(sets_in_min, "minutes until set")
    cures = None if cures_in_min is None else positive(cures_in_min, "minutes until cured")
    is_cured = None if cures is None else passed >= cures
    is_set = True if is_cured else None if sets is None else passed >= sets
    return Cure(is_set, is_cured, None if cures is None else max(cures - passed, Fraction(0)))
