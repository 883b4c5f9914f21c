"""Turning an adjuster: which way, and which steps the sheet does not take."""

from __future__ import annotations

from decimal import Decimal

from shared_models.catalogue.sheets import Adjuster


def turn_direction(adjuster: Adjuster, before: Decimal, after: Decimal) -> str:
    """Return which way to turn: clockwise, anticlockwise, or '' for not at all.

    Clockwise is as seen by whoever turns, looking at the head from outside; the
    sheet says whether that means more or less.
    """
    if after == before:
        return ""
    more = after > before
    return "clockwise" if more == (adjuster.clockwise == "more") else "anticlockwise"


def step_refused(adjuster: Adjuster, before: Decimal | None, after: Decimal) -> str:
    """Return why a step should not be taken: outside, too_large, or ''."""
    if not adjuster.lowest <= after <= adjuster.highest:
        return "outside"
    if before is not None and abs(after - before) > adjuster.largest_step:
        return "too_large"
    return ""


def positions(adjuster: Adjuster) -> tuple[Decimal, ...]:
    """Return every position of the grid of smallest steps, counted from the lowest."""
    count = int((adjuster.highest - adjuster.lowest) / adjuster.smallest_step)
    return tuple(adjuster.lowest + k * adjuster.smallest_step for k in range(count + 1))
