"""The weights of a standing alignment: which side bears how much, and can that be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.calculations.alignment.load_line import LoadLine
from shared_models.calculations.alignment.weights import (
    STANDARD_GRAVITY_M_S2,
    Standing,
    knee_moment_nm,
    part_of_person,
    share_percent,
    standing,
)
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.refusals import Refusal


@dataclass(frozen=True)
class Weights:
    """What is known of the weight on each side, in kg.

    ``share_is_most``: the sound side was not weighed, so the share is reckoned
    from the bare body mass and is that much at most.  ``refusal``: the scales
    can't be right; ``doubted``: they are further off than clothes explain.
    ``moment_nm`` is the load's moment about the knee, plus = extending, with
    the half width of its 95 % interval where the reading has one.
    """

    own_kg: float | None = None
    other_kg: float | None = None
    share_percent: float | None = None
    share_is_most: bool = False
    standing: Standing | None = None
    doubted: bool = False
    refusal: Refusal | None = None
    moment_nm: float | None = None
    moment_half_95_nm: float | None = None


def weights_in(view: FittingView, body: Mapping[str, Any], line: LoadLine | None) -> Weights:
    """Return what an alignment says about weight; refusals come back as data."""
    own = line.weight_kg if line and line.weight_kg is not None else _kg(body, "weight_on_prosthesis_kg")
    if own is None:
        return Weights()
    other = _kg(body, "weight_on_sound_side_kg")
    mass = amount_from(view.value("body", "body_mass_kg"))
    carried = amount_from(view.value("body", "carried_load_kg"))
    bare, load = (float(mass) if mass else None), float(carried or 0)
    share, most = None, False
    if other is not None and own + other > 0:
        share = share_percent(own, other)
    elif bare is not None:
        share, most = min(100.0, 100 * own / bare), True
    moment, half = _moment(own, line)
    told: Standing | None = None
    doubted, refusal = False, None
    try:
        if bare is not None and other is not None:
            told = standing(own + other, bare, load)
            doubted = told.doubted
        elif bare is not None:
            doubted = not part_of_person(own, bare, load)
    except Refusal as refused:
        refusal = refused
    return Weights(own, other, share, most, told, doubted, refusal, moment, half)


def _moment(own: float, line: LoadLine | None) -> tuple[float | None, float | None]:
    """The moment and, where the reading has an interval, how far off it may be.

    Offset and weight come from the same scales; their errors are added as if
    independent, which is close because the offset's own error is far larger.
    """
    if line is None:
        return None, None
    try:
        moment = knee_moment_nm(own, line.offset_mm)
    except Refusal:
        return None, None
    if line.half_width_95_mm is None:
        return moment, None
    from_line = own * line.half_width_95_mm
    from_weight = line.offset_mm * (line.weight_half_width_95_kg or 0.0)
    return moment, STANDARD_GRAVITY_M_S2 / 1000 * (from_line**2 + from_weight**2) ** 0.5


def _kg(body: Mapping[str, Any], key: str) -> float | None:
    amount = amount_from(body.get(key))
    return None if amount is None else float(amount)
