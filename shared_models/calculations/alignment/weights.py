"""Weights in standing: shares, the moment about the knee, and whether scales can be right."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from shared_models.calculations.alignment.sound_figures import sound
from shared_models.quantities.refusals import Refusal

#: Standard acceleration of free fall: 3rd General Conference on Weights and Measures, 1901.
STANDARD_GRAVITY_M_S2 = 9.80665
#: Share of weight on the prosthesis below which a standing reading says little; common practice.
LEAST_SHARE_PERCENT = Decimal(35)
#: How far scales may be from the recorded mass, as a share of it, before they
#: are doubted, and before they can't be right; common practice.
DOUBTED_BEYOND_SHARE = 0.05
REFUSED_BEYOND_SHARE = 0.20
HEAVIEST_KG = 400.0

_Figure = TypeVar("_Figure", float, Decimal)


def knee_moment_nm(weight_kg: float, offset_mm: float) -> float:
    """Return the external moment about the knee in standing in N·m, plus = extending.

    The weight on the prosthesis times the offset of the load line; the
    horizontal force is small in quiet standing and left out.
    """
    weight = sound("Weight on the prosthesis", weight_kg, "kg", 0.0, HEAVIEST_KG)
    offset = sound("Load line", offset_mm, "mm")
    return weight * STANDARD_GRAVITY_M_S2 * offset / 1000


def share_percent(own_kg: _Figure, other_kg: _Figure) -> _Figure:
    """Return the share of weight on this side in percent.

    Raises Refusal ``alignment_no_weight`` when no weight stands on either side.
    """
    if own_kg + other_kg <= 0:
        raise Refusal("alignment_no_weight")
    return 100 * own_kg / (own_kg + other_kg)


def combined_mass_kg(body_mass_kg: float, carried_load_kg: float) -> float:
    """Return the mass that the components carry: the person and what is carried as a habit."""
    return sound("Body mass", body_mass_kg, "kg", 1.0, HEAVIEST_KG) + sound(
        "Carried load", carried_load_kg, "kg", 0.0, HEAVIEST_KG
    )


@dataclass(frozen=True)
class Standing:
    """What scales say all together, beside the mass recorded, in kg.

    ``doubted``: further from both the bare and the combined mass than scales
    and clothes explain.
    """

    total_kg: float
    lowest_kg: float
    highest_kg: float
    doubted: bool


def standing(total_kg: float, body_mass_kg: float, carried_load_kg: float = 0.0) -> Standing:
    """Compare what two scales say in sum with the mass of the person.

    Anything from the bare body mass to the mass with prosthesis, clothes and
    load is right.  Raises Refusal ``alignment_scales_far_from_mass`` when the
    sum can't be this person's.
    """
    total = sound("The two scales in sum", total_kg, "kg", 0.0, 2 * HEAVIEST_KG)
    highest = combined_mass_kg(body_mass_kg, carried_load_kg)
    lowest = float(body_mass_kg)
    short, over = lowest - total, total - highest
    far = max(short / lowest, over / highest)
    if far > REFUSED_BEYOND_SHARE:
        raise Refusal(
            "alignment_scales_far_from_mass", total=f"{total:.1f}",
            lowest=f"{lowest:.1f}", highest=f"{highest:.1f}",
        )
    return Standing(total, lowest, highest, far > DOUBTED_BEYOND_SHARE)


def part_of_person(weight_kg: float, body_mass_kg: float, carried_load_kg: float = 0.0) -> bool:
    """Tell whether one side bears no more than the person weighs; False where that is doubted.

    Raises Refusal ``alignment_more_than_person`` when it is far more.
    """
    weight = sound("Weight on the board", weight_kg, "kg", 0.0, HEAVIEST_KG)
    most = combined_mass_kg(body_mass_kg, carried_load_kg)
    over = (weight - most) / most
    if over > REFUSED_BEYOND_SHARE:
        raise Refusal("alignment_more_than_person", weight=f"{weight:.1f}", most=f"{most:.1f}")
    return over <= DOUBTED_BEYOND_SHARE
