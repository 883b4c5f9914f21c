"""Published figures to hold a timed test against, each with its setting.

They are shown beside a value, never turned into a level: speed explains only
a third of the spread between levels (Carse B et al. Gait Posture
2021;88:221-224: R squared 0.33), and the same level differs by a factor of
about 1.8 between people leaving hospital and established users.
"""

from __future__ import annotations

from dataclasses import dataclass

_BATTEN = "Batten HR et al. Prosthet Orthot Int 2019;43(2):196-203, doi 10.1177/0309364618792723"
_GAUNAURD = "Gaunaurd I et al. Arch Phys Med Rehabil 2020, doi 10.1016/j.apmr.2020.03.007"
_GAILEY = "Gailey RS et al. Arch Phys Med Rehabil 2002;83:613-27 (from memory)"
_DITE = "Dite W, Connor HJ, Curtis HC. Arch Phys Med Rehabil 2007;88:109-14"
_SAWERS = "Sawers A, Hafner BJ. PM R 2020;12:16-25"
_LEAVING = "leaving hospital, usual pace"
_ESTABLISHED = "established users of a prosthesis"


@dataclass(frozen=True)
class Norm:
    """One published figure of a group.

    ``group`` is a level ('1' to '4'), 'all', 'above_knee' or 'below_knee'.
    ``middle`` is a mean with ``spread`` as standard deviation, or a median with
    ``low`` and ``high`` as quartiles.  ``n`` is None where it is not known.
    """

    measure: str
    group: str
    setting: str
    middle: float
    source: str
    spread: float | None = None
    low: float | None = None
    high: float | None = None
    n: int | None = None


@dataclass(frozen=True)
class FallsCutOff:
    """A published cut-off for falls; ``limit`` and above is the fallers' side.

    Each belongs to its own population; two of them never make one rule.
    """

    measure: str
    limit: float
    population: str
    source: str
    sensitivity_percent: float | None = None
    specificity_percent: float | None = None


def _leaving(group: str, middle: float, low: float, high: float, n: int | None = None) -> Norm:
    return Norm("ten_metre_speed_m_per_s", group, _LEAVING, middle, _BATTEN, low=low, high=high, n=n)


def _walked(group: str, middle: float, spread: float, n: int) -> Norm:
    return Norm("two_minute_walk_m", group, _ESTABLISHED, middle, _GAUNAURD, spread=spread, n=n)


def _six(group: str, middle: float, spread: float) -> Norm:
    return Norm("six_minute_walk_m", group, "mixed, prosthetic training completed", middle, _GAILEY, spread=spread)


NORMS: tuple[Norm, ...] = (
    _leaving("1", 0.17, 0.15, 0.19), _leaving("2", 0.38, 0.25, 0.54),
    _leaving("3", 0.63, 0.50, 0.71), _leaving("4", 1.06, 0.95, 1.18),
    _leaving("all", 0.52, 0.37, 0.67, 110),
    _walked("2", 81.7, 26.9, 7), _walked("3", 138.4, 28.5, 70), _walked("4", 177.9, 31.1, 24),
    _walked("all", 143.8, 37.5, 101), _walked("above_knee", 135.6, 43.0, 53),
    _walked("below_knee", 152.9, 43.0, 48),
    _six("1", 49.9, 29.8), _six("2", 189.9, 111.3), _six("3", 298.6, 102.4), _six("4", 419.5, 86.2),
)

FALLS_CUT_OFFS: tuple[FallsCutOff, ...] = (
    FallsCutOff("timed_up_and_go_s", 19.0, "below-knee, six months after discharge, several falls, n = 40", _DITE, 85, 74),
    FallsCutOff("timed_up_and_go_s", 8.17, "established users, below and above knee, n = 40", _SAWERS),
)

#: Metres in six minutes taken as walking in the community (Reid L et al. J
#: Rehabil Med 2015;47(3), doi 10.2340/16501977-1916): 0.833 m/s on average.
COMMUNITY_SIX_MINUTES_M = 300.0


def norms_for(measure: str) -> tuple[Norm, ...]:
    """Return the published figures of a measure, in the order of groups."""
    return tuple(norm for norm in NORMS if norm.measure == measure)


def falls_cut_offs_for(measure: str) -> tuple[FallsCutOff, ...]:
    """Return the published cut-offs of a measure, each for its own population."""
    return tuple(each for each in FALLS_CUT_OFFS if each.measure == measure)
