"""Timed tests: ten-metre walk, two- and six-minute walk, timed up and go.

A figure from a test says how it was walked: timed length, run-up, pace, aid.
No function here sets an activity level: the same level walks at half or twice
the speed in another setting (``norms``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

from shared_models.calculations.timing.changes import Measured
from shared_models.calculations.timing.figures import Basis
from shared_models.calculations.timing.walk import speed_m_per_s
from shared_models.quantities.refusals import Refusal

PACES = ("usual", "fast")
AIDS = ("none", "one_stick", "two_sticks", "one_crutch", "two_crutches", "frame", "other")
#: A stopwatch in a hand, started and stopped as a foot crosses the line.
STOPWATCH = Basis("stopwatch", "foot crosses the line")
#: Longest that a timed test runs before it is no test: a quarter of an hour.
_LONGEST_S = 900.0
_LONGEST_RUN_UP_M = 50.0
#: Minutes of the timed walks that have published tables.
MINUTES = (2, 6)


@dataclass(frozen=True)
class TenMetreWalk:
    """A ten-metre walk: one or more ``times_s`` over ``timed_length_m``.

    The timed length is what the watch ran for (10 m, or the middle 6 m of it);
    taking one for the other is an error of 1.67.  ``run_up_m`` lies before it,
    untimed.
    """

    times_s: tuple[float, ...]
    timed_length_m: float
    run_up_m: float
    pace: str
    aid: str
    basis: Basis = STOPWATCH

    @property
    def setting(self) -> tuple[tuple[str, str], ...]:
        """Return what must be the same for a comparison."""
        return (
            ("timed_length_m", f"{self.timed_length_m:g}"), ("run_up_m", f"{self.run_up_m:g}"),
            ("pace", self.pace), ("aid", self.aid),
        )


@dataclass(frozen=True)
class TimedWalk:
    """A walk of a set time: metres walked in 2 or 6 ``minutes``."""

    minutes: int
    distance_m: float
    aid: str
    basis: Basis = Basis("measured course", "distance at the end of the time")


@dataclass(frozen=True)
class UpAndGo:
    """A timed up and go: ``time_s`` to rise, walk 3 m, turn, walk back and sit."""

    time_s: float
    pace: str
    aid: str
    basis: Basis = STOPWATCH


def ten_metre_speed(walk: TenMetreWalk) -> Measured:
    """Return the speed in m/s: timed length / mean time of the trials.

    9.43 s over 10 m is 1.06 m/s; over the middle 6 m it would be 5.66 s.
    Raises Refusal: timed_test_* and walk_time_cannot_be.
    """
    if not walk.times_s:
        raise Refusal("timed_test_without_trial")
    if not 0 < walk.timed_length_m <= 100:
        raise Refusal("timed_test_length_cannot_be", field="timed_length_m", value=walk.timed_length_m)
    if not 0 <= walk.run_up_m <= _LONGEST_RUN_UP_M:
        raise Refusal("timed_test_run_up_cannot_be", field="run_up_m", value=walk.run_up_m, largest=_LONGEST_RUN_UP_M)
    _choose("pace", walk.pace, PACES)
    _choose("aid", walk.aid, AIDS)
    for time_s in walk.times_s:
        _refuse_time(time_s)
    mean_s = math.fsum(walk.times_s) / len(walk.times_s)
    value = speed_m_per_s(walk.timed_length_m, mean_s)
    return Measured("ten_metre_speed_m_per_s", value, walk.basis, walk.setting)


def timed_walk(walk: TimedWalk) -> Measured:
    """Return the distance of a two- or six-minute walk in metres."""
    if walk.minutes not in MINUTES:
        raise Refusal("timed_test_minutes_unknown", value=walk.minutes)
    _choose("aid", walk.aid, AIDS)
    timed_walk_speed_m_per_s(walk)
    measure = "two_minute_walk_m" if walk.minutes == 2 else "six_minute_walk_m"
    return Measured(measure, walk.distance_m, walk.basis, (("aid", walk.aid),))


def timed_walk_speed_m_per_s(walk: TimedWalk) -> float:
    """Return distance / time of a timed walk; 300 m in six minutes is 0.833 m/s."""
    return speed_m_per_s(walk.distance_m, 60.0 * walk.minutes)


def up_and_go(test: UpAndGo) -> Measured:
    """Return the time of a timed up and go in seconds; lower is better."""
    _choose("pace", test.pace, PACES)
    _choose("aid", test.aid, AIDS)
    _refuse_time(test.time_s)
    return Measured("timed_up_and_go_s", test.time_s, test.basis, (("pace", test.pace), ("aid", test.aid)))


def _refuse_time(time_s: float) -> None:
    if isinstance(time_s, bool) or not 0 < time_s <= _LONGEST_S:
        raise Refusal("timed_test_time_cannot_be", field="time_s", value=time_s, largest=_LONGEST_S)


def _choose(field: str, value: str, known: Sequence[str]) -> None:
    if value not in known:
        raise Refusal("timed_test_choice_unknown", field=field, value=value, known=", ".join(known))
