"""Body mass with the missing limb allowed for: an estimate for health figures, never for load limits.

Shares of whole-body mass: Osterkamp LK, J Am Diet Assoc 1995;95:215-218 (table
from memory).  They agree within 0.2 points with Winter DA, Biomechanics and
Motor Control of Human Movement, table 4.1.  A component's mass limit goes by
what it carries, so it is never compared with this estimate.
"""

from __future__ import annotations

from shared_models.calculations.alignment.sound_figures import sound
from shared_models.calculations.alignment.weights import HEAVIEST_KG

FOOT_SHARE = 0.015
LOWER_LEG_SHARE = 0.044
THIGH_SHARE = 0.101
ENTIRE_LEG_SHARE = FOOT_SHARE + LOWER_LEG_SHARE + THIGH_SHARE


def missing_share(thigh_missing: float) -> float:
    """Return the share of whole-body mass that is missing above the knee.

    ``thigh_missing``: 0 through the knee to 1 through the hip.  Linear along
    the thigh, which tapers, so it is a little high in between.
    """
    missing = sound("Share of the thigh that is missing", thigh_missing, "of 1", 0.0, 1.0)
    return FOOT_SHARE + LOWER_LEG_SHARE + THIGH_SHARE * missing


def whole_body_mass_kg(body_mass_kg: float, share_missing: float) -> float:
    """Return the estimated body mass in kg with the missing limb.

    ``body_mass_kg`` is weighed without the prosthesis; it is divided by what
    is there, not multiplied by what is missing.
    """
    mass = sound("Body mass", body_mass_kg, "kg", 1.0, HEAVIEST_KG)
    return mass / (1 - sound("Share of the body that is missing", share_missing, "of 1", 0.0, 0.5))


def whole_body_range_kg(body_mass_kg: float) -> tuple[float, float]:
    """Return the estimate for the longest and the shortest residual thigh, in kg."""
    return (
        whole_body_mass_kg(body_mass_kg, missing_share(0.0)),
        whole_body_mass_kg(body_mass_kg, missing_share(1.0)),
    )


def body_mass_index(mass_kg: float, height_m: float) -> float:
    """Return mass over height squared in kg/m²."""
    return mass_kg / sound("Body height", height_m, "m", 0.5, 2.6) ** 2
