"""Sentences for timing: what can't be timed, what is doubted, what is left out."""

from __future__ import annotations

from typing import Any, Mapping

from shared_models.calculations.timing.contacts import Doubt
from shared_models.calculations.timing.figures import Because
from shared_models.calculations.timing.steady import LeftOut

#: What is refused; joined into ``wording.refusals``.
REFUSALS = {
    # contacts, tapped or from a file
    "contact_side_unknown": "Contact {contact}: the side is '{side}'. It must be left or right.",
    "contact_time_not_a_number": "Contact {contact} ({side}, {event}): the time {time_s} is not a number. Give seconds from 0 upwards, or leave the time out.",
    "contact_time_negative": "Contact {contact} ({side}, {event}): the time {time_s} s is below 0. Count seconds from 0 upwards.",
    "contact_out_of_order": "Contact {contact} ({side}, {event}): the time {time_s} s comes before {before_s} s, the contact before it. Put the contacts in the order in which they happened.",
    "contacts_too_few": "There are {contacts} contacts with a time, and at least {fewest} are needed. Tap every contact of both feet.",
    "walk_takes_no_time": "The first contact is at {first_s} s and the last at {last_s} s: a walk takes more than 0 s. Look at the times.",
    "jitter_cannot_be": "The jitter of a contact ({field}) is {value} s. Give seconds from 0 upwards, for example 0.05.",
    "walk_distance_cannot_be": "The distance ({field}) is {value} m. Give metres above 0, as measured on the floor.",
    "walk_time_cannot_be": "The time ({field}) is {value} s. Give seconds above 0.",
    "side_value_not_a_number": "The value of the {side} side is {value}. Give a number for both sides.",
}

_DOUBTED = {
    "side_unknown": "The side is not left or right.",
    "time_not_a_number": "The time is not a number.",
    "time_negative": "The time is below 0.",
    "time_out_of_order": "The time comes before that of the contact before it.",
    "time_missing": "This contact has no time: no step or stride is counted from it or to it.",
    "doubled": "{gap_s:.3f} s after the contact before it: perhaps one contact tapped twice.",
    "same_side_twice": "The same side twice, {gap_s:.2f} s apart: a contact of the other side was missed, or a side mistaken.",
    "long_gap": "{gap_s:.2f} s after the contact before it, where {usual_s:.2f} s is usual: a pause, a turn, or contacts missed.",
    "one_side_only": "Contacts of the {side} side only: strides can be timed, steps and symmetry can't.",
}
_LEFT_OUT = {
    "start": "first stride, starting from standing",
    "stop": "last stride, coming to a stop",
    "doubled": "perhaps one contact tapped twice",
    "same_side_twice": "the same side twice: a contact missed",
    "long_gap": "far longer than usual: a pause, a turn, or contacts missed",
    "out_of_line": "out of line with the others of its side: usual is {usual_s:.2f} s",
}
_BECAUSE = {
    "too_few_strides": "{n} intervals; from {fewest} on it is worth showing",
    "too_few_for_variation": "{n} intervals; a variation needs about {fewest} to mean anything",
    "one_side_has_no_steps": "contacts of one side only",
    "no_distance": "no measured distance was given",
    "no_steady_steps": "no steady steps are left",
}


class _Stated(dict):
    def __missing__(self, name: str) -> str:
        return "not stated"


def doubt_sentence(doubt: Doubt) -> str:
    """Return what is odd about a contact, with its number (and line, from a file)."""
    figures: Mapping[str, Any] = doubt.figures
    words = _DOUBTED[doubt.code].format_map(_Stated(figures))
    if doubt.at < 0:
        return words
    at = doubt.at if doubt.last < 0 else doubt.last
    line = f" (line {figures['line']})" if "line" in figures else ""
    return f"Contact {at + 1}, {figures.get('side', 'no side')}{line}: {words[:1].lower()}{words[1:]}"


def left_out_words(left_out: LeftOut) -> str:
    """Return why an interval is not counted as steady walking."""
    return _LEFT_OUT[left_out.why].format_map(_Stated(left_out.figures))


def because_words(because: Because) -> str:
    """Return why a figure is not available, or not worth showing."""
    return _BECAUSE[because.code].format_map(_Stated(because.figures))
