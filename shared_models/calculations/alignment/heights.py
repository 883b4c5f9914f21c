"""Height of the leg: what a difference does, and the shim or tube that cures it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.calculations.alignment.sound_figures import sound

MOST_MM = 300.0
SHIM_UNDER_PROSTHESIS, SHIM_UNDER_SOUND_SIDE, NO_SHIM = "prosthesis", "sound_side", ""


@dataclass(frozen=True)
class HeightCure:
    """What makes the legs equally high.

    ``tube_change_mm``: plus = longer tube.  ``shim_under``: the side under
    which a shim of ``shim_mm`` shows the same in standing.  ``tube_after_mm``
    is the tube's length afterwards, None when the present one is not known;
    ``reached`` False when that lies outside what the tube can be cut to or
    pulled out to, then ``left_mm`` (signed as the difference) remains.
    """

    tube_change_mm: float
    shim_mm: float
    shim_under: str
    tube_after_mm: float | None
    reached: bool
    left_mm: float


def height_cure(
    difference_mm: float, tube_now_mm: float | None = None,
    shortest_mm: float | None = None, longest_mm: float | None = None,
) -> HeightCure:
    """Return the cure of a height difference, prosthesis minus sound side, in mm."""
    difference = sound("Height difference", difference_mm, "mm", -MOST_MM, MOST_MM)
    under = NO_SHIM
    if difference:
        under = SHIM_UNDER_PROSTHESIS if difference < 0 else SHIM_UNDER_SOUND_SIDE
    if tube_now_mm is None:
        return HeightCure(-difference, abs(difference), under, None, True, 0.0)
    wanted = tube_now_mm - difference
    after = max(wanted, shortest_mm) if shortest_mm is not None else wanted
    after = min(after, longest_mm) if longest_mm is not None else after
    return HeightCure(
        after - tube_now_mm, abs(difference), under, after, after == wanted, after - wanted
    )


def pelvic_tilt_deg(difference_mm: float, hip_width_mm: float) -> float:
    """Return the tilt of the pelvis in degrees from a height difference across the hips."""
    return math.degrees(math.atan2(difference_mm, sound("Width between the hips", hip_width_mm, "mm", 1.0, 1000.0)))


def shift_mm(height_mm: float, angle_deg: float) -> float:
    """Return by how much a point at a height shifts sideways when a tilt of the line below is set."""
    return height_mm * math.tan(math.radians(angle_deg))
