"""Body segments from published tables, and the pendulum that shank and foot make.

Masses in kg, lengths in m, moments of inertia in kg·m².  Proportions describe
an average body; the model leg is built from them and is no model of anybody.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.quantities.refusals import Refusal

#: Standard gravity in m/s² (CGPM 1901).
GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True)
class Segment:
    """One body segment; lengths as parts of its own length, mass as part of the body's.

    ``centre_*``: centre of mass from the upper (proximal) and lower (distal)
    end; ``gyration_*``: radius of gyration about the centre and either end.
    """

    mass_share: float
    centre_upper: float
    centre_lower: float
    gyration_centre: float
    gyration_upper: float
    gyration_lower: float


# Winter DA, Biomechanics and Motor Control of Human Movement, Table 4.1 (after
# Dempster 1955).  TOTAL_LEG is printed with 0.560, though its own figures give
# 0.553: a rounding of the source, kept as printed; nothing here uses it.
FOOT = Segment(0.0145, 0.500, 0.500, 0.475, 0.690, 0.690)
LEG = Segment(0.0465, 0.433, 0.567, 0.302, 0.528, 0.643)
THIGH = Segment(0.100, 0.433, 0.567, 0.323, 0.540, 0.653)
FOOT_AND_LEG = Segment(0.061, 0.606, 0.394, 0.416, 0.735, 0.572)
TOTAL_LEG = Segment(0.161, 0.447, 0.553, 0.326, 0.560, 0.650)

# Lengths as parts of stature: Drillis R, Contini R, Body Segment Parameters,
# New York University 1966 (from memory, as drawn in Winter, Fig. 4.1).
THIGH_LENGTH_SHARE = 0.245
LEG_LENGTH_SHARE = 0.246
FOOT_LENGTH_SHARE = 0.152
ANKLE_HEIGHT_SHARE = 0.039
KNEE_HEIGHT_SHARE = 0.285
HIP_HEIGHT_SHARE = 0.530

#: A prosthetic shank of 1.33 kg was 39.1 % of the sound one: Hale SA, Prosthet
#: Orthot Int 1990;14(3):125-135, six people with above-knee prostheses.
PROSTHETIC_SHANK_SHARE = 0.391


@dataclass(frozen=True)
class Pendulum:
    """Shank and foot as one rigid body hanging from the knee.

    ``centre_m``: centre of mass below the knee; ``inertia_kg_m2``: about the
    knee.
    """

    mass_kg: float
    centre_m: float
    inertia_kg_m2: float

    def __post_init__(self) -> None:
        for name in ("mass_kg", "centre_m", "inertia_kg_m2"):
            above_zero(name, getattr(self, name))

    @property
    def weight_moment_nm(self) -> float:
        """Return m·g·d, the moment of its weight about the knee when level, in N·m."""
        return self.mass_kg * GRAVITY_M_S2 * self.centre_m

    @property
    def small_period_s(self) -> float:
        """Return the period of small free swings in s."""
        return 2 * math.pi * math.sqrt(self.inertia_kg_m2 / self.weight_moment_nm)

    def energy_j(self, angle_rad: float, rate_rad_s: float) -> float:
        """Return motion plus height energy in J, from hanging at rest."""
        moving = 0.5 * self.inertia_kg_m2 * rate_rad_s**2
        return moving + self.weight_moment_nm * (1 - math.cos(angle_rad))


def lower_leg(body_mass_kg: float, stature_m: float, mass_part: float = 1.0) -> Pendulum:
    """Return shank and foot of a body; ``mass_part`` of the anatomical mass.

    A lighter, prosthetic shank keeps the proportions of the anatomical one
    (assumption: with foot and shoe at its end its mass is spread alike).
    Raises Refusal ``model_leg_not_above_zero``.
    """
    above_zero("body_mass_kg", body_mass_kg)
    length_m = LEG_LENGTH_SHARE * above_zero("stature_m", stature_m)
    mass_kg = FOOT_AND_LEG.mass_share * body_mass_kg * above_zero("mass_part", mass_part)
    return Pendulum(
        mass_kg, FOOT_AND_LEG.centre_upper * length_m,
        mass_kg * (FOOT_AND_LEG.gyration_upper * length_m) ** 2,
    )


def above_zero(name: str, value: float) -> float:
    """Return a figure that must be above zero and finite; else refuse it by name."""
    if not (math.isfinite(value) and value > 0):
        raise Refusal("model_leg_not_above_zero", name=name, value=str(value))
    return value


def not_below_zero(name: str, value: float) -> float:
    """Return a figure of zero or more that is finite; else refuse it by name."""
    if not (math.isfinite(value) and value >= 0):
        raise Refusal("model_leg_below_zero", name=name, value=str(value))
    return value
