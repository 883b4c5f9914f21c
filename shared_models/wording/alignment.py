"""Sentences of alignment: the line and how sure it is, what moves it, weight, height.

Tablet and review page say the same, so both take their notes from here.
"""

from __future__ import annotations

from typing import Any, Mapping

from shared_models.calculations.alignment.weights import LEAST_SHARE_PERCENT
from shared_models.catalogue.edition import Edition
from shared_models.checks.alignment_reading import SCALE_FIELDS, AlignmentReading
from shared_models.checks.rules_alignment import HEIGHT_TOLERANCE_MM
from shared_models.language import Phrases, filled, spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.alignment_moves import heel_words, suggestion_notes
from shared_models.wording.alignment_figures import (
    DOUBT,
    INFO,
    STANDING,
    Note,
    plain,
    plus_minus,
    tenth,
)

#: Figures that can't be, for the one list of refusals.
REFUSALS: Mapping[str, str] = Phrases({
    "alignment_not_a_figure": "{field}: '{value}' is not a figure. Type digits, in {unit}.",
    "alignment_too_low": "{field}: {value} {unit} can't be. At least {lowest} {unit} is right.",
    "alignment_too_high": "{field}: {value} {unit} can't be. At most {highest} {unit} is right.",
    "alignment_no_weight": "No weight on either side: read the scales again.",
    "alignment_nobody_on_board": "The scales show {weight} kg more than the empty board, so nobody stands on it: at least {least} kg is right. Read the scales again.",
    "alignment_below_empty_board": "{field}: it shows {below} kg less than with the empty board, which can't be. Read it again, or read the empty board again.",
    "alignment_weight_off_the_foot": "By these figures the weight stands {from_heel} mm in front of the shoe's back edge; {lowest} to {highest} mm is right. Look at the distances, and at which scale is the back one.",
    "alignment_scales_far_from_mass": "The two scales show {total} kg in sum, and this person weighs {lowest} kg, {highest} kg with what is carried. Read both scales again, or correct the mass.",
    "alignment_more_than_person": "{weight} kg stands on the board, more than the whole person weighs ({most} kg with what is carried). Read both scales again, or correct the mass.",
})

#: Remarks of the verdict, for the one list of remarks.
REMARKS: Mapping[str, str] = Phrases({
    "load_line_unsure": "{place}: {value} ± {half} mm (95 %) lies across an edge of {target} ± {tolerance} mm, so it can't be told whether the load line is right. Read it more finely if it matters.",
    "load_line_void": "{place}: only {share} % of the weight stood on the prosthesis, so the two scales say nothing of the load line; at least {least} % is needed. Let the person load it and read again, or say why it is kept.",
    "load_line_not_as_scales": "{place}: the load line is recorded as {value} mm, and its two scales give {worked_out} mm. Correct whichever is mistyped.",
    "scales_incomplete": "{place}: read with two scales, but {labels} is missing. Fill it in.",
    "scales_impossible": "{place}: {refused_words}",
    "scales_far_from_mass": "{place}: {refused_words}",
    "scales_doubted": "{place}: {total} kg on the scales is further from the recorded mass than clothes and load explain. Kept as typed; look again.",
})


def refused_words(figures: Mapping[str, Any]) -> str:
    """Return the sentence of a refusal that a remark carries in its figures."""
    template = REFUSALS.get(str(figures.get("code_refused", "")), "")
    return filled(template, _Stated(figures))


class _Stated(dict):
    def __missing__(self, name: str) -> str:
        return spoken("not stated")


def impossible_words(label: str, figures: Mapping[str, Any]) -> str:
    """Return that what two scales give lies outside what is possible, and what would be right."""
    return spoken("{label}: the two scales give {typed}, and only {range} is possible. Look at the distances.", label=label, typed=figures.get('typed', ''), range=figures.get('range', ''))


def alignment_notes(reading: AlignmentReading, edition: Edition) -> tuple[Note, ...]:
    """Return everything to be said beside one alignment, most pressing first."""
    notes = [*_trouble(reading, edition), *_line(reading), *suggestion_notes(reading)]
    notes += [*_weights(reading), *_height(reading), *heel_words(reading), *_outward(reading)]
    return tuple([*notes, *_lacks(reading)])


def _trouble(reading: AlignmentReading, edition: Edition) -> list[Note]:
    found = []
    if reading.waits_for and len(reading.waits_for) < len(SCALE_FIELDS):
        kind = edition.kinds[reading.kind]
        labels = ", ".join(kind.field(key).label for key in reading.waits_for)
        found.append(Note(INFO, spoken("Still to type for the two scales:"), f"{labels}."))
    for refusal in (reading.refusal, reading.weights.refusal):
        if refusal is not None:
            found.append(Note(DOUBT, _refusal(refusal)))
    if reading.weights.doubted:
        total = (reading.weights.own_kg or 0) + (reading.weights.other_kg or 0)
        found.append(Note(DOUBT, spoken("{total} kg on the scales is further from the recorded mass than clothes and load explain.", total=tenth(total)), spoken("Look again.")))
    if reading.is_void:
        share = tenth(reading.weights.share_percent or 0)
        most = spoken("at most ") if reading.weights.share_is_most else ""
        found.append(Note(
            DOUBT, spoken("Void: {most}{share} % of the weight stands on the prosthesis.", most=most, share=share),
            spoken("At least {least_share_percent} % is needed for the two scales to say anything. Let the person load it and read again.", least_share_percent=LEAST_SHARE_PERCENT),
        ))
    return found


def _refusal(refusal: Refusal) -> str:
    return filled(REFUSALS[refusal.code], _Stated(refusal.figures))


def _line(reading: AlignmentReading) -> list[Note]:
    line, target = reading.line, reading.target
    if line is None:
        return []
    name = spoken("Reference line") if reading.is_bench else spoken("Load line")
    figure = plus_minus(abs(line.offset_mm), line.half_width_95_mm, "mm")
    side = spoken("in front of") if line.offset_mm >= 0 else spoken("behind")
    lead = spoken("{name} {figure} {side} the knee centre.", name=name, figure=figure, side=side)
    if line.offset_mm == 0 and line.half_width_95_mm is None:
        lead = spoken("{name} through the knee centre.", name=name)
    parts = []
    if line.half_width_95_mm is not None:
        parts.append(spoken("± is the 95 % interval."))
    if target.target_mm is None:
        parts.append(spoken("Not available: the sheet lacks a figure ({lacks}).", lacks=target.lacks))
    else:
        parts.append(_judged(reading))
    if line.weight_kg is not None and line.from_heel_mm is not None:
        weight = plus_minus(line.weight_kg, line.weight_half_width_95_kg, "kg")
        parts.append(spoken("{weight} on the board, {from_heel_mm} mm in front of the shoe's back edge.", weight=weight, from_heel_mm=plain(line.from_heel_mm)))
        sources = {"scales": spoken("the scales"), "placing": spoken("placing the distances"), "reading": spoken("the reading")}
        doubts = spoken(" and ").join(spoken("{mm} mm from {source}", mm=tenth(d.standard_mm), source=sources[d.source]) for d in line.doubts)
        parts.append(spoken("Standard uncertainty {standard_mm} mm: {doubts}.", standard_mm=tenth(line.standard_mm or 0), doubts=doubts))
    return [Note(INFO, lead, " ".join(parts))]


def _judged(reading: AlignmentReading) -> str:
    line, target = reading.line, reading.target
    if line is None or target.target_mm is None:
        return ""
    asked = spoken("Asked {target_mm} ± {tolerance_mm} mm", target_mm=plain(target.target_mm), tolerance_mm=plain(target.tolerance_mm))
    if line.straddles(target.target_mm, target.tolerance_mm):
        return spoken("{asked}: too near an edge to be told whether it is right.", asked=asked)
    return f"{asked}: {spoken('within') if line.is_within(target.target_mm, target.tolerance_mm) else spoken('outside')}."


def _weights(reading: AlignmentReading) -> list[Note]:
    weights = reading.weights
    parts = []
    if weights.share_percent is not None and not reading.is_void and weights.own_kg is not None:
        most = spoken("at most ") if weights.share_is_most else ""
        other = spoken(", {other_kg} kg on the sound side", other_kg=plain(weights.other_kg)) if weights.other_kg is not None else ""
        parts.append(spoken("Weight on the prosthesis {most}{share_percent} %: {own_kg} kg{other}.", most=most, share_percent=tenth(weights.share_percent), own_kg=tenth(weights.own_kg), other=other))
    if weights.moment_nm is not None:
        half = weights.moment_half_95_nm
        moment = plus_minus(abs(weights.moment_nm), half, "N·m")
        sense = (
            spoken("too little to tell whether it extends or bends") if half is not None and abs(weights.moment_nm) <= half
            else spoken("extending: the load holds the knee straight") if weights.moment_nm > 0
            else spoken("bending: the knee gives way unless it is damped") if weights.moment_nm < 0 else spoken("none either way")
        )
        parts.append(spoken("Moment about the knee {moment}, {sense}.", moment=moment, sense=sense))
    return [Note(INFO, parts[0], " ".join(parts[1:]), STANDING)] if parts else []


def _height(reading: AlignmentReading) -> list[Note]:
    cure, difference = reading.height, reading.height_difference_mm
    if cure is None or difference is None or not difference:
        return []
    word = spoken("short") if difference < 0 else spoken("long")
    lead = spoken("The prosthesis is {difference} mm {word}.", difference=plain(abs(difference)), word=word)
    borne = abs(difference) <= float(HEIGHT_TOLERANCE_MM)
    parts = [spoken("Up to {height_tolerance_mm} mm is tolerated.", height_tolerance_mm=HEIGHT_TOLERANCE_MM)] if borne else []
    change = spoken("longer") if cure.tube_change_mm > 0 else spoken("shorter")
    under = spoken("the prosthesis") if cure.shim_under == "prosthesis" else spoken("the sound foot")
    if cure.tube_after_mm is None:
        parts.append(spoken("Equal with a tube {tube_change_mm} mm {change}.", tube_change_mm=plain(abs(cure.tube_change_mm)), change=change))
    elif cure.reached:
        parts.append(spoken("Equal with a tube {tube_change_mm} mm {change}, {tube_after_mm} mm between foot and knee.", tube_change_mm=plain(abs(cure.tube_change_mm)), change=change, tube_after_mm=plain(cure.tube_after_mm)))
    else:
        parts.append(
            spoken("Not reachable with this tube: at its end, {tube_after_mm} mm, the prosthesis is still {left_mm} mm {length}.", tube_after_mm=plain(cure.tube_after_mm), left_mm=plain(abs(cure.left_mm)), length=spoken("short") if cure.left_mm < 0 else spoken("long"))
        )
    if not borne:
        parts.append(spoken("Try it first with {shim_mm} mm under {under}; the knee centre moves up or down with the tube.", shim_mm=plain(cure.shim_mm), under=under))
    return [Note(INFO if borne else DOUBT, lead, " ".join(parts), STANDING)]


def _outward(reading: AlignmentReading) -> list[Note]:
    outward = reading.outward_mm
    if outward is None or abs(outward) < 0.5:
        return []
    side = spoken("outside") if outward > 0 else spoken("inside")
    return [Note(INFO, spoken("From the front, the socket's reference point stands {outward} mm {side} the knee centre.", outward=plain(abs(outward)), side=side), spoken("By the socket's adduction alone, adapters in their middle."), STANDING)]


def _lacks(reading: AlignmentReading) -> list[Note]:
    if not reading.leg.lacks or reading.line is None:
        return []
    return [Note(INFO, spoken("Not available:"), spoken("the sheet lacks a figure ({lacks}).", lacks="; ".join(reading.leg.lacks)), STANDING)]
