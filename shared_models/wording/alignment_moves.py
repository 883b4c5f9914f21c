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
from shared_models.language import spoken
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
            DOUBT, spoken("Read again before anything is moved."),
            spoken("It is {off} mm from the target, less than the reading is sure to (± {half_width_95_mm} mm).", off=plain(abs(off)), half_width_95_mm=tenth(line.half_width_95_mm or 0)),
        )]
    if found.best is None:
        return [_not_reachable(found)]
    return [_suggested(reading, found, found.best, off)]


def _suggested(reading: AlignmentReading, found: Suggestions, best: Correction, off: float) -> Note:
    parts = [_effect(best)]
    half = reading.line.half_width_95_mm if reading.line else None
    sure = f" ± {tenth(half)}" if half is not None else ""
    name = spoken("reference line") if reading.is_bench else spoken("load line")
    where = spoken("behind") if off > 0 else spoken("in front of")
    parts.append(spoken("Because the {name} lies {off}{sure} mm {where} its target.", name=name, off=tenth(abs(off)), sure=sure, where=where))
    if best.at_limit:
        parts.append(_as_far_as(best).strip())
    if abs(best.moves_mm) > LARGEST_MOVE_MM:
        parts.append(spoken("More than {largest_move_mm} mm: go half way, stand and read again.", largest_move_mm=plain(LARGEST_MOVE_MM)))
    if reading.counted_from_middle:
        parts.append(spoken("Counted as if every adapter stood in its middle, because how they stand now is not filled in."))
    parts.append(spoken("After the move read again."))
    others = [spoken("Or: {moves} {effect}{as_far_as}", moves=_moves(way), effect=_effect(way), as_far_as=_as_far_as(way)) for way in found.ways[1:1 + _OTHER_WAYS]]
    return Note(
        INFO, spoken("To bring it to {target_mm} mm: {moves}", target_mm=plain(found.target_mm), moves=_moves(best)),
        "\n".join([" ".join(parts), *others]),
    )


def _as_far_as(way: Correction) -> str:
    """Return where an adapter stops, '' when it reaches the target."""
    return spoken(" That is as far as it goes: the line then lies at {offset_mm} mm, within tolerance.", offset_mm=plain(way.offset_mm)) if way.at_limit else ""


def _not_reachable(found: Suggestions) -> Note:
    lead = spoken("Not reachable: no adapter of this leg brings it to {target_mm} ± {tolerance_mm} mm by itself.", target_mm=plain(found.target_mm), tolerance_mm=plain(found.tolerance_mm))
    if found.nearest is None:
        return Note(DOUBT, lead, spoken("The sheets list no adapter that can be tilted or slid."))
    if abs(found.nearest.moves_mm) < 0.05:
        return Note(DOUBT, lead, spoken("None has any way left in that direction."))
    return Note(
        DOUBT, lead,
        spoken("The nearest is {offset_mm} mm: {moves} {effect} Look at the socket's place and at the foot before anything is forced.", offset_mm=plain(found.nearest.offset_mm), moves=_moves(found.nearest), effect=_effect(found.nearest)),
    )


def _moves(way: Correction) -> str:
    """Return what to do at which adapter."""
    first = _move(way.turns[0])
    if way.sort != OPPOSITE_TILTS:
        return f"{first}."
    second = way.turns[1]
    return spoken("{first}, and {tilt_deg}° {way} again at '{joint}'.", first=first, tilt_deg=tenth(abs(second.tilt_deg)), way=_way(second.tilt_deg), joint=second.joint)


def _move(turn: Turn) -> str:
    if turn.slide_mm:
        return spoken("at '{joint}' slide what is above it {slide_mm} mm {way}", joint=turn.joint, slide_mm=tenth(abs(turn.slide_mm)), way=_way(turn.slide_mm))
    return spoken("at '{joint}' tip what is above it {tilt_deg}° {way}", joint=turn.joint, tilt_deg=tenth(abs(turn.tilt_deg)), way=_way(turn.tilt_deg))


def _way(value: float) -> str:
    return spoken("forward") if value > 0 else spoken("back")


def _effect(way: Correction) -> str:
    """Return what it does to foot angle, knee and height."""
    parts = []
    if abs(way.foot_angle_change_deg) < _SAME_DEG:
        parts.append(spoken("the foot keeps its angle"))
    else:
        toes = spoken("up") if way.foot_angle_change_deg > 0 else spoken("down")
        parts.append(spoken("the foot turns {foot_angle_change_deg}° toes {toes}", foot_angle_change_deg=tenth(abs(way.foot_angle_change_deg)), toes=toes))
    if way.sort == OPPOSITE_TILTS and abs(way.shank_angle_change_deg) >= _SAME_DEG:
        parts.append(spoken("the shank tips {shank_angle_change_deg}° {way}", shank_angle_change_deg=tenth(abs(way.shank_angle_change_deg)), way=_way(way.shank_angle_change_deg)))
    if abs(way.height_change_mm) < _SAME_MM:
        parts.append(spoken("the height stays"))
    else:
        change = spoken("longer") if way.height_change_mm > 0 else spoken("shorter")
        parts.append(spoken("the leg gets {height_change_mm} mm {change}", height_change_mm=tenth(abs(way.height_change_mm)), change=change))
    text = ", ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."


def heel_words(reading: AlignmentReading) -> list[Note]:
    """Return what a shoe of another heel height does to the leg as built."""
    if not reading.heel_change_mm:
        return []
    change = reading.heel_change_mm
    lead = spoken("The shoe's heel is {change} mm {height} than built in.", change=plain(abs(change)), height=spoken("higher") if change > 0 else spoken("lower"))
    heel = reading.heel
    if heel is None:
        return [Note(DOUBT, lead, spoken("What that does is not available: the foot's sheet lacks heel to ball, or the heights are not recorded."), STANDING)]
    tips = spoken("forward") if heel.sole_tilt_deg > 0 else spoken("back")
    moves = spoken("forward") if heel.offset_change_mm > 0 else spoken("back")
    text = (
        spoken("It tips the whole leg {sole_tilt_deg}° {tips}, the line over the foot moves {offset_change_mm} mm {moves} against the knee, the knee centre stands {height_change_mm} mm {height}.", sole_tilt_deg=tenth(abs(heel.sole_tilt_deg)), tips=tips, offset_change_mm=plain(abs(heel.offset_change_mm)), moves=moves, height_change_mm=plain(abs(heel.height_change_mm)), height=spoken("higher") if heel.height_change_mm > 0 else spoken("lower"))
    )
    if heel.undone_by is not None and heel.within_limit:
        text += spoken(" {begun}{rest} to set it upright again.", begun=_move(heel.undone_by)[:1].upper(), rest=_move(heel.undone_by)[1:])
    else:
        text += spoken(" No adapter has that much tilt left: fit another foot or shoe.")
    return [Note(DOUBT, lead, text, STANDING)]
