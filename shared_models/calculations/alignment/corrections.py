"""Which tilt, pair of opposite tilts or slide brings the line to its target.

Each way is solved exactly on the chain, held within what the adapter has left
in that direction, and carried through it once more: what comes out is what the
chain says, not the formula.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Iterable

from shared_models.calculations.alignment.chain import (
    FOOT,
    SOCKET,
    Chain,
    Joint,
    Line,
    Turn,
    line_from_offset,
    offset_mm,
)
from shared_models.calculations.alignment.sound_figures import sound

SLIDE, OPPOSITE_TILTS, SINGLE_TILT = "slide", "opposite_tilts", "single_tilt"
#: A knee 20 mm further forward changes how people walk: Koehler-McNicholas SR
#: et al., J Rehabil Res Dev 2016;53(6):1089-1106.  Half of it at a time, then read again.
LARGEST_MOVE_MM = 10.0
_EXACT_MM = 1e-6


@dataclass(frozen=True)
class Correction:
    """One way to move the knee centre against the line.

    ``moves_mm``: by how much the offset changes; ``offset_mm`` where it ends.
    ``reached``: whether that lies within tolerance; ``at_limit``: an adapter
    stops it before the target.  ``foot_angle_change_deg`` is foot against
    socket, plus = toes up; ``shank_angle_change_deg`` the knee's own part
    against the foot, plus = tipped forward; ``height_change_mm`` the top of
    the leg, plus = longer.
    """

    sort: str
    turns: tuple[Turn, ...]
    moves_mm: float
    offset_mm: float
    reached: bool
    at_limit: bool
    foot_angle_change_deg: float
    shank_angle_change_deg: float
    height_change_mm: float


@dataclass(frozen=True)
class Suggestions:
    """Every way of moving a line to its target, the gentlest first.

    ``nearest`` is the way that comes nearest when none reaches the tolerance;
    ``lacks`` names what a sheet would have to state for more ways.
    """

    offset_mm: float
    target_mm: float
    tolerance_mm: float
    ways: tuple[Correction, ...]
    nearest: Correction | None = None
    lacks: tuple[str, ...] = ()

    @property
    def best(self) -> Correction | None:
        """The way that changes least besides the knee's place; None when none reaches."""
        return self.ways[0] if self.ways else None


def corrections(
    chain: Chain, offset_now_mm: float, target_mm: float, tolerance_mm: float,
) -> Suggestions:
    """Return the ways to bring a line from where it is read to its target.

    A slide comes first because it changes neither angle nor height, then a
    pair of opposite tilts, then a single tilt, which turns the foot.
    """
    now = sound("Offset of the line", offset_now_mm, "mm", -2000.0, 2000.0)
    target = sound("Target", target_mm, "mm", -2000.0, 2000.0)
    tolerance = sound("Tolerance", tolerance_mm, "mm", 0.0, 500.0)
    ways = [
        _carried_through(chain, now, target, tolerance, sort, turns, keeps_to)
        for sort, turns, keeps_to in _candidates(chain, target - now)
    ]
    ways.sort(key=lambda way: (
        way.at_limit, (SLIDE, OPPOSITE_TILTS, SINGLE_TILT).index(way.sort),
        sum(abs(turn.tilt_deg) for turn in way.turns),
    ))
    reaching = tuple(way for way in ways if way.reached)
    nearest = None
    if not reaching and ways:
        nearest = min(ways, key=lambda way: abs(way.offset_mm - target))
    return Suggestions(now, target, tolerance, reaching, nearest)


def _candidates(chain: Chain, change: float) -> Iterable[tuple[str, tuple[Turn, ...], str]]:
    """Every way with how far it has to go, cut off at the adapters' limits."""
    for joint in chain.joints:
        below = chain.is_below_knee(joint)
        if joint.slide_limit_mm > 0:
            yield SLIDE, _slide(chain, joint, change), FOOT if below else SOCKET
        if joint.tilt_limit_deg > 0 and (below or chain.reference_at_mm is not None):
            end = chain.knee_at_mm if below else chain.reference_at_mm
            yield SINGLE_TILT, _tilt(chain, joint, None, end, change), FOOT if below else SOCKET
    tilting = [joint for joint in chain.joints if joint.tilt_limit_deg > 0]
    for number, low in enumerate(tilting):
        for high in tilting[number + 1:]:
            below = chain.is_below_knee(low)
            end = min(high.at_mm, chain.knee_at_mm) if below else high.at_mm
            if end > low.at_mm:
                yield OPPOSITE_TILTS, _tilt(chain, low, high, end, change), FOOT if below else SOCKET


def _slide(chain: Chain, joint: Joint, change: float) -> tuple[Turn, ...]:
    """Below the knee a slide carries the knee away from the line, above it the line from the knee."""
    tilt = chain.point(joint.at_mm).tilt_deg
    level = math.cos(math.radians(tilt))
    wanted = (-change if chain.is_below_knee(joint) else change) / level
    held = _held(wanted, -joint.slide_limit_mm - joint.slide_mm, joint.slide_limit_mm - joint.slide_mm)
    return (Turn(joint.name, slide_mm=held),)


def _tilt(chain: Chain, low: Joint, high: Joint | None, end_mm: float, change: float) -> tuple[Turn, ...]:
    """Tilt at ``low``, and back at ``high`` so that all above keeps its angle."""
    foot, end = chain.point(low.at_mm, low.name), chain.point(end_mm)
    across, up = end.x_mm - foot.x_mm, end.y_mm - foot.y_mm
    shift = -change if chain.is_below_knee(low) else change
    reach = max(math.hypot(across, up), _EXACT_MM)
    sine = max(-1.0, min(1.0, (across + shift) / reach))
    wanted = math.degrees(math.asin(sine) - math.atan2(across, up))
    lowest, highest = -low.tilt_limit_deg - low.tilt_deg, low.tilt_limit_deg - low.tilt_deg
    if high is not None:
        lowest = max(lowest, high.tilt_deg - high.tilt_limit_deg)
        highest = min(highest, high.tilt_deg + high.tilt_limit_deg)
    held = _held(wanted, lowest, highest)
    turns = (Turn(low.name, tilt_deg=held),)
    return turns if high is None else (*turns, Turn(high.name, tilt_deg=-held))


def _held(wanted: float, lowest: float, highest: float) -> float:
    """Hold a change within what is left; nothing is left where a joint stands past its limit."""
    if lowest > highest:
        return 0.0
    return min(max(wanted, min(lowest, 0.0)), max(highest, 0.0))


def _carried_through(
    chain: Chain, now: float, target: float, tolerance: float, sort: str,
    turns: tuple[Turn, ...], keeps_to: str,
) -> Correction:
    line = line_from_offset(chain, now, keeps_to)
    after = chain.turned(turns)
    there = offset_mm(after, line)
    return Correction(
        sort, turns, there - now, there, abs(there - target) <= tolerance + _EXACT_MM,
        abs(there - target) > 0.05, after.foot_angle_deg - chain.foot_angle_deg,
        after.knee.tilt_deg - chain.knee.tilt_deg, after.top.y_mm - chain.top.y_mm,
    )


@dataclass(frozen=True)
class HeelChange:
    """What another heel height does to a leg that was aligned for the first one.

    ``sole_tilt_deg``: plus = the whole leg tips forward; ``offset_change_mm``
    of a line kept to the foot; ``height_change_mm`` of the knee centre.
    ``undone_by`` is the tilt at the lowest joint that sets the leg upright
    again; ``within_limit`` whether that joint has it left.
    """

    sole_tilt_deg: float
    offset_change_mm: float
    height_change_mm: float
    undone_by: Turn | None
    within_limit: bool


def heel_change(chain: Chain, change_mm: float, heel_to_ball_mm: float, ball_ahead_mm: float) -> HeelChange:
    """Carry a change of heel height (plus = higher heel) through the leg."""
    length = sound("Heel to ball", heel_to_ball_mm, "mm", 50.0, 300.0)
    ahead = sound("Ball in front of the ankle", ball_ahead_mm, "mm", 0.0, 300.0)
    change = sound("Change of heel height", change_mm, "mm", -length, length)
    tilt = math.degrees(math.asin(change / length))
    tipped = Chain(chain.joints, chain.knee_at_mm, chain.reference_at_mm, chain.sole_tilt_deg + tilt, ahead)
    flat = Chain(chain.joints, chain.knee_at_mm, chain.reference_at_mm, chain.sole_tilt_deg, ahead)
    lowest = next((joint for joint in chain.joints if joint.tilt_limit_deg > 0), None)
    undone = Turn(lowest.name, tilt_deg=-tilt) if lowest else None
    fits = lowest is not None and abs(lowest.tilt_deg - tilt) <= lowest.tilt_limit_deg
    return HeelChange(
        tilt, flat.knee.x_mm - tipped.knee.x_mm, tipped.knee.y_mm - flat.knee.y_mm, undone, fits
    )
