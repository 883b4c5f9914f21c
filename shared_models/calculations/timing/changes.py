"""Changed, or not more than measuring the same twice.

A difference counts as a change from the published minimal detectable change
on: abs(difference) >= MDC.  Equal counts, because the MDC is the smallest
difference that does.  Only like is compared with like: another instrument,
event definition, formula or setting is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Mapping

from shared_models.calculations.timing.figures import Basis, Because, Figure
from shared_models.calculations.timing.jitter import NORMAL_975
from shared_models.quantities.refusals import Refusal

#: 95 % point of the normal distribution, two-sided 90 %.
NORMAL_95 = 1.6448536269514722
#: Decimals to which a difference is rounded before it is held against a limit,
#: so that 15.0 - 11.4 is 3.6 and not 3.5999999999999996.
_DECIMALS = 9


@dataclass(frozen=True)
class Detectable:
    """A published minimal detectable change at 90 % confidence."""

    measure: str
    mdc90: float
    unit: str
    better: str
    population: str
    source: str


_RESNIK = (
    "44 people with unilateral lower-limb amputation, two tests within a week",
    "Resnik L, Borgia M. Phys Ther 2011;91(4):555-65 (figure from memory)",
)
#: From memory, each with a check: the standard deviation that MDC and ICC
#: imply fits independent samples (2MWT 35.8 m against 37.5 m).
DETECTABLE: Mapping[str, Detectable] = {
    each.measure: each for each in (
        Detectable("timed_up_and_go_s", 3.6, "s", "lower", *_RESNIK),
        Detectable("two_minute_walk_m", 34.3, "m", "higher", *_RESNIK),
        Detectable("six_minute_walk_m", 45.0, "m", "higher", *_RESNIK),
        Detectable("mobility_predictor_points", 3.4, "points", "higher", *_RESNIK),
    )
}


@dataclass(frozen=True)
class Measured:
    """A value of a timed test, with what it was measured with and how.

    ``setting`` holds whatever has to be the same for a comparison: timed
    length, run-up, pace, aid.
    """

    measure: str
    value: float
    basis: Basis
    setting: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Change:
    """What came of comparing two values of one measure.

    ``changed`` is None when it can't be said, with ``because``.  ``better`` is
    '' unless it changed; otherwise better or worse.
    """

    measure: str
    difference: float
    limit: float | None
    changed: bool | None
    better: str
    source: str
    because: Because | None = None


@dataclass(frozen=True)
class Shift:
    """How far a figure moved between two walks, after less before.

    ``low`` and ``high`` bound 95 %.  ``beyond_error`` says whether they leave 0
    out; None where no interval can be given or a figure is not worth showing.
    """

    key: str
    difference: float
    low: float | None
    high: float | None
    beyond_error: bool | None
    because: Because | None = None


def standard_error_of_measurement(sd: float, reliability: float) -> float:
    """Return SD * sqrt(1 - ICC), in the unit of the standard deviation.

    Refuses a negative standard deviation and a reliability outside 0 to 1.
    """
    if not (math.isfinite(sd) and sd >= 0):
        raise Refusal("reliability_cannot_be", field="sd", value=sd)
    if not 0 <= reliability <= 1:
        raise Refusal("reliability_cannot_be", field="reliability", value=reliability)
    return sd * math.sqrt(1 - reliability)


def mdc90(sem: float) -> float:
    """Return 1.645 * sqrt(2) * SEM: two measurements, 90 % confidence."""
    return NORMAL_95 * math.sqrt(2) * sem


def mdc95(sem: float) -> float:
    """Return 1.960 * sqrt(2) * SEM: two measurements, 95 % confidence."""
    return NORMAL_975 * math.sqrt(2) * sem


def change_of(before: Measured, after: Measured) -> Change:
    """Return whether a timed test changed by its published detectable change.

    Raises Refusal figures_not_comparable, naming what differs.
    """
    if before.measure != after.measure:
        _refuse_comparison("measure", before.measure, after.measure)
    _refuse_other_basis(before.basis, after.basis)
    earlier, later = dict(before.setting), dict(after.setting)
    for name in sorted(earlier.keys() | later.keys()):
        if earlier.get(name) != later.get(name):
            _refuse_comparison(name, earlier.get(name, ""), later.get(name, ""))
    difference = round(after.value - before.value, _DECIMALS)
    if not math.isfinite(difference):
        raise Refusal("figures_not_numbers", measure=before.measure)
    known = DETECTABLE.get(before.measure)
    if known is None:
        because = Because("no_published_change", {"measure": before.measure})
        return Change(before.measure, difference, None, None, "", "", because)
    changed = abs(difference) >= known.mdc90
    better = ""
    if changed:
        better = "better" if (difference < 0) == (known.better == "lower") else "worse"
    return Change(before.measure, difference, known.mdc90, changed, better, known.source)


def shift_of(before: Figure, after: Figure) -> Shift:
    """Return how far a figure moved between two walks, with the error of both.

    For figures without a published detectable change, such as symmetry.
    Raises Refusal figures_not_comparable, naming what differs.
    """
    if before.key != after.key:
        _refuse_comparison("figure", before.key, after.key)
    if before.formula != after.formula:
        _refuse_comparison("formula", before.formula, after.formula)
    _refuse_other_basis(before.basis, after.basis)
    if before.value is None or after.value is None:
        raise Refusal("figures_not_numbers", measure=before.key)
    difference = after.value - before.value
    because = before.because or after.because
    reach = [_half_width(figure) for figure in (before, after)]
    if reach[0] is None or reach[1] is None:
        return Shift(before.key, difference, None, None, None, because or Because("error_not_known"))
    half = math.hypot(reach[0], reach[1])
    low, high = difference - half, difference + half
    beyond = None if because else not low <= 0 <= high
    return Shift(before.key, difference, low, high, beyond, because)


def _half_width(figure: Figure) -> float | None:
    """Return half the 95 % interval; the taps' alone where nothing varies from step to step."""
    low, high = figure.low, figure.high
    if (low is None or high is None) and not figure.statistic:
        low, high = figure.taps_low, figure.taps_high
    return None if low is None or high is None else (high - low) / 2


def _refuse_other_basis(before: Basis, after: Basis) -> None:
    if before.instrument != after.instrument:
        _refuse_comparison("instrument", before.instrument, after.instrument)
    if before.event != after.event:
        _refuse_comparison("event", before.event, after.event)


def _refuse_comparison(what: str, before: str, after: str) -> None:
    raise Refusal("figures_not_comparable", what=what, before=before, after=after)
