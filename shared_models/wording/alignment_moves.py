"""Sentences of what to move: which adapter, how far, and what that does to foot and height."""

from __future__ import annotations

from shared_models.calculations.alignment.chain import Turn
from shared_models.calculations.alignment.corrections import (
    LARGEST_MOVE_MM,
    OPPOSITE_TILTS,
    Correction,
    Suggestions,
)
from shared_models.checks.alignment_reading import AlignmentReading
from shared_models.wording.alignment_figures import DOUBT, INFO, STANDING, Note, plain, tenth

#: Below these a change of angle or height is said to stay; a tenth of what is read.
_SAME_DEG, _SAME_MM = 0.05, 0.5
#: How many ways are said besides the first.
_OTHER_WAYS = 2


def suggestion_notes(reading: AlignmentReading) -> list[Note]:
    """Return what to move so that the line comes to its target; nothing where it is right."""
    found, line, target = reading.suggestions, reading.line, reading.target
    if found is None or line is None or target.target_mm is None or not reading.asks_move:
        return []
    off = target.target_mm - line.offset_mm
    if reading.is_too_coarse:
        return [Note(
            DOUBT, "Read again before anything is moved.",
            f"It is {plain(abs(off))} mm from the target, less than the reading is sure to (± {tenth(line.half_width_95_mm or 0)} mm).",
        )]
    if found.best is None:
        return [_not_reachable(found)]
    return [_suggested(reading, found, found.best, off)]


def _suggested(reading: AlignmentReading, found: Suggestions, best: Correction, off: float) -> Note:
    parts = [_effect(best)]
    half = reading.line.half_width_95_mm if reading.line else None
    sure = f" ± {tenth(half)}" if half is not None else ""
    name = "reference line" if reading.is_bench else "load line"
    where = "behind" if off > 0 else "in front of"
    parts.append(f"Because the {name} lies {tenth(abs(off))}{sure} mm {where} its target.")
    if best.at_limit:
        parts.append(_as_far_as(best).strip())
    if abs(best.moves_mm) > LARGEST_MOVE_MM:
        parts.append(f"More than {plain(LARGEST_MOVE_MM)} mm: go half way, stand and read again.")
    if reading.counted_from_middle:
        parts.append("Counted as if every adapter stood in its middle, because how they stand now is not filled in.")
    parts.append("After the move read again.")
    others = [f"Or: {_moves(way)} {_effect(way)}{_as_far_as(way)}" for way in found.ways[1:1 + _OTHER_WAYS]]
    return Note(
        INFO, f"To bring it to {plain(found.target_mm)} mm: {_moves(best)}",
        "\n".join([" ".join(parts), *others]),
    )


def _as_far_as(way: Correction) -> str:
    """Return where an adapter stops, '' when it reaches the target."""
    return f" That is as far as it goes: the line then lies at {plain(way.offset_mm)} mm, within tolerance." if way.at_limit else ""


def _not_reachable(found: Suggestions) -> Note:
    lead = f"Not reachable: no adapter of this leg brings it to {plain(found.target_mm)} ± {plain(found.tolerance_mm)} mm by itself."
    if found.nearest is None:
        return Note(DOUBT, lead, "The sheets list no adapter that can be tilted or slid.")
    if abs(found.nearest.moves_mm) < 0.05:
        return Note(DOUBT, lead, "None has any way left in that direction.")
    return Note(
        DOUBT, lead,
        f"The nearest is {plain(found.nearest.offset_mm)} mm: {_moves(found.nearest)} {_effect(found.nearest)} "
        "Look at the socket's place and at the foot before anything is forced.",
    )


def _moves(way: Correction) -> str:
    """Return what to do at which adapter."""
    first = _move(way.turns[0])
    if way.sort != OPPOSITE_TILTS:
        return f"{first}."
    second = way.turns[1]
    return f"{first}, and {tenth(abs(second.tilt_deg))}° {_way(second.tilt_deg)} again at '{second.joint}'."


def _move(turn: Turn) -> str:
    if turn.slide_mm:
        return f"at '{turn.joint}' slide what is above it {tenth(abs(turn.slide_mm))} mm {_way(turn.slide_mm)}"
    return f"at '{turn.joint}' tip what is above it {tenth(abs(turn.tilt_deg))}° {_way(turn.tilt_deg)}"


def _way(value: float) -> str:
    return "forward" if value > 0 else "back"


def _effect(way: Correction) -> str:
    """Return what it does to foot angle, knee and height."""
    parts = []
    if abs(way.foot_angle_change_deg) < _SAME_DEG:
        parts.append("the foot keeps its angle")
    else:
        toes = "up" if way.foot_angle_change_deg > 0 else "down"
        parts.append(f"the foot turns {tenth(abs(way.foot_angle_change_deg))}° toes {toes}")
    if way.sort == OPPOSITE_TILTS and abs(way.shank_angle_change_deg) >= _SAME_DEG:
        parts.append(f"the shank tips {tenth(abs(way.shank_angle_change_deg))}° {_way(way.shank_angle_change_deg)}")
    if abs(way.height_change_mm) < _SAME_MM:
        parts.append("the height stays")
    else:
        change = "longer" if way.height_change_mm > 0 else "shorter"
        parts.append(f"the leg gets {tenth(abs(way.height_change_mm))} mm {change}")
    text = ", ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."


def heel_words(reading: AlignmentReading) -> list[Note]:
    """Return what a shoe of another heel height does to the leg as built."""
    if not reading.heel_change_mm:
        return []
    change = reading.heel_change_mm
    lead = f"The shoe's heel is {plain(abs(change))} mm {'higher' if change > 0 else 'lower'} than built in."
    heel = reading.heel
    if heel is None:
        return [Note(DOUBT, lead, "What that does is not available: the foot's sheet lacks heel to ball, or the heights are not recorded.", STANDING)]
    tips = "forward" if heel.sole_tilt_deg > 0 else "back"
    moves = "forward" if heel.offset_change_mm > 0 else "back"
    text = (
        f"It tips the whole leg {tenth(abs(heel.sole_tilt_deg))}° {tips}, the line over the foot moves "
        f"{plain(abs(heel.offset_change_mm))} mm {moves} against the knee, the knee centre stands "
        f"{plain(abs(heel.height_change_mm))} mm {'higher' if heel.height_change_mm > 0 else 'lower'}."
    )
    if heel.undone_by is not None and heel.within_limit:
        text += f" {_move(heel.undone_by)[:1].upper()}{_move(heel.undone_by)[1:]} to set it upright again."
    else:
        text += " No adapter has that much tilt left: fit another foot or shoe."
    return [Note(DOUBT, lead, text, STANDING)]
