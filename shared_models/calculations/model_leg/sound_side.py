"""The sound leg beside the prosthesis: what it does in level walking, for the eye only.

Nothing is reckoned from it.  Turning points of knee and ankle are rounded from
the means of Winter DA, Biomechanics and Motor Control of Human Gait, 2nd edition
1991 (knee bent by about 20 degrees when loaded, 60 to 65 in swing) and Perry J,
Burnfield JM, Gait Analysis, 2nd edition 2010 (15 to 20, 60): from memory.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import Sequence

#: Stance as a part of the stride (Winter, Perry: 60 to 62 %).
STANCE_PART = 0.61
#: Part of the stride from foot contact on, and degrees.
KNEE_DEG = (
    (0.00, 4.0), (0.06, 11.0), (0.14, 19.0), (0.25, 13.0), (0.40, 6.0), (0.50, 14.0),
    (0.61, 40.0), (0.67, 56.0), (0.73, 63.0), (0.80, 53.0), (0.90, 18.0), (0.97, 2.0),
)
ANKLE_DEG = (
    (0.00, 0.0), (0.07, -5.0), (0.20, 4.0), (0.42, 10.0), (0.52, 2.0), (0.62, -18.0),
    (0.70, -6.0), (0.80, 2.0), (0.92, 1.0),
)


def around(turning_points: Sequence[tuple[float, float]], part: float) -> float:
    """Return a smooth, periodic course through turning points at a part of the stride.

    Cubic between two points, with the slope of their neighbours; flat at a
    highest and a lowest point, so that it never goes beyond them (Fritsch FN,
    Butland J, SIAM J Sci Stat Comput 1984;5:300-304).
    """
    count, part = len(turning_points), part % 1.0
    parts = [p for p, _ in turning_points]
    k = (bisect_right(parts, part) - 1) % count

    def point(index: int) -> tuple[float, float]:
        turns, within = divmod(index, count)
        at, value = turning_points[within]
        return at + turns, value

    def slope(index: int) -> float:
        (a, u), (b, v), (c, w) = point(index - 1), point(index), point(index + 1)
        before, after = (v - u) / (b - a), (w - v) / (c - b)
        if before * after <= 0:
            return 0.0
        share = (1 + (c - b) / (c - a)) / 3
        return before * after / (share * after + (1 - share) * before)

    (a, u), (b, v) = point(k), point(k + 1)
    wide = b - a
    x = ((part - a) % 1.0) / wide
    left, right = slope(k) * wide, slope(k + 1) * wide
    return (
        u * (1 + 2 * x) * (1 - x) ** 2 + left * x * (1 - x) ** 2
        + v * x * x * (3 - 2 * x) + right * x * x * (x - 1)
    )
