"""The masses of a person: what the components carry, and the whole body by estimate."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.calculations.alignment.weights import combined_mass_kg
from shared_models.calculations.alignment.whole_body import (
    missing_share,
    whole_body_mass_kg,
    whole_body_range_kg,
)
from shared_models.checks.as_typed import exact_figure
from shared_models.entries.fitting import FittingView
from shared_models.quantities.refusals import Refusal

#: How much of the thigh is missing, where the level says it; between them it
#: goes by the length of the residual limb, which is not recorded.
_THIGH_MISSING = {"knee_disarticulation": 0.0, "hip_disarticulation": 1.0}


@dataclass(frozen=True)
class Masses:
    """In kg: the bare body, what is carried, both together, and the whole body from-to."""

    bare_kg: float
    carried_kg: float
    combined_kg: float
    whole_kg: tuple[float, float]


def masses_of(view: FittingView) -> Masses | None:
    """Return the masses of the person of a fitting; None while none can be reckoned."""
    head = view.head("body")
    bare, load = (exact_figure(head.body if head else {}, f, "kg") for f in ("body_mass_kg", "carried_load_kg"))
    if bare is None:
        return None
    level = str(view.opened.body.get("amputation_level", "")) if view.opened else ""
    try:
        combined = combined_mass_kg(float(bare), float(load or 0))
        whole = whole_body_range_kg(float(bare))
        if level in _THIGH_MISSING:
            estimate = whole_body_mass_kg(float(bare), missing_share(_THIGH_MISSING[level]))
            whole = (estimate, estimate)
    except Refusal:
        return None
    return Masses(float(bare), float(load or 0), combined, whole)
