"""What is asked of a component sheet that is new: typed on the page, or taken in from a file.

On top of what contradicts itself (`catalogue.sheet_troubles`): names that tell
things apart, a version that is not there yet, an identifier whose check digit
fits, and figures so unlike any leg's that a mix-up of units is likelier.  Such
a figure is taken once somebody says that they compared it again; the sheet
keeps that: ``"compared_again": {"final_nm": "97"}`` beside the figure.

A sheet that came by sync is held against the same before it is offered, the
questions left out: nobody is there to answer them.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any, Collection, Iterator, Mapping

from shared_models.calculations.part_codes import gs1_check_digit
from shared_models.catalogue.sheet_form import SheetTrouble
from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.checks.as_typed import AS_TYPED, is_as_typed
from shared_models.quantities.amounts import amount_from, text_of
from shared_models.quantities.units import shown_in

COMPARED_AGAIN = "compared_again"
TORQUES = ("interim_nm", "final_nm")
#: Screws that hold a leg together take so much; outside, N·m and lbf·in were likelier
#: mixed up (common practice, from memory: clamps and joints 4 to 20 N·m, foot bolts to 50).
LIKELY_TORQUE_NM = (Decimal(2), Decimal(50))
#: An interim torque is some half of the final one; eight times and more is N·m beside lbf·in (1 N·m is 8.85 lbf·in).
MOST_OF_INTERIM = Decimal(7)
#: Makers' limits of body mass lie here; outside, pounds were likelier written as kilograms (common practice, from memory).
LIKELY_MASS_LIMIT_KG = (Decimal(40), Decimal(200))
#: Codes of troubles that are questions: taken once somebody says that they compared the figure again.
QUESTIONS = frozenset({"mass_limit_unlikely", "torque_unlikely_high", "torque_unlikely_low", "torques_far_apart"})
#: Letter and three characters of the labeler, its number of the part, and the unit of packing: HIBC, without its check.
_HIBC = re.compile(r"[A-Z][A-Z0-9]{3}[A-Z0-9]{1,18}[0-9]")
_GTIN_LENGTHS = (8, 12, 13, 14)


def taking_troubles(body: Mapping[str, Any], versions: Collection[str] = ()) -> list[SheetTrouble]:
    """Return everything that keeps a sheet from being published, taken in or offered.

    ``versions``: the names of the versions of this sheet that stand already.
    """
    body = without_blanks(body)
    found = list(sheet_troubles(body))
    if not isinstance(body, Mapping):
        return found
    if str(body.get("version", "")).strip() in versions:
        found.append(SheetTrouble("version", "version_taken", {"version": str(body["version"]).strip()}))
    return [*found, *_names(body), *_identifier(body), *_typed(body), *_questions(body)]


def may_be_offered(body: Mapping[str, Any]) -> bool:
    """Tell whether a sheet that is here, however it came, may be chosen for a part that is built in."""
    return all(trouble.code in QUESTIONS for trouble in taking_troubles(body))


def known_as(body: Mapping[str, Any], others: Collection[Mapping[str, Any]]) -> Mapping[str, Any] | None:
    """Return the sheet among others that is of the same component: same place, maker and name."""
    own = _component(body)
    return next((other for other in others if _component(other) == own), None)


def without_blanks(body: Any) -> Any:
    """Return a body without texts that say nothing, so that an empty text is a missing one."""
    if isinstance(body, Mapping):
        return {k: without_blanks(v) for k, v in body.items() if not (isinstance(v, str) and not v.strip())}
    return [without_blanks(item) for item in body] if isinstance(body, (list, tuple)) else body


def gtin_of(digits: str) -> str:
    """Return a trade item number as the code on a part states it, to fourteen digits; other texts as they are."""
    return digits.zfill(14) if digits.isascii() and digits.isdigit() and len(digits) in _GTIN_LENGTHS else digits


def _component(body: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(" ".join(str(body.get(name, "")).casefold().split()) for name in ("part", "maker", "name"))


def _names(body: Mapping[str, Any]) -> Iterator[SheetTrouble]:
    for sort in ("adjusters", "screws", "caps"):
        seen: set[str] = set()
        for number, row in _rows(body, sort):
            name = " ".join(str(row.get("name", "")).casefold().split())
            if name in seen:
                yield SheetTrouble(f"{sort}/{number}/name", "name_doubled", {"name": str(row["name"])})
            seen |= {name} - {""}


def _rows(body: Mapping[str, Any], sort: str) -> list[tuple[int, Mapping[str, Any]]]:
    rows = body.get(sort)
    return [(n, row) for n, row in enumerate(rows) if isinstance(row, Mapping)] if isinstance(rows, (list, tuple)) else []


def _identifier(body: Mapping[str, Any]) -> Iterator[SheetTrouble]:
    typed = str(body.get("device_identifier", ""))
    if not typed:
        return
    at = "device_identifier"
    if not (typed.isascii() and typed.isdigit()):
        if not _HIBC.fullmatch(typed):
            yield SheetTrouble(at, "identifier_unknown", {"typed": typed[:40]})
    elif len(typed) not in _GTIN_LENGTHS:
        yield SheetTrouble(at, "identifier_length", {"found": str(len(typed))})
    elif gs1_check_digit(typed[:-1]) != typed[-1]:
        yield SheetTrouble(at, "identifier_check_digit", {"found": typed[-1], "right": gs1_check_digit(typed[:-1])})


def _typed(body: Mapping[str, Any]) -> Iterator[SheetTrouble]:
    """What was typed in another unit is the figure that stands beside it."""
    for row, before in _bearers(body):
        words = row.get(AS_TYPED)
        for name in words if isinstance(words, Mapping) else ():
            if not is_as_typed(row, name, unit_of(name)):
                yield SheetTrouble(before + name, "typed_disagrees", {
                    "figure": f"{row.get(name)} {unit_of(name)}", "typed": str(row[AS_TYPED][name])})


def unit_of(name: str) -> str:
    """Return the unit of a figure that may be typed in another unit; "" for any other."""
    return next((unit for end, unit in (("_nm", "N·m"), ("_kg", "kg")) if name.endswith(end)), "")


def _bearers(body: Mapping[str, Any]) -> Iterator[tuple[Mapping[str, Any], str]]:
    """The sheet and its screws: what holds figures that may be typed in another unit."""
    yield body, ""
    for number, screw in _rows(body, "screws"):
        yield screw, f"screws/{number}/"


def _questions(body: Mapping[str, Any]) -> Iterator[SheetTrouble]:
    for row, before in _bearers(body):
        for name, code, figures in (*_mass_question(row), *_torque_questions(row)):
            compared = row.get(COMPARED_AGAIN)
            answer = compared.get(name) if isinstance(compared, Mapping) else None
            if answer != str(row.get(name)):
                yield SheetTrouble(before + name, code, figures)


def _mass_question(row: Mapping[str, Any]) -> Iterator[tuple[str, str, dict[str, str]]]:
    limit = amount_from(row.get("mass_limit_kg"))
    if limit is None or limit <= 0 or LIKELY_MASS_LIMIT_KG[0] <= limit <= LIKELY_MASS_LIMIT_KG[1]:
        return
    yield "mass_limit_kg", "mass_limit_unlikely", {
        "limit": text_of(limit), "from": str(LIKELY_MASS_LIMIT_KG[0]), "to": str(LIKELY_MASS_LIMIT_KG[1]),
        "pounds": shown_in(text_of(limit), "lb", "kg")}


def _torque_questions(row: Mapping[str, Any]) -> Iterator[tuple[str, str, dict[str, str]]]:
    lowest, highest = LIKELY_TORQUE_NM
    interim, final = (amount_from(row.get(name)) for name in TORQUES)
    unlikely = False
    for name, torque in zip(TORQUES, (interim, final), strict=True):
        if torque is not None and torque > 0 and not lowest <= torque <= highest:
            unlikely = True
            code = "torque_unlikely_high" if torque > highest else "torque_unlikely_low"
            yield name, code, {
                "torque": text_of(torque), "from": str(lowest), "to": str(highest),
                "as_pounds": shown_in(text_of(torque), "lbf·in", "N·m", 2),
                "in_pounds": shown_in(text_of(torque), "N·m", "lbf·in", 1)}
    if interim and final and interim > 0 and not unlikely and final > interim * MOST_OF_INTERIM:
        yield "final_nm", "torques_far_apart", {"interim": text_of(interim), "final": text_of(final)}
