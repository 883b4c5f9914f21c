"""Stairs and ramps: time per step and side, symmetry, landings left aside.

The step of the sound side is the one that counts on the way down: it lasts
from the prosthesis landing until the sound foot lands, while the prosthetic
knee yields.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

from shared_models.calculations.timing import intervals as of
from shared_models.calculations.timing.blocks import FEWEST_CLEAN, Block, block_of
from shared_models.calculations.timing.contacts import (
    SIDES, Contact, Doubt, doubts_in, refuse_impossible,
)
from shared_models.calculations.timing.figures import Basis
from shared_models.calculations.timing.intervals import Interval
from shared_models.calculations.timing.jitter import THUMB_JITTER_S, refuse_jitter
from shared_models.calculations.timing.stair_records import DIRECTIONS
from shared_models.calculations.timing.steady import LeftOut, Steadiness
from shared_models.calculations.timing.walk import SHORTEST_WALK_S
from shared_models.quantities.refusals import Refusal

FEWEST_CONTACTS = 2
#: Steepest that is a ramp and not a stair: 1 in 3, in degrees; common practice.
_STEEPEST_RAMP_DEG = 18.5


@dataclass(frozen=True)
class StairContact:
    """A foot contact on a tread or ramp, or on a ``landing`` between two flights.

    ``time_s`` is None when an instrument saw it and states no time.
    """

    side: str
    time_s: float | None
    landing: bool = False


@dataclass(frozen=True)
class StairFigures:
    """Figures of one way up or down.

    ``all`` holds every interval, landings and all; ``flights`` only steps that
    begin on a tread or the ramp.  ``left_out`` says what and why.
    ``landing_s`` is the time on each landing: from the foot that lands on it
    to the first foot that lands beyond it.
    ``pattern`` is what the number of contacts says: step_over_step, step_to or
    '' when it fits neither (or no treads were stated).
    """

    direction: str
    prosthesis_side: str
    basis: Basis
    jitter_s: float
    duration_s: float
    landing_s: tuple[float, ...]
    time_per_tread_s: float | None
    pattern: str
    doubts: tuple[Doubt, ...]
    all: Block
    flights: Block
    left_out: tuple[LeftOut, ...]


def stair_figures(
    contacts: Sequence[StairContact], *, direction: str, basis: Basis,
    treads: int | None = None, prosthesis_side: str = "", jitter_s: float = THUMB_JITTER_S,
) -> StairFigures:
    """Return times per step and side, their symmetry, and what the landings took.

    ``treads`` counts the steps of the stair, landings counted as one each; None
    on a ramp.  ``time_per_tread_s`` = (duration - time on landings) / treads
    walked between the first and the last contact.  Raises Refusal as
    ``walk_figures`` does, and timed_test_choice_unknown, stair_figure_cannot_be.
    """
    plain = [Contact(each.side, each.time_s) for each in contacts]
    _refuse(plain, direction, treads, prosthesis_side, jitter_s)
    doubts = doubts_in(plain)
    everything = {
        "step_time_s": of.steps(plain), "stride_time_s": of.strides(plain),
        "contact_interval_s": of.gaps(plain),
    }
    on_landing = [gap for gap in range(len(contacts) - 1) if contacts[gap].landing]
    steadiness = Steadiness(
        plain, everything["step_time_s"], everything["stride_time_s"], doubts,
        jitter_s=jitter_s, from_standing=False, to_standing=False, landings=on_landing,
    )
    flights: dict[str, tuple[Interval, ...]] = {}
    left_out: list[LeftOut] = []
    for quantity, found in everything.items():
        flights[quantity], others = steadiness.split(found)
        left_out.extend(others)
    timed = [each.time_s for each in plain if each.time_s is not None]
    duration_s = timed[-1] - timed[0]
    landing_s = _landing_s(contacts)
    pattern = _pattern(contacts, treads)
    return StairFigures(
        direction, prosthesis_side, basis, jitter_s, duration_s, landing_s,
        _time_per_tread_s(contacts, duration_s, landing_s, treads, pattern), pattern, doubts,
        block_of(everything, basis, jitter_s, FEWEST_CLEAN, prosthesis_side),
        block_of(flights, basis, jitter_s, FEWEST_CLEAN, prosthesis_side), tuple(left_out),
    )


def ramp_slope_deg(rise_mm: float, length_mm: float) -> float:
    """Return the slope of a ramp in degrees from its rise and level length.

    1 in 12 is 4.764 degrees; a slope of 8.75 % is 5 degrees.
    """
    if not (math.isfinite(rise_mm) and rise_mm >= 0):
        raise Refusal("stair_figure_cannot_be", field="rise_mm", value=rise_mm, lowest=0, highest="the length")
    if not (math.isfinite(length_mm) and length_mm > 0):
        raise Refusal("stair_figure_cannot_be", field="length_mm", value=length_mm, lowest="above 0", highest="the ramp's own")
    slope = math.degrees(math.atan2(rise_mm, length_mm))
    if slope > _STEEPEST_RAMP_DEG:
        raise Refusal("ramp_too_steep", slope_deg=round(slope, 1), steepest_deg=_STEEPEST_RAMP_DEG)
    return slope


def _refuse(
    plain: Sequence[Contact], direction: str, treads: int | None, prosthesis_side: str, jitter_s: float
) -> None:
    refuse_impossible(plain)
    refuse_jitter(jitter_s)
    if direction not in DIRECTIONS:
        raise Refusal("timed_test_choice_unknown", field="direction", value=direction, known=", ".join(DIRECTIONS))
    if prosthesis_side not in ("", *SIDES):
        raise Refusal("prosthesis_side_unknown", side=prosthesis_side)
    if treads is not None and (isinstance(treads, bool) or not isinstance(treads, int) or not 1 <= treads <= 500):
        raise Refusal("stair_figure_cannot_be", field="treads", value=treads, lowest=1, highest=500)
    timed = [each.time_s for each in plain if each.time_s is not None]
    if len(timed) < FEWEST_CONTACTS:
        raise Refusal("contacts_too_few", contacts=len(timed), fewest=FEWEST_CONTACTS)
    if timed[-1] - timed[0] < SHORTEST_WALK_S:
        raise Refusal("walk_takes_no_time", first_s=timed[0], last_s=timed[-1])


def _landing_s(contacts: Sequence[StairContact]) -> tuple[float, ...]:
    """Return the time on each landing, from its first contact to the first one beyond."""
    found: list[float] = []
    first: StairContact | None = None
    for each in contacts:
        if each.landing:
            first = first or each
        elif first is not None:
            found += _between_s(first, each)
            first = None
    if first is not None and contacts[-1] is not first:
        found += _between_s(first, contacts[-1])
    return tuple(found)


def _between_s(first: StairContact, beyond: StairContact) -> list[float]:
    """Return the time between two contacts, nothing where one has none."""
    if first.time_s is None or beyond.time_s is None:
        return []
    return [beyond.time_s - first.time_s]


def _pattern(contacts: Sequence[StairContact], treads: int | None) -> str:
    """Return what the contacts on treads say; landings may be walked in any way."""
    if treads is None:
        return ""
    on_treads = sum(not each.landing for each in contacts) + _landings(contacts)
    if on_treads == treads and all(a.side != b.side for a, b in _within_flights(contacts)):
        return "step_over_step"
    return "step_to" if on_treads + _landings(contacts) == 2 * treads else ""


def _landings(contacts: Sequence[StairContact]) -> int:
    before = [None, *contacts]
    return sum(
        each.landing and (earlier is None or not earlier.landing)
        for earlier, each in zip(before, contacts)
    )


def _within_flights(contacts: Sequence[StairContact]) -> list[tuple[StairContact, StairContact]]:
    return [(a, b) for a, b in zip(contacts, contacts[1:]) if not a.landing]


def _time_per_tread_s(
    contacts: Sequence[StairContact], duration_s: float, landing_s: Sequence[float],
    treads: int | None, pattern: str,
) -> float | None:
    """Return the time for one tread.

    None without treads, when the contacts don't fit them, or when a contact
    has no time.
    """
    if treads is None or not pattern or any(each.time_s is None for each in contacts):
        return None
    walking_s = duration_s - math.fsum(landing_s)
    gaps = sum(not each.landing for each in contacts[:-1])
    contacts_a_tread = 1 if pattern == "step_over_step" else 2
    return walking_s * contacts_a_tread / gaps if gaps else None
