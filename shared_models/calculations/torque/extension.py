"""An extension on the wrench: what to set, and what a reading really meant.

The wrench measures the torque at its own drive.  With an extension of length E
(drive to screw) at an angle theta to a wrench of length L (grip to drive) the
force at the grip has the longer arm L + E·cos theta to the screw, so

    torque at the screw = setting · (L + E·cos theta) / L

Common practice of wrench makers' instructions, and statics.  It holds only for
a hand in the middle of the grip; a pipe over the handle is never right.  An
extension at 90 degrees, or a straight socket bar, changes nothing.
"""

from __future__ import annotations

import math
from fractions import Fraction

from shared_models.calculations.torque.units import Figure, figure_of, positive
from shared_models.quantities.refusals import Refusal

#: Cosines that are exact where a decimal angle meets them; 90° must change nothing.
_EXACT_COSINES = {
    0: Fraction(1), 60: Fraction(1, 2), 90: Fraction(0), 120: Fraction(-1, 2), 180: Fraction(-1),
}


def setting_for(torque_nm: Figure, grip_mm: Figure, extension_mm: Figure, angle_deg: Figure = 0) -> Fraction:
    """Return the torque in N·m to set on the wrench for a wanted torque at the screw.

    Raises Refusal ``torque_figure_impossible``, ``torque_not_above_zero``
    (torque, grip), ``extension_below_zero``, ``extension_angle_outside`` (the
    angle runs from 0, in line with the wrench, to 180, turned back) and
    ``extension_reaches_grip`` when the arm would vanish.
    """
    return positive(torque_nm, "torque") / _gain(grip_mm, extension_mm, angle_deg)


def torque_behind(reading_nm: Figure, grip_mm: Figure, extension_mm: Figure, angle_deg: Figure = 0) -> Fraction:
    """Return the torque in N·m at the screw that a reading with an extension meant."""
    return positive(reading_nm, "reading") * _gain(grip_mm, extension_mm, angle_deg)


def _gain(grip_mm: Figure, extension_mm: Figure, angle_deg: Figure) -> Fraction:
    grip, extension = positive(grip_mm, "grip length"), figure_of(extension_mm, "extension length")
    angle = figure_of(angle_deg, "extension angle")
    if extension < 0:
        raise Refusal("extension_below_zero", value=str(extension_mm)[:40])
    if not 0 <= angle <= 180:
        raise Refusal("extension_angle_outside", value=str(angle_deg)[:40])
    arm = grip + extension * _cosine(angle)
    if arm <= 0:
        raise Refusal("extension_reaches_grip", extension=str(extension_mm)[:40], grip=str(grip_mm)[:40])
    return arm / grip


def _cosine(angle_deg: Fraction) -> Fraction:
    if angle_deg in _EXACT_COSINES:
        return _EXACT_COSINES[angle_deg]
    return Fraction(math.cos(math.radians(float(angle_deg))))
