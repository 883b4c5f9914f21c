"""Torque arithmetic: how old a calibration is."""

from __future__ import annotations

from datetime import date


def months_between(earlier: str, later: date) -> int:
    """Return the whole months from an ISO date to a day, negative when ahead.

    Raises ValueError when ``earlier`` is no ISO date.
    """
    start = date.fromisoformat(earlier)
    if start > later:
        return -1
    months = (later.year - start.year) * 12 + later.month - start.month
    return months - (1 if later.day < start.day else 0)
