"""All figures of one walk, twice: every interval, and steady walking only."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Mapping, Sequence

from shared_models.calculations.timing import intervals as of
from shared_models.calculations.timing.blocks import FEWEST_CLEAN, FEWEST_WITH_ENDS, Block, block_of
from shared_models.calculations.timing.contacts import (
    SIDES, Contact, Doubt, doubts_in, refuse_impossible,
)
from shared_models.calculations.timing.figures import Basis, Because, Figure
from shared_models.calculations.timing.intervals import Interval
from shared_models.calculations.timing.jitter import NORMAL_975, THUMB_JITTER_S, refuse_jitter
from shared_models.calculations.timing.steady import LeftOut, Steadiness
from shared_models.quantities.refusals import Refusal

CADENCE = "60 * (contacts - 1) / duration_s; contacts from the first to the last with a time"
DURATION = "time of the last contact - time of the first"
SPEED = "distance_m / duration_s"
#: Shortest time from the first to the last contact that is a walk at all.
SHORTEST_WALK_S = 0.01
#: Longest distance that a walk is measured over: a day's march.
LONGEST_WALK_M = 100_000.0
STEADY_CADENCE = "60 / mean step time of both sides, steady steps only"


@dataclass(frozen=True)
class WalkFigures:
    """Figures of one walk.

    ``all`` leaves nothing out; ``steady`` leaves out what ``left_out`` lists.
    ``whole`` holds duration_s, cadence_steps_per_min, speed_m_per_s and
    steady_cadence_steps_per_min, a figure each; a missing one has its
    ``because``.
    """

    contacts: tuple[Contact, ...]
    finals: tuple[Contact, ...]
    basis: Basis
    jitter_s: float
    doubts: tuple[Doubt, ...]
    whole: Mapping[str, Figure]
    all: Block
    steady: Block
    left_out: tuple[LeftOut, ...]


def walk_figures(
    contacts: Sequence[Contact], *, basis: Basis, finals: Sequence[Contact] = (),
    distance_m: float | None = None, jitter_s: float = THUMB_JITTER_S,
    from_standing: bool = True, to_standing: bool = True, prosthesis_side: str = "",
) -> WalkFigures:
    """Return every figure of initial contacts (and final contacts, where given).

    ``distance_m`` was walked between the first and the last contact.
    ``from_standing``, ``to_standing``: the taps include the first or last
    strides; say False for a walk tapped in the middle only.
    ``prosthesis_side`` (left, right or '') adds each index as prosthesis
    against sound side.

    Raises Refusal: contacts_too_few, contact_* (see ``contacts``),
    walk_takes_no_time, walk_distance_cannot_be, jitter_cannot_be,
    prosthesis_side_unknown.
    """
    refuse_impossible(contacts)
    refuse_impossible(finals, "final")
    refuse_jitter(jitter_s)
    if prosthesis_side not in ("", *SIDES):
        raise Refusal("prosthesis_side_unknown", side=prosthesis_side)
    duration_s = _duration_s(contacts)
    doubts = doubts_in(contacts)
    everything = {
        "step_time_s": of.steps(contacts), "stride_time_s": of.strides(contacts),
        "contact_interval_s": of.gaps(contacts),
        "swing_time_s": of.swings(contacts, finals), "stance_time_s": of.stances(contacts, finals),
    }
    steadiness = Steadiness(
        contacts, everything["step_time_s"], everything["stride_time_s"], doubts,
        jitter_s=jitter_s, from_standing=from_standing, to_standing=to_standing,
    )
    steady: dict[str, tuple[Interval, ...]] = {}
    left_out: list[LeftOut] = []
    for quantity, found in everything.items():
        steady[quantity], others = steadiness.split(found)
        left_out.extend(others)
    fewest = FEWEST_WITH_ENDS if left_out else FEWEST_CLEAN
    steady_block = block_of(steady, basis, jitter_s, FEWEST_CLEAN, prosthesis_side)
    whole = _whole(contacts, duration_s, distance_m, basis, jitter_s, steady_block)
    return WalkFigures(
        tuple(contacts), tuple(finals), basis, jitter_s, doubts, whole,
        block_of(everything, basis, jitter_s, fewest, prosthesis_side), steady_block, tuple(left_out),
    )


def _duration_s(contacts: Sequence[Contact]) -> float:
    times = [c.time_s for c in contacts if c.time_s is not None]
    if len(times) < 2:
        raise Refusal("contacts_too_few", contacts=len(times), fewest=2)
    if times[-1] - times[0] < SHORTEST_WALK_S:
        raise Refusal("walk_takes_no_time", first_s=times[0], last_s=times[-1])
    return times[-1] - times[0]


def _whole(
    contacts: Sequence[Contact], duration_s: float, distance_m: float | None,
    basis: Basis, jitter_s: float, steady: Block,
) -> dict[str, Figure]:
    timed = [i for i, c in enumerate(contacts) if c.time_s is not None]
    n = timed[-1] - timed[0]
    u_s = jitter_s * math.sqrt(2)
    made = [_figure("duration_s", duration_s, n, basis, DURATION, u_s)]
    if {c.side for c in contacts} == set(SIDES):
        cadence = 60 * n / duration_s
        made.append(_figure(
            "cadence_steps_per_min", cadence, n, basis, CADENCE, cadence * u_s / duration_s))
    else:
        made.append(_missing("cadence_steps_per_min", basis, CADENCE, "one_side_has_no_steps"))
    if distance_m is None:
        made.append(_missing("speed_m_per_s", basis, SPEED, "no_distance"))
    else:
        speed = speed_m_per_s(distance_m, duration_s)
        made.append(_figure("speed_m_per_s", speed, n, basis, SPEED, speed * u_s / duration_s))
    made.append(_steady_cadence(steady, basis))
    return {figure.quantity: figure for figure in made}


def speed_m_per_s(distance_m: float, time_s: float) -> float:
    """Return distance / time; both must be finite and above 0."""
    if isinstance(distance_m, bool) or not 0 < distance_m <= LONGEST_WALK_M:
        raise Refusal("walk_distance_cannot_be", field="distance_m", value=distance_m)
    if isinstance(time_s, bool) or not math.isfinite(time_s) or time_s <= 0:
        raise Refusal("walk_time_cannot_be", field="time_s", value=time_s)
    return distance_m / time_s


def _steady_cadence(steady: Block, basis: Basis) -> Figure:
    mean = steady.figure("step_time_s", "both", "mean")
    if mean.value is None or mean.value <= 0:
        return _missing("steady_cadence_steps_per_min", basis, STEADY_CADENCE, "no_steady_steps")
    made = _figure(
        "steady_cadence_steps_per_min", 60 / mean.value, mean.n, basis, STEADY_CADENCE,
        60 / mean.value ** 2 * (mean.u_taps or 0.0))
    low, high = (60 / end if end and end > 0 else None for end in (mean.high, mean.low))
    return replace(made, low=low, high=high, because=mean.because)


def _figure(
    quantity: str, value: float, n: int, basis: Basis, formula: str, u_taps: float
) -> Figure:
    wide = NORMAL_975 * u_taps
    return Figure(
        quantity, "", "", value, n, basis, formula, u_taps=u_taps,
        taps_low=value - wide, taps_high=value + wide,
    )


def _missing(quantity: str, basis: Basis, formula: str, code: str) -> Figure:
    return Figure(quantity, "", "", None, 0, basis, formula, because=Because(code))
