"""Seeing other machines' clocks without being carried off by a wrong one."""

from __future__ import annotations

from shared_models.entries.clock import HybridClock

DAY_MS = 86_400_000
#: A tablet's clock may be wrong by a year and still order what people see.
FURTHEST_AHEAD_MS = 400 * DAY_MS


def latest_believed(now_ms: int, furthest_ahead_ms: int = FURTHEST_AHEAD_MS) -> str:
    """Return the newest clock reading that a machine lets itself be moved to."""
    return f"{now_ms + furthest_ahead_ms:012x}-ffff"


def see_bounded(
    clock: HybridClock, reading: str, furthest_ahead_ms: int = FURTHEST_AHEAD_MS
) -> bool:
    """Let ``clock`` see a reading unless it is too far ahead; tell whether.

    The entry that carries it is taken either way; only the clock is spared.
    """
    if reading > latest_believed(clock.wall_ms(), furthest_ahead_ms):
        return False
    clock.see(reading)
    return True
