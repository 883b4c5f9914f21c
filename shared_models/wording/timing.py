"""Sentences for timing: what can't be timed, what is doubted, what is left out."""

from __future__ import annotations

from typing import Any, Mapping

from shared_models.calculations.timing.contacts import Doubt
from shared_models.calculations.timing.figures import Because
from shared_models.calculations.timing.steady import LeftOut
from shared_models.language import Phrases, counted, filled, spoken, within

#: What is refused; joined into ``wording.refusals``.
REFUSALS = Phrases({
    # contacts, tapped or from a file
    "contact_side_unknown": "Contact {contact}: the side is '{side}'. It must be left or right.",
    "contact_time_not_a_number": "Contact {contact} ({side}, {event}): the time {time_s} is not a number. Give seconds from 0 upwards, or leave the time out.",
    "contact_time_negative": "Contact {contact} ({side}, {event}): the time {time_s} s is below 0. Count seconds from 0 upwards.",
    "contact_out_of_order": "Contact {contact} ({side}, {event}): the time {time_s} s comes before {before_s} s, the contact before it. Put the contacts in the order in which they happened.",
    "contact_time_too_late": "Contact {contact} ({side}, {event}): the time {time_s} s is above {latest_s} s. Count seconds from the start of the recording.",
    "prosthesis_side_unknown": "The prosthesis is on the side '{side}'. It must be left or right.",
    "contacts_too_few": "Contacts with a time: {contacts}, and at least {fewest} are needed. Every contact of both feet counts.",
    "walk_takes_no_time": "The first contact is at {first_s} s and the last at {last_s} s: a walk takes more than 0 s. Look at the times.",
    "jitter_cannot_be": "The jitter of a contact ({field}) is {value} s. Give seconds from 0 to {largest}, for example 0.05.",
    "walk_distance_cannot_be": "The distance ({field}) is {value} m. Give metres above 0 and up to 100 000, as measured on the floor.",
    "walk_time_cannot_be": "The time ({field}) is {value} s. Give seconds above 0.",
    # comparing
    "figures_not_comparable": "These two can't be compared: {what} was '{before}' and is '{after}'. Compare figures with the same instrument, event, formula and setting.",
    "figures_not_numbers": "There is no value to compare ({measure}). Measure it both times.",
    "reliability_cannot_be": "The {field} can't be {value}. A standard deviation is 0 or more, a reliability runs from 0 to 1.",
    # timed tests, scales, stairs
    "timed_test_without_trial": "No trial was timed. Give the time of at least one.",
    "timed_test_length_cannot_be": "The timed length ({field}) is {value} m. Give metres above 0 and up to 100: what the watch ran for, without the run-up.",
    "timed_test_run_up_cannot_be": "The run-up ({field}) is {value} m. Give metres from 0 to {largest}.",
    "timed_test_time_cannot_be": "The time ({field}) is {value} s. Give seconds above 0 and up to {largest}.",
    "timed_test_minutes_unknown": "A timed walk of {value} min has no published table. Take 2 or 6 minutes.",
    "timed_test_choice_unknown": "'{value}' is no choice for {field}. Choose one of: {known}.",
    "predictor_score_cannot_be": "The predictor's score is {value}. It is a whole number from 0 to {highest}.",
    "predictor_item_unknown": "The predictor has no item {item}. Items run from 1 to {highest}.",
    "predictor_item_cannot_be": "Item {item} of the predictor is {value}. It is a whole number from 0 to {highest}.",
    "scale_score_cannot_be": "The score is {value}. It is a whole number from {lowest} to {highest}.",
    "stair_figure_cannot_be": "The figure {field} is {value}. It lies between {lowest} and {highest}.",
    "ramp_too_steep": "A slope of {slope_deg} degrees is no ramp (up to {steepest_deg}). Look at rise and length, both in millimetres.",
    # a file of contacts
    "contacts_file_unreadable": "The file {file} can't be read ({reason}). Name a CSV file of contacts.",
    "contacts_file_too_large": "The file has {bytes} bytes, and at most {largest} are taken. Send one walk at a time.",
    "contacts_file_not_text": "The file is not text in UTF-8. Save it as CSV in UTF-8.",
    "contacts_file_empty": "The file holds no contacts. Each line is side,time in seconds, for example left,5.05.",
    "contacts_file_without_initial": "The file holds no initial contact (final contacts: {finals}). Add the initial contacts (event: initial).",
    "contacts_column_missing": "Line {line}: the header has no column '{column}' (it has: {found}). Name the columns side and time_s, and event where both events are stated; times are in seconds.",
    "contacts_column_twice": "Line {line}: more than one column can be '{column}'. Keep one of them.",
    "contacts_columns_unclear": "Line {line}: '{found}' is neither a header nor a side and a time. Begin with the header side,time_s, or write lines like left,5.05.",
    "contacts_line_unreadable": "Line {line} can't be taken apart: a quotation mark is left open. Close it or take it out.",
    "contacts_line_too_long": "Line {line} has {cells} parts, and {columns} are named. Times with a decimal comma need semicolons between the columns, like left;5,05.",
    "contacts_line_too_short": "Line {line} says '{found}' only. It needs a side and a time in seconds, like left,5.05.",
    "contacts_line_side": "Line {line}: the side is '{found}'. Write left or right (L or R).",
    "contacts_line_event": "Line {line}: the event is '{found}'. Write initial or final.",
    "contacts_line_time": "Line {line} ({side}): the time '{found}' is not a number. Write seconds as digits, like 5.05; leave it empty if the instrument states none.",
    "contacts_line_negative": "Line {line} ({side}): the time {time_s} s is below 0. Count seconds from 0 upwards.",
    "contacts_line_too_late": "Line {line} ({side}): the time {found} s is above {latest_s} s. Count seconds from the start of the recording.",
    "contacts_line_out_of_order": "Line {line} ({side}): the time {time_s} s comes before {before_s} s on line {before_line}. Put the lines in the order in which the contacts happened.",
    "side_value_not_a_number": "The value of the {side} side is {value}. Give a number for both sides.",
})

_DOUBTED = Phrases({
    "side_unknown": "The side is not left or right.",
    "time_not_a_number": "The time is not a number.",
    "time_negative": "The time is below 0.",
    "time_too_late": "The time is too large.",
    "time_out_of_order": "The time comes before that of the contact before it.",
    "time_missing": "This contact has no time: no step or stride is counted from it or to it.",
    "doubled": "{gap_s:.3f} s after the contact before it: perhaps one contact tapped twice.",
    "same_side_twice": "The same side twice, {gap_s:.2f} s apart: a contact of the other side was missed, or a side mistaken.",
    "long_gap": "{gap_s:.2f} s after the contact before it, where {usual_s:.2f} s is usual: a pause, a turn, or contacts missed.",
    "one_side_only": "Contacts of the {side} side only: strides can be timed, steps and symmetry can't.",
})
_LEFT_OUT = Phrases({
    "start": "first stride, starting from standing",
    "stop": "last stride, coming to a stop",
    "doubled": "perhaps one contact tapped twice",
    "same_side_twice": "the same side twice: a contact missed",
    "long_gap": "far longer than usual: a pause, a turn, or contacts missed",
    "landing": "begins on a landing",
    "out_of_line": "out of line with the others of its side: usual is {usual_s:.2f} s",
})
_BECAUSE = Phrases({
    "too_few_strides": "{intervals}; from {fewest} on it is worth showing",
    "too_few_for_variation": "{intervals}; a variation needs about {fewest} to mean anything",
    "variation_is_the_taps": "the taps' own jitter explains {percent} % of it",
    "one_side_has_no_steps": "contacts of one side only",
    "no_distance": "no measured distance was given",
    "no_steady_steps": "no steady steps are left",
    "no_published_change": "no minimal detectable change is published for it",
    "error_not_known": "too few intervals to tell the error",
    "score_below_table": "{score} is below the table, which begins at {lowest}",
    "items_missing": "missing items ({items}): the score lies between {lowest} and {highest}, and the level is not the same for all of these",
})


class _Stated(dict):
    def __missing__(self, name: str) -> str:
        return spoken("not stated")


def doubt_sentence(doubt: Doubt) -> str:
    """Return what is odd about a contact, with its number (and line, from a file)."""
    figures: Mapping[str, Any] = doubt.figures
    words = filled(_DOUBTED[doubt.code], _Stated(figures))
    if doubt.at < 0:
        return words
    at = doubt.at if doubt.last < 0 else doubt.last
    line = spoken(" (line {line})", line=figures['line']) if "line" in figures else ""
    return spoken("Contact {at}, {side}{line}: {words}", at=at + 1, side=figures.get('side', spoken("no side")), line=line, words=within(words))


def left_out_words(left_out: LeftOut) -> str:
    """Return why an interval is not counted as steady walking."""
    return filled(_LEFT_OUT[left_out.why], _Stated(left_out.figures))


def because_words(because: Because) -> str:
    """Return why a figure is not available, or not worth showing."""
    figures = _Stated(because.figures)
    if "n" in figures:
        figures["intervals"] = counted("{number} interval", "{number} intervals", int(figures["n"]))
    return filled(_BECAUSE[because.code], figures)
