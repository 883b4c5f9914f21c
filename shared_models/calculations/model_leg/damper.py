"""The knee's hydraulic damping, and the law from an adjuster's position to it.

Pressure loss through a narrow passage goes with the flow, through an orifice
with its square (fluid mechanics, common textbook); a hydraulic knee has some of
both.  Flexion and extension have ways and adjusters of their own.
"""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.calculations.model_leg.segments import not_below_zero


@dataclass(frozen=True)
class Damper:
    """Damping moment of the knee: linear in N·m·s/rad, square in N·m·s²/rad².

    ``friction_nm`` is the same at every speed.  None may be below zero, so a
    damper never adds energy.
    """

    flexion_linear: float = 0.0
    flexion_square: float = 0.0
    extension_linear: float = 0.0
    extension_square: float = 0.0
    friction_nm: float = 0.0

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            not_below_zero(name, value)

    def moment_nm(self, flexion_rate_rad_s: float) -> float:
        """Return the moment against the motion in N·m; plus resists bending."""
        rate = flexion_rate_rad_s
        if rate > 0:
            return self.friction_nm + rate * (self.flexion_linear + self.flexion_square * rate)
        if rate < 0:
            return rate * (self.extension_linear - self.extension_square * rate) - self.friction_nm
        return 0.0


@dataclass(frozen=True)
class Law:
    """How one adjuster of one knee turns into a physical figure.

    At ``anchor_place`` (0 lowest, 1 highest position) the figure is
    ``anchor``; over the whole range it grows by the factor ``ratio``, evenly
    on a logarithmic scale.
    """

    anchor_place: float
    anchor: float
    ratio: float

    def at(self, place: float) -> float:
        """Return the figure at a place of the range, 0 lowest and 1 highest."""
        return self.anchor * self.ratio ** (place - self.anchor_place)
