"""GS1 element strings: every way in which a text can be cut into them.

GS1 General Specifications, sections 3 and 7: an element is an application
identifier (AI) and its data; data of no fixed length ends at a group separator
(ASCII 29) or at the end.  A scanner that swallows the separator leaves a text
that reads smoothly and wrongly: ``10A213B1211234`` is the lot A213B1211234 just
as well as lot A213B1 with serial 1234.  So every cutting is looked for, and
whoever reads this chooses.

Which AIs there are and what their data look like comes from the library biip,
which also reads the result once more; the cutting, the check digits and the
dates are our own.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Iterator, Sequence

from biip import ParseError
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from biip.gs1_messages import GS1Message

from shared_models.calculations.part_codes.answers import GS1, PartCode
from shared_models.calculations.part_codes.check_digits import gs1_check_digit
from shared_models.calculations.part_codes.dates import day_text
from shared_models.quantities.refusals import Refusal

SEPARATOR = "\x1d"
GTIN, LOT, MADE, EXPIRES, SERIAL = "01", "10", "11", "17", "21"
#: What may follow where a separator is missing: what labels of parts carry
#: (FDA, UDI formats by issuing agency, 2017), and what may stand beside it.
LABEL_AIS = (GTIN, LOT, MADE, EXPIRES, SERIAL, "13", "15", "16", "20", "30", "37", "240", "241", "250", "7003")
#: AIs that hold a day written YYMMDD.
_DAYS = ("11", "12", "13", "15", "16", "17")
#: More ways than this, and no list of them helps anybody.
MOST_READINGS = 12
#: A text that takes more tries than this (each a few microseconds) is refused.
MOST_STEPS = 4000

Element = tuple[str, str]
Cut = tuple[tuple[Element, ...], int]


def cuttings(chunks: Sequence[str], today: date) -> list[Cut]:
    """Return every way to read chunks (between separators), fewest missing separators first.

    Each is its elements and how many separators it takes to be missing.  Raises
    Refusal ``part_code_check_wrong`` for a GTIN with another check digit where
    nothing is in doubt, ``part_code_too_unclear`` when there is no end of ways.
    """
    search, found = _Search(today), [((), 0)]
    for chunk in chunks:
        found = [
            (before + more, missing + also) for before, missing in found
            for more, also in search.ways(chunk, frozenset(ai for ai, _ in before))
        ]
    return sorted(found, key=lambda cut: cut[1])


class _Search:
    """Looks for every cutting of a text, and gives up rather than go on for ever."""

    def __init__(self, today: date) -> None:
        self.today, self.steps = today, 0

    def ways(self, chunk: str, used: frozenset[str], inside: bool = False) -> Iterator[Cut]:
        """Every way to read one chunk; ``inside``: behind data that should have ended it.

        No element stands twice (``used``): a message does not repeat its data.
        """
        if not chunk:
            yield (), 0
            return
        ai = ai_at(chunk)
        if ai is None or ai.ai in used or (inside and ai.ai not in LABEL_AIS):
            return
        for length in _lengths(ai, chunk):
            self.steps += 1
            if self.steps > MOST_STEPS:
                raise Refusal("part_code_too_unclear", issuer=GS1)
            value, rest = chunk[len(ai.ai):length], chunk[length:]
            if not inside:
                refuse_gtin(ai.ai, value)
            if not _fits(ai, value, self.today):
                continue
            missing = bool(rest) and ai.separator_required
            for elements, also in self.ways(rest, used | {ai.ai}, inside or missing):
                yield ((ai.ai, value), *elements), also + missing


def ai_at(text: str) -> GS1ApplicationIdentifier | None:
    """Return the application identifier that a text begins with, None when it has none."""
    try:
        return GS1ApplicationIdentifier.extract(text)
    except ParseError:
        return None


def _lengths(ai: GS1ApplicationIdentifier, chunk: str) -> Sequence[int]:
    """How long the first element may be, the whole chunk first."""
    if ai.separator_required:
        return range(len(chunk), len(ai.ai), -1)
    longest = re.match(ai.pattern.removesuffix("$"), chunk)
    return [longest.end()] if longest else []


def _fits(ai: GS1ApplicationIdentifier, value: str, today: date) -> bool:
    if not value or not re.fullmatch(ai.pattern, ai.ai + value):
        return False
    if ai.ai in _DAYS:
        return bool(day_text(value[:2], value[2:4], value[4:], today))
    return ai.ai != GTIN or gs1_check_digit(value[:-1]) == value[-1]


def _once_each(elements: Sequence[Element]) -> bool:
    """No element stands twice (GS1 General Specifications: no repeated data)."""
    return len({ai for ai, _ in elements}) == len(elements)


def code_of(cut: Cut, today: date) -> PartCode:
    """Return what the elements say; refuse what the library reads otherwise.

    Raises Refusal ``part_code_check_wrong`` for a check digit inside (an SSCC,
    a GLN), ``part_code_read_differently`` when biip disagrees.
    """
    elements, missing = cut
    _must_agree(elements)
    code, names = PartCode(GS1, supplied=missing), {
        GTIN: "device_identifier", LOT: "lot", SERIAL: "serial", MADE: "manufactured_on", EXPIRES: "expires_on",
    }
    for ai, value in elements:
        words = day_text(value[:2], value[2:4], value[4:], today) if ai in _DAYS else value
        if ai in names:
            code = replace(code, **{names[ai]: words})
        else:
            code = replace(code, further=(*code.further, (f"({ai})", words)))
    return code


def _must_agree(elements: Sequence[Element]) -> None:
    """The library must read the same elements, and find nothing wrong in them."""
    text = SEPARATOR.join(ai + value for ai, value in elements)
    try:
        read = GS1Message.parse(text).element_strings
    except ParseError:
        raise Refusal("part_code_read_differently", issuer=GS1) from None
    if [(e.ai.ai, e.value) for e in read] != list(elements):
        raise Refusal("part_code_read_differently", issuer=GS1)
    for element in read:
        if element.gtin_error or element.sscc_error or element.gln_error:
            raise Refusal("part_code_check_wrong", found=element.value[-1], right="another", issuer=GS1)


def bracketed(text: str, today: date) -> PartCode:
    """Read the form under the bars, ``(01)…(17)…``; refuse what does not fit.

    Raises Refusal ``part_code_ai_unknown``, ``part_code_element_wrong``,
    ``part_code_check_wrong`` and ``part_code_says_twice``.
    """
    parts = re.split(r"\s*\((\d{2,4})\)\s*", text)
    if parts[0].strip():
        raise Refusal("part_code_wrong_form", issuer=GS1, piece=parts[0][:30])
    elements = list(zip(parts[1::2], (value.strip(f" {SEPARATOR}") for value in parts[2::2])))
    for number, value in elements:
        ai = ai_at(number + value)
        if ai is None or ai.ai != number:
            raise Refusal("part_code_ai_unknown", ai=number)
        refuse_gtin(number, value)
        if not _fits(ai, value, today):
            raise Refusal("part_code_element_wrong", ai=number, value=value[:30])
    if not _once_each(elements):
        raise Refusal("part_code_says_twice", piece=text[:30], before="the same")
    return code_of((tuple(elements), 0), today)


def refuse_gtin(ai: str, value: str) -> None:
    """Refuse a GTIN whose check digit is another; anything else passes."""
    if ai != GTIN or not (len(value) == 14 and value.isascii() and value.isdigit()):
        return
    right = gs1_check_digit(value[:-1])
    if right != value[-1]:
        raise Refusal("part_code_check_wrong", found=value[-1], right=right, issuer=GS1)


def gtin_of_digits(text: str) -> str:
    """Return a bare GTIN of 8, 12, 13 or 14 digits as 14, '' when it is none."""
    is_one = len(text) in (8, 12, 13, 14) and text.isascii() and text.isdigit()
    return text.zfill(14) if is_one and gs1_check_digit(text[:-1]) == text[-1] else ""
