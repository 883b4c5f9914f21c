"""Sentences about codes on parts: what can't be read, and what there is to choose."""

from __future__ import annotations

from typing import Sequence

from shared_models.calculations.part_codes import PartCode, Question
from shared_models.language import Phrases, phrase, spoken
from shared_models.wording.dates import day_words

_AGAIN = phrase("Scan it again, or leave this empty and type serial and lot as marked.")

REFUSALS = Phrases({
    "part_code_empty": "There is no code here. Scan the code on the part.",
    "part_code_too_long": "This is longer than any code on a part ({longest} characters). Empty the field and scan once.",
    "part_code_unknown": "This is no GS1 and no HIBC code that can be read. If it is the maker's own number, type it as serial or lot.",
    "part_code_cut_short": "This {issuer} code is cut short. " + _AGAIN,
    "part_code_not_digits": "A check digit stands behind digits only, not behind '{data}'. " + _AGAIN,
    "part_code_strange_character": "'{character}' can't stand in a {issuer} code. " + _AGAIN,
    "part_code_check_wrong": "The check character of this {issuer} code is {found}, and it should be {right}: a character is wrong or missing. " + _AGAIN,
    "part_code_no_such_day": "'{piece}' in this code names a day that does not exist. " + _AGAIN,
    "part_code_wrong_form": "'{piece}' is not written as in a {issuer} code. " + _AGAIN,
    "part_code_says_twice": "This code says the same thing twice and differently ('{piece}', before that '{before}'). Empty the field and scan once.",
    "part_code_two_separators": "Both {first} and {second} separate here, so it is not clear what ends where. Scan it again, or type it with brackets as printed, like (01) (10) (21).",
    "part_code_too_unclear": "Separators are missing, and this {issuer} code can be read in too many ways. Type it with brackets as printed, like (01) (10) (21).",
    "part_code_ai_unknown": "'({ai})' is no identifier that GS1 codes have. Compare with what is printed on the part.",
    "part_code_element_wrong": "'{value}' can't stand behind ({ai}). Compare with what is printed on the part.",
    "part_code_read_differently": "This {issuer} code does not read the same way twice. " + _AGAIN,
    "hibc_secondary_alone": "This is the second half of an HIBC code; its link character '{link}' ties it to the first half. Scan the first half, then this one behind it.",
    "hibc_link_differs": "The link character '{link}' of the second half does not fit the first half, which ends in '{right}': they belong to different parts. Scan both halves from one part.",
})

REMARKS = Phrases({
    "part_expired": "{place}: the code says it expired on {date}. Use another part, or say why it is kept.",
    "serial_differs": "{place}: the code on the part says serial {coded}, and {typed} is recorded. Look at the part again and correct one of them.",
    "lot_differs": "{place}: the code on the part says lot {coded}, and {typed} is recorded. Look at the part again and correct one of them.",
    "device_identifier_differs": "{place}: the code on the part says device identifier {coded}, and {typed} is recorded. Look at the part again and correct one of them.",
    "label_of_another_part": "{place}: the label says device identifier {marked}, and the sheet of {component} is for {stated}. Look whether this is the part that the sheet is for.",
    "part_code_unreadable": "{place}: the code recorded for it can't be read. {trouble}",
})

_NAMES = Phrases({
    "device_identifier": "device identifier", "lot": "lot", "serial": "serial",
    "expires_on": "expiry", "manufactured_on": "made on",
})
_ORDER = ("serial", "lot", "device_identifier", "expires_on", "manufactured_on")
_QUESTIONS = Phrases({
    "separator_missing": "Which is right? The scanner left out a separator, so compare with what is printed on the part.",
    "not_marked_as_gs1": "Which is right? It may be a GS1 code, or the maker's own number. Compare with what is printed on the part.",
    "space_may_be_missing": "The check character fits only if the code ends in a space that got lost. Compare with what is printed on the part.",
})


def _shown(name: str, value: str) -> str:
    return day_words(value) if name.endswith("_on") else value


def code_words(code: PartCode) -> str:
    """Return what a reading says, for a choice and for the line beneath the field."""
    stated = code.stated()
    return ", ".join(f"{_NAMES[name]} {_shown(name, stated[name])}" for name in _ORDER if name in stated)


def choice_words(code: PartCode, among: Sequence[PartCode]) -> str:
    """Return what tells one reading from the others; the whole of it when it is the only one."""
    said = {name: {reading.stated().get(name, "") for reading in among} for name in _ORDER}
    apart = [name for name in _ORDER if len(said[name]) > 1]
    if not apart:
        return code_words(code)
    stated = code.stated()
    return ", ".join(f"{_NAMES[n]} {_shown(n, stated[n])}" if n in stated else spoken("no {name}", name=_NAMES[n]) for n in apart)


def question_words(question: Question) -> str:
    """Return what somebody has to decide, and by what."""
    return _QUESTIONS[question.because]


def differs_words(coded: str, typed: str) -> str:
    """Say beside a field that the code says something else; what was typed stays."""
    return spoken("The code on the part says {coded}; {typed} stays as typed. Look at the part again.", coded=coded, typed=typed)


def expired_words(date: str) -> str:
    """Say beside the code that the part has expired."""
    return spoken("Expired on {day}. Use another part, or say why it is kept.", day=day_words(date))
