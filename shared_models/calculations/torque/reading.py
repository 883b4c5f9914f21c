"""A torque at the screw against the figure and tolerance of the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from shared_models.calculations.torque.units import Figure, figure_of, positive
from shared_models.quantities.refusals import Refusal


@dataclass(frozen=True)
class Judged:
    """A torque beside its window; all in N·m.

    ``off_nm``: how far outside the window, plus when too high, 0 inside.
    ``from_figure_nm``: how far from the figure itself.
    """

    torque_nm: Fraction
    lowest_nm: Fraction
    highest_nm: Fraction
    off_nm: Fraction
    from_figure_nm: Fraction

    @property
    def is_within(self) -> bool:
        """Whether the torque lies in the window, its ends included."""
        return self.off_nm == 0

    @property
    def half_window_nm(self) -> Fraction:
        """How far the window reaches to either side of the figure."""
        return (self.highest_nm - self.lowest_nm) / 2


def compare(torque_nm: Figure, figure_nm: Figure, tolerance_percent: Figure) -> Judged:
    """Compare a torque at the screw with a figure and its tolerance in percent.

    Raises Refusal ``torque_not_above_zero`` and ``torque_tolerance_outside``
    (a tolerance runs from 0 to below 100 %).
    """
    torque, figure = positive(torque_nm, "torque"), positive(figure_nm, "figure of the sheet")
    tolerance = figure_of(tolerance_percent, "tolerance")
    if not 0 <= tolerance < 100:
        raise Refusal("torque_tolerance_outside", value=str(tolerance_percent)[:40])
    slack = figure * tolerance / 100
    lowest, highest = figure - slack, figure + slack
    off = min(torque - lowest, Fraction(0)) + max(torque - highest, Fraction(0))
    return Judged(torque, lowest, highest, off, torque - figure)
