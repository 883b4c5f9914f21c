"""HIBC: a primary code, a secondary one, or both in one.

Form after the HIBC supplier labeling standard (ANSI/HIBC 2) and the FDA's 'UDI
formats by FDA-accredited issuing agency' (2017):

    +LLLLppp…u            flag, labeler (a letter and 3), product (1 to 18), unit of measure
    /$$dateLOT            secondary: expiry and lot; $$+ expiry and serial; $ lot; $+ serial
    /S… /14D… /16D…       serial, expiry and manufacture as YYYYMMDD
    last character        check character, modulo 43 over all before it

A secondary code by itself ends in a link character before its check character:
the check character of the primary code it belongs to.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date

from shared_models.calculations.part_codes.answers import HIBC, PartCode
from shared_models.calculations.part_codes.check_digits import hibc_check_character
from shared_models.calculations.part_codes.dates import (
    day_of_year_text,
    day_text,
    long_day_text,
)
from shared_models.quantities.refusals import Refusal

_PRIMARY = re.compile(r"[A-Z][A-Z0-9]{3}[A-Z0-9]{1,18}[0-9]")
_MARK = re.compile(r"[A-Z0-9. %-]{1,20}")
#: The figure after $$ that says how the date is written, and its length behind it.
_DATE_LENGTHS = {"2": 6, "3": 6, "4": 8, "5": 5, "6": 7}
_NO_DATE = "7"
#: Quantity before the date: $$8 with two figures, $$9 with five.
_QUANTITIES = {"8": 2, "9": 5}


@dataclass(frozen=True)
class Half:
    """One HIBC code whose check character fits: its data, and that character."""

    data: str
    check: str

    @property
    def is_secondary(self) -> bool:
        """Whether it is a secondary code by itself."""
        return self.data[1:2] == "$" or self.data[1:2].isdigit()


def half_from(text: str) -> Half:
    """Return a code whose check character fits; refuse any other.

    Letters may be small, a space as check character may be written ``_`` (as
    under a printed code), asterisks around it do not count.  Raises Refusal
    ``part_code_cut_short``, ``part_code_strange_character`` and
    ``part_code_check_wrong``.
    """
    typed = text.strip("\r\n\t*").upper()
    if typed.endswith("_"):
        typed = typed[:-1] + " "
    if len(typed) < 3 or not typed.startswith("+"):
        raise Refusal("part_code_cut_short", issuer=HIBC)
    right = hibc_check_character(typed[:-1])
    hibc_check_character(typed[-1])
    if right != typed[-1]:
        raise Refusal("part_code_check_wrong", found=_visible(typed[-1]), right=_visible(right), issuer=HIBC)
    return Half(typed[:-1], typed[-1])


def whole_from(primary: Half, secondary: Half | None, today: date) -> PartCode:
    """Return what a primary code says, with the secondary one that is linked to it.

    Raises Refusal ``hibc_secondary_alone`` when the first is no primary code,
    ``hibc_link_differs`` when the second belongs to another one, and
    ``part_code_wrong_form`` for what is not written as the standard says.
    """
    if primary.is_secondary:
        raise Refusal("hibc_secondary_alone", link=_visible(primary.data[-1]))
    first, *pieces = primary.data[1:].split("/")
    if not _PRIMARY.fullmatch(first):
        raise Refusal("part_code_wrong_form", issuer=HIBC, piece=first[:30])
    if secondary is not None:
        if not secondary.is_secondary or pieces:
            raise Refusal("part_code_wrong_form", issuer=HIBC, piece=secondary.data[:30])
        if secondary.data[-1] != primary.check:
            raise Refusal("hibc_link_differs", link=_visible(secondary.data[-1]), right=_visible(primary.check))
        pieces = secondary.data[1:-1].split("/")
    code = PartCode(HIBC, device_identifier=first)
    for number, piece in enumerate(pieces):
        code = _with_piece(code, piece, number == 0, today)
    return code


def _with_piece(code: PartCode, piece: str, is_first: bool, today: date) -> PartCode:
    if piece.startswith("$") or (is_first and piece[:5].isdigit() and len(piece) >= 5):
        return _with_lot_or_serial(code, piece, today)
    for sign, name in (("14D", "expires_on"), ("16D", "manufactured_on")):
        if piece.startswith(sign):
            return _stated(code, name, _known_day(long_day_text(piece[3:]), piece), piece)
    if piece.startswith("S") and len(piece) > 1:
        return _stated(code, "serial", _mark(piece[1:]), piece)
    if not piece:
        raise Refusal("part_code_wrong_form", issuer=HIBC, piece="/")
    return replace(code, further=(*code.further, ("further", piece)))


def _with_lot_or_serial(code: PartCode, piece: str, today: date) -> PartCode:
    """Read $, $+, $$ and $$+, and the old form that begins with year and day."""
    name, rest, has_date = "lot", piece, not piece.startswith("$")
    if piece.startswith("$"):
        has_date, rest = piece.startswith("$$"), piece.lstrip("$")
        if len(piece) - len(rest) > 2:
            raise Refusal("part_code_wrong_form", issuer=HIBC, piece=piece[:30])
    if rest.startswith("+"):
        name, rest = "serial", rest[1:]
    if has_date and piece.startswith("$"):
        code, rest = _with_quantity(code, rest, piece)
        day, rest = _expiry(rest, piece, today)
        code = _stated(code, "expires_on", day, piece) if day else code
    elif has_date:
        day = _known_day(day_of_year_text(rest[:2], rest[2:5], today), piece)
        code, rest = _stated(code, "expires_on", day, piece), rest[5:]
    return _stated(code, name, _mark(rest), piece) if rest else code


def _with_quantity(code: PartCode, rest: str, piece: str) -> tuple[PartCode, str]:
    length = _QUANTITIES.get(rest[:1])
    if length is None:
        return code, rest
    figure = rest[1:1 + length]
    if len(figure) != length or not figure.isdigit():
        raise Refusal("part_code_wrong_form", issuer=HIBC, piece=piece[:30])
    return replace(code, further=(*code.further, ("quantity", str(int(figure))))), rest[1 + length:]


def _expiry(rest: str, piece: str, today: date) -> tuple[str, str]:
    """Return the expiry ('' when there is none) and what follows it."""
    form = rest[:1]
    if form == _NO_DATE:
        return "", rest[1:]
    if form in ("0", "1"):
        return _known_day(day_text(rest[2:4], rest[:2], "00", today), piece), rest[4:]
    length = _DATE_LENGTHS.get(form)
    figures = rest[1:1 + (length or 0)]
    if length is None or len(figures) != length or not figures.isdigit():
        raise Refusal("part_code_wrong_form", issuer=HIBC, piece=piece[:30])
    day = {
        "2": lambda: day_text(figures[4:6], figures[:2], figures[2:4], today),
        "3": lambda: day_text(figures[:2], figures[2:4], figures[4:6], today),
        "4": lambda: day_text(figures[:2], figures[2:4], figures[4:6], today) if int(figures[6:]) < 24 else "",
        "5": lambda: day_of_year_text(figures[:2], figures[2:5], today),
        "6": lambda: day_of_year_text(figures[:2], figures[2:5], today) if int(figures[5:]) < 24 else "",
    }[form]()
    return _known_day(day, piece), rest[1 + length:]


def _known_day(day: str, piece: str) -> str:
    if not day:
        raise Refusal("part_code_no_such_day", piece=piece[:30])
    return day


def _mark(text: str) -> str:
    if not _MARK.fullmatch(text):
        raise Refusal("part_code_wrong_form", issuer=HIBC, piece=text[:30])
    return text


def _stated(code: PartCode, name: str, value: str, piece: str) -> PartCode:
    """State a thing once; two different statements contradict each other."""
    before = getattr(code, name)
    if before and before != value:
        raise Refusal("part_code_says_twice", piece=piece[:30], before=before)
    return replace(code, **{name: value})


def _visible(character: str) -> str:
    return "space" if character == " " else character
