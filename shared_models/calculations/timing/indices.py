"""Symmetry of two sides by several published indices, each with its own zero.

All take a left and a right value of one quantity in one unit.  Three are 0 for
equal sides and plus when the right value is the larger; the ratio is 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Callable

from shared_models.quantities.refusals import Refusal


@dataclass(frozen=True)
class Index:
    """One index: ``key`` with its unit, formula, source, value for equal sides.

    ``of(left, right)`` is the value, ``slopes(left, right)`` its derivatives by
    left and by right, from which an uncertainty is carried through.
    """

    key: str
    formula: str
    source: str
    equal_at: float
    of: Callable[[float, float], float | None]
    slopes: Callable[[float, float], tuple[float, float]]


def symmetry_index_percent(left: float, right: float) -> float | None:
    """Return (R - L) / (0.5 (R + L)) * 100; None when the two add up to 0."""
    _refuse_not_finite(left, right)
    total = right + left
    return 200 * (right - left) / total if total else None


def ratio_right_to_left(left: float, right: float) -> float | None:
    """Return R / L; 1 for equal sides; None when left is 0 or too near it."""
    _refuse_not_finite(left, right)
    ratio = right / left if left else math.inf
    return ratio if math.isfinite(ratio) else None


def gait_asymmetry_percent(left: float, right: float) -> float | None:
    """Return 100 ln(R / L), signed; None unless both are above 0."""
    _refuse_not_finite(left, right)
    return 100 * (math.log(right) - math.log(left)) if left > 0 and right > 0 else None


def symmetry_angle_percent(left: float, right: float) -> float | None:
    """Return (45 deg - atan(L / R)) / 90 deg * 100, within -100 and 100.

    100 is equal and opposite.  Where the angle passes 90 degrees 180 are taken
    off, as published.  None when both are 0.
    """
    _refuse_not_finite(left, right)
    if left == 0 and right == 0:
        return None
    turned = 90.0 if right == 0 else math.degrees(math.atan(left / right))
    angle = 45.0 - turned
    if angle > 90.0:
        angle -= 180.0
    return angle / 90.0 * 100


def _refuse_not_finite(left: float, right: float) -> None:
    for side, value in (("left", left), ("right", right)):
        if not math.isfinite(value):
            raise Refusal("side_value_not_a_number", side=side, value=value)


INDICES = {
    index.key: index for index in (
        Index(
            "symmetry_index_percent", "(right - left) / (0.5 * (right + left)) * 100",
            "Robinson RO, Herzog W, Nigg BM. J Manipulative Physiol Ther 1987;10:172-6 (formula from memory)",
            0.0, symmetry_index_percent,
            lambda l, r: (-400 * r / (r + l) ** 2, 400 * l / (r + l) ** 2),
        ),
        Index(
            "ratio_right_to_left", "right / left",
            "ratio index, common in reviews of gait symmetry (from memory)",
            1.0, ratio_right_to_left, lambda l, r: (-r / l ** 2, 1 / l),
        ),
        Index(
            "gait_asymmetry_percent", "100 * ln(right / left)",
            "after Plotnik M et al. 2005 and 2007, kept signed (from memory)",
            0.0, gait_asymmetry_percent, lambda l, r: (-100 / l, 100 / r),
        ),
        Index(
            "symmetry_angle_percent", "(45 - atan(left / right) in degrees) / 90 * 100",
            "Zifchock RA et al. Gait Posture 2008;27:622-7 (formula from memory)",
            0.0, symmetry_angle_percent,
            lambda l, r: (-200 / math.pi * r / (r * r + l * l), 200 / math.pi * l / (r * r + l * l)),
        ),
    )
}
