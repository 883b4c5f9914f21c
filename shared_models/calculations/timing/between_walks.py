"""Whether a figure of one walk differs from the same figure of another."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shared_models.calculations.timing.figures import Figure


@dataclass(frozen=True)
class Compared:
    """One figure now and before, ``difference`` in the figure's own unit.

    ``least`` is the smallest difference that the two 95 % intervals let be told
    from none: the root of the sum of the squares of their half widths (GUM,
    JCGM 100:2008, 5.1.2, for a difference of independent figures).  It is about
    these two walks only; no published minimal detectable change is known for
    figures tapped from above-knee walks.

    ``changed`` is None when they can't be compared; ``because`` says why:
    other_instrument, other_event, not_worth_showing, no_interval.
    """

    quantity: str
    difference: float | None
    least: float | None
    changed: bool | None
    because: str = ""


def compare(now: Figure, former: Figure) -> Compared:
    """Compare the same figure of two walks; only like with like."""
    for attribute, code in (("instrument", "other_instrument"), ("event", "other_event")):
        if getattr(now.basis, attribute) != getattr(former.basis, attribute):
            return Compared(now.key, None, None, None, code)
    if not (now.worth_showing and former.worth_showing):
        return Compared(now.key, None, None, None, "not_worth_showing")
    wide = [half_width(each) for each in (now, former)]
    if wide[0] is None or wide[1] is None:
        return Compared(now.key, None, None, None, "no_interval")
    difference = now.value - former.value  # type: ignore[operator]
    least = math.hypot(wide[0], wide[1])
    return Compared(now.key, difference, least, abs(difference) >= least and difference != 0)


def half_width(figure: Figure) -> float | None:
    """Return half the width of a figure's 95 % interval; of the taps alone where there is no other."""
    low, high = (figure.low, figure.high) if figure.low is not None else (figure.taps_low, figure.taps_high)
    return None if low is None or high is None else (high - low) / 2
