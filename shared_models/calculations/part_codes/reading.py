"""From what a scanner or a person typed to a reading, a question, or a refusal."""

from __future__ import annotations

import re
from datetime import date

from shared_models.calculations.part_codes import gs1, hibc
from shared_models.calculations.part_codes.answers import PLAIN, PartCode, Question
from shared_models.quantities.refusals import Refusal

LONGEST = 300
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
#: Symbologies that hold GS1 element strings (ISO/IEC 15424).
_GS1_SYMBOLOGIES = ("]C1", "]d2", "]e0", "]Q3", "]J1")
#: What scanners type instead of ASCII 29; none can stand in GS1 data but the
#: words <GS>, which no maker prints into a serial number.
_SEPARATORS = (gs1.SEPARATOR, "<GS>", "{GS}", "[GS]", "\u241d", "^]", "\\x1d", "\\u001d", "~1", "~", "|", "#", "@", "`")
#: What may stand in GS1 data (General Specifications, character set 82).
_DATA = re.compile(r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+")
_SECOND_HALF = re.compile(r"\s*(?=\+[$0-9])")
_SHORTEST = 3


def read_part_code(text: str, today: date) -> PartCode | Question:
    """Read what stands on a part; ``today`` gives two-figure years their century.

    Returns a `PartCode` when there is one reading and nothing was supplied, a
    `Question` when somebody has to choose.  Raises Refusal: ``part_code_empty``,
    ``part_code_too_long``, ``part_code_unknown``, ``part_code_check_wrong``,
    ``hibc_secondary_alone``, and the others of `gs1` and `hibc`.
    """
    typed = text.strip("\r\n\t").lstrip(" ")
    if not typed.strip():
        raise Refusal("part_code_empty")
    if len(typed) > LONGEST:
        raise Refusal("part_code_too_long", longest=LONGEST)
    symbology = _SYMBOLOGY.match(typed)
    bare = typed[3:] if symbology else typed
    if bare.lstrip("*").startswith("+"):
        return _hibc(bare, today)
    is_marked = symbology is not None and symbology[0] in _GS1_SYMBOLOGIES
    return _gs1(bare.rstrip(" "), is_marked, today)


# HIBC ------------------------------------------------------------------------


def _hibc(text: str, today: date) -> PartCode | Question:
    """Read a primary code, alone, joined with its secondary or followed by it."""
    places = [m.end() for m in _SECOND_HALF.finditer(text) if m.start() > _SHORTEST]
    for place in places:
        try:
            halves = hibc.half_from(_before(text, place)), hibc.half_from(text[place:])
        except Refusal:
            continue
        return hibc.whole_from(*halves, today)
    try:
        return hibc.whole_from(hibc.half_from(text), None, today)
    except Refusal as refusal:
        if refusal.code != "part_code_check_wrong" or text.endswith((" ", "_")):
            raise
        spaced = _with_space(text, today)
        if spaced is None:
            raise
        return Question((spaced,), "space_may_be_missing")


def _before(text: str, place: int) -> str:
    """The first of two codes; one space before the second may be its check character."""
    first = text[:place].rstrip("\r\n\t*")
    return first if hibc.hibc_check_character(first[:-1].upper().lstrip("*")) == first[-1:] else first.rstrip(" ")


def _with_space(text: str, today: date) -> PartCode | None:
    """What the code says if its check character was a space that got lost."""
    try:
        return hibc.whole_from(hibc.half_from(text.rstrip("\r\n\t*") + " "), None, today)
    except Refusal:
        return None


# GS1 -------------------------------------------------------------------------


def _gs1(text: str, is_marked: bool, today: date) -> PartCode | Question:
    if text.startswith("("):
        return gs1.bracketed(text, today)
    gtin = gs1.gtin_of_digits(text)
    readings, marked = [], is_marked
    for separator in _separators_in(text):
        chunks = [c for c in text.split(separator) if c] if separator else [text]
        _must_be_data(chunks)
        marked = marked or bool(separator)
        cuts = gs1.cuttings(chunks, today)
        readings += [gs1.code_of(cut, today) for cut in cuts[:gs1.MOST_READINGS + 1]]
    if gtin:
        readings.insert(0, PartCode(gs1.GS1, device_identifier=gtin))
    found = _distinct(readings)
    if not found:
        raise Refusal("part_code_unknown")
    marked = marked or any(r.device_identifier for r in found)
    # Without a mark of GS1 it may as well be the maker's own number, or a bare GTIN.
    own = () if marked or gtin else (PartCode(PLAIN, serial=text),)
    if len(found) > gs1.MOST_READINGS:
        raise Refusal("part_code_too_unclear", issuer=gs1.GS1)
    if len(found) == 1 and not found[0].supplied and not own:
        return found[0]
    missing = any(r.supplied for r in found)
    return Question((*found, *own), "separator_missing" if missing else "not_marked_as_gs1")


def _separators_in(text: str) -> list[str]:
    """What separates here: [''] when nothing does; refuse two sorts at once."""
    there = [s for s in _SEPARATORS if s in text]
    if "~1" in there:
        # Some scanners type ~1, others ~ before an element that begins with 1.
        other = [s for s in there if s not in ("~1", "~")]
        there = ["~1", "~"] if text.count("~1") == text.count("~") else ["~"]
        if other:
            raise Refusal("part_code_two_separators", first=other[0], second="~")
        return there
    there = [s for s in there if not any(s != o and s in o for o in there)]
    if len(there) > 1:
        first, second = (s if s != gs1.SEPARATOR else "ASCII 29" for s in there[:2])
        raise Refusal("part_code_two_separators", first=first, second=second)
    return there or [""]


def _must_be_data(chunks: list[str]) -> None:
    for chunk in chunks:
        rest = _DATA.sub("", chunk)
        if rest:
            raise Refusal("part_code_strange_character", character=rest[0] if rest[0].isprintable() else repr(rest[0]), issuer=gs1.GS1)


def _distinct(readings: list[PartCode]) -> tuple[PartCode, ...]:
    """Readings that say different things of use, fewest missing separators first."""
    found: dict[tuple, PartCode] = {}
    useful = [r for r in readings if r.stated()]
    for reading in sorted(useful, key=lambda r: r.supplied):
        found.setdefault((reading.says, reading.further), reading)
    return tuple(found.values())
