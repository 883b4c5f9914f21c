"""Sentences about torque: what can't be, what a remark says, what a form shows."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Sequence

from shared_models.calculations.torque import from_nm, shown
from shared_models.checks.torque_reading import NEWTON_METRES, TorqueReading
from shared_models.language import Phrases, figure_said, filled, phrase, spoken
from shared_models.wording.dates import day_words

#: What can't be taken, by the code of its refusal.
REFUSALS = Phrases({
    "torque_figure_impossible": "The {field} can't be '{value}'. Give a plain figure of 0 or more.",
    "torque_not_above_zero": "The {field} can't be {value}. Give a figure above 0.",
    "torque_unit_unknown": "The unit '{unit}' is not one that is converted here. Choose one of {known}.",
    "torque_tolerance_outside": "A tolerance of {value} % can't be. It runs from 0 to below 100 %.",
    "extension_below_zero": "The extension length can't be {value} mm. Measure from the wrench's drive to the screw, 0 or more.",
    "extension_angle_outside": "The extension angle can't be {value}°. It runs from 0 (in line with the wrench) to 180 (turned back).",
    "extension_reaches_grip": "An extension of {extension} mm turned back on a grip of {grip} mm leaves no arm. Take a shorter extension.",
    "wrench_class_unknown": "'{value}' is no class of wrench. Choose one of {known}.",
    "wrench_range_turned": "The wrench's range can't run from {lowest} to {highest}. Give its lowest mark first, then its highest.",
    "minutes_below_zero": "{value} minutes since tightening can't be. Correct the time of one of the two.",
})

#: What a remark says, by its code.
REMARKS = Phrases({
    "reading_without_unit": "{place}: the reading {typed} has no unit. Say which unit the wrench shows.",
    "reading_disagrees": "{place}: {typed} {unit} is {converted} N·m, but {recorded} N·m is recorded. Correct one of them.",
    "extension_unclear": "{place}: {trouble} Correct the extension, or take it out.",
    "extension_without_grip": "{place}: an extension of {extension} mm is recorded without the length of the wrench, so the true torque is not known. Measure from the grip to the drive.",
    "torque_outside_with_extension": "{screw}: the wrench showed {read} N·m, behind the extension that is {reading} N·m; the sheet takes {lowest} to {highest} N·m: {off} N·m {sense}. Set it again; the wrench should show {setting} {unit}.",
    "wrench_out_of_range": "{screw}: the wrench would have to show {setting} {unit}, and {wrench} runs from {lowest} to {highest}. Take a wrench that reaches it and tighten again.",
    "wrench_range_unclear": "{place}: {trouble} Correct the range.",
    "wrench_too_coarse": "{screw}: the sheet takes {figure} ± {slack} N·m, and a wrench of this sort ({class_words}) may be off by {may_be_off} N·m, {percent} %. A reading inside the window does not prove it; take a finer wrench if there is one.",
    "wrench_many_cycles": "Wrench {wrench} has been used {cycles} times since {date}; it is due after {most}. Use one in calibration and tighten again.",
    "compound_had_set": "{screw}: turned again {minutes} min after it was tightened; its compound sets in {sets} min. Clean it, renew the compound, tighten again and say so.",
    "compound_set_unknown": "{screw}: turned again {minutes} min after it was tightened. Whether the compound had set is not available: the sheet lacks the setting time. If it was cleaned and renewed, say so.",
    "compound_times_disagree": "{screw}: the earlier tightening is dated after this one, so whether the compound had set can't be told. Correct the time of one of them.",
    "tightened_before_opposite": "{screw}: tightened before {others}. {others} comes first: slacken, tighten in that order, and look at the alignment.",
    "walked_before_cured": "{place}: walked {minutes} min after tightening ({screws}); the compound cures in {cures} min. Let it cure, then walk once more.",
    "cure_not_available": "{screws}: time to cure not available: the sheet lacks the cure time.",
})


def setting_words(setting: str, unit: str, torque_nm: str) -> str:
    """Say what the wrench should show for the torque that the sheet asks."""
    return spoken("Set the wrench to {setting} {unit} for {torque_nm} N·m at the screw.", setting=setting, unit=unit, torque_nm=torque_nm)


def asked_behind_extension_words(setting: str, unit: str, asked: str) -> str:
    """Say beside the reading what the wrench should show, and that what the sheet asks is meant at the screw."""
    return spoken("{setting} {unit} on the wrench; at the screw {asked}", setting=setting, unit=unit, asked=asked)


def true_torque_words(torque_nm: Fraction, reading_nm: Fraction, off_nm: Fraction, extended: bool) -> str:
    """Say what a reading is in N·m at the screw, and how far outside the window it lies."""
    words = spoken("{torque_nm} N·m at the screw", torque_nm=shown(torque_nm, 2)) if extended else spoken("That is {reading_nm} N·m", reading_nm=shown(reading_nm, 2))
    if off_nm == 0:
        return words + spoken(", within the window.")
    side = spoken("too high") if off_nm > 0 else spoken("too low")
    return words + f", {figure_said(shown(abs(off_nm), 2) if abs(off_nm) >= Fraction(1, 100) else shown(abs(off_nm)))} N·m {side}."


def window_words(torque_nm: Fraction, lowest_nm: Fraction, highest_nm: Fraction) -> str:
    """Say that a torque lies in the sheet's window."""
    return spoken("{torque_nm} N·m: in the window, {lowest_nm} to {highest_nm} N·m.", torque_nm=shown(torque_nm, 2), lowest_nm=shown(lowest_nm), highest_nm=shown(highest_nm))


CALIBRATION = Phrases({
    "in_date": "in date", "due_soon": "due soon", "out_of_date": "out of date", "": "calibration not known",
})


CHOOSE_WRENCH = phrase("Choose the wrench, or name another one.")
CHANGE_WRENCH, OTHER_WRENCH = phrase("press to take another"), phrase("A wrench that is not listed")


def wrench_words(calibrated_on: str) -> str:
    """Say when a wrench was calibrated."""
    return spoken("calibrated {day}", day=day_words(calibrated_on)) if calibrated_on else spoken("no calibration recorded")


def reading_words(read: TorqueReading, recorded: str, unit_words: str) -> str:
    """Return what the wrench showed, in its own unit too, and what that is at the screw.

    ``recorded`` are the newton metres as they stand in the record, digits kept.
    """
    if read.reading_nm is None:
        return ""
    words = f"{figure_said(recorded or shown(read.reading_nm))} N·m"
    if read.unit != NEWTON_METRES:
        words = f"{figure_said(shown(from_nm(read.reading_nm, read.unit)))} {unit_words} = {figure_said(shown(read.reading_nm, 2))} N·m"
    if not read.is_extended:
        return words
    at_screw = spoken("not known") if read.true_nm is None else f"{figure_said(shown(read.true_nm, 2))} N·m"
    return spoken("{words}; at the screw {at_screw}", words=words, at_screw=at_screw)


def order_words(names: Sequence[str], fixed: bool) -> str:
    """Say in which order the screws of a part are tightened; '' for none."""
    if len(names) < 2:
        return ""
    rule = spoken("Order of the sheet") if fixed else spoken("Opposing screws one after the other")
    return f"{rule}: " + spoken(", then ").join(names) + "."


def wait_words(screws: Sequence[str], minutes: Fraction, until: str) -> str:
    """Say until when the slowest compound cures, before the person walks or leaves."""
    left = max(1, math.ceil(minutes))
    return spoken("The locking compound cures until {until}, {left} min more ({screws}). Until then nobody walks on it.", until=until, left=left, screws='; '.join(screws))


def no_cure_words(screws: Sequence[str]) -> str:
    """Say that the sheet does not tell when a compound has cured."""
    return filled(REMARKS["cure_not_available"], {"screws": "; ".join(screws)})
