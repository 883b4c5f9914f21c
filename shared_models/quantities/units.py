"""Units that a figure may be typed in: metric, and pounds, inches and inch-pounds.

The record is metric (`checks.as_typed` keeps what was typed beside it).  Factors are exact: one inch is 25.4 mm and one pound
0.45359237 kg (international yard and pound agreement, 1959), the standard
acceleration of fall is 9.80665 m/s²; a pound-force and an inch-pound are made
of these (NIST Special Publication 811, 2008, appendix B).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Iterable, Mapping

from shared_models.quantities.amounts import text_of

POUND_KG = Fraction(45359237, 10**8)
INCH_M = Fraction(254, 10**4)
FALL_M_S2 = Fraction(980665, 10**5)
POUND_FORCE_N = POUND_KG * FALL_M_S2

#: What is measured -> unit as it is shown -> how much of the first unit one of it is.
FAMILIES: Mapping[str, Mapping[str, Fraction]] = {
    "mass": {"kg": Fraction(1), "lb": POUND_KG},
    "length": {
        "m": Fraction(1), "cm": Fraction(1, 100), "mm": Fraction(1, 1000),
        "in": INCH_M, "ft": 12 * INCH_M,
    },
    "torque": {
        "N·m": Fraction(1), "lbf·in": POUND_FORCE_N * INCH_M,
        "lbf·ft": POUND_FORCE_N * 12 * INCH_M, "kgf·cm": FALL_M_S2 / 100,
    },
    "force": {"N": Fraction(1), "lbf": POUND_FORCE_N, "kgf": FALL_M_S2},
}
#: The unit that stands for a metric one where a tablet shows pounds and inches.
CUSTOMARY: Mapping[str, str] = {
    "kg": "lb", "mm": "in", "cm": "in", "m": "ft", "N·m": "lbf·in", "N": "lbf",
}
#: How people write units, in lower case and without spaces, points and hyphens.
_WRITTEN = {
    "kg": "kg", "kgs": "kg", "kilo": "kg", "kilos": "kg",
    "lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb",
    "m": "m", "cm": "cm", "mm": "mm",
    "in": "in", "inch": "in", "inches": "in", '"': "in", "''": "in",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
    "nm": "N·m", "n": "N", "kgfcm": "kgf·cm", "kgf": "kgf", "lbf": "lbf",
    **dict.fromkeys(
        ("inlb", "inlbs", "lbin", "lbsin", "lbfin", "inlbf", "inchpound", "inchpounds", "poundinch", "poundinches"),
        "lbf·in",
    ),
    **dict.fromkeys(
        ("ftlb", "ftlbs", "lbft", "lbsft", "lbfft", "ftlbf", "footpound", "footpounds", "poundfeet", "poundfoot"),
        "lbf·ft",
    ),
}
_FIGURE = re.compile(r"([+-]?)(\d{1,6}(?:[.,]\d{1,4})?)(?: (\d{1,2})/(\d{1,2}))?|([+-]?)(\d{1,2})/(\d{1,2})")
#: Parts of an inch as tapes are marked.
_PARTS = (2, 4, 8, 16, 32, 64)
#: A body takes so many places (`checks.bodies`).
MOST_PLACES = 7


@dataclass(frozen=True)
class Typed:
    """A figure typed with its unit: ``exact`` in ``unit``, and the ``step`` it was typed to.

    ``180 lb`` is 180 to the pound, ``5 ft 11 in`` is 71 to the inch,
    ``1/8 in`` is to the eighth of an inch.
    """

    exact: Fraction
    unit: str
    step: Fraction

    def into(self, unit: str) -> "Typed":
        """Return the same in another unit of the family, exactly; raise ValueError across families."""
        factor = factor_between(self.unit, unit)
        return Typed(self.exact * factor, unit, self.step * factor)


def family_of(unit: str) -> str:
    """Return what is measured in a unit as it is shown; '' for one that is not converted."""
    return next((name for name, units in FAMILIES.items() if unit in units), "")


def factor_between(unit: str, other: str) -> Fraction:
    """Return how many of ``other`` one ``unit`` is, exactly; raise ValueError across families."""
    family = family_of(unit)
    if not family or family != family_of(other):
        raise ValueError(f"{unit} and {other} do not measure the same")
    return FAMILIES[family][unit] / FAMILIES[family][other]


def split_unit(text: str) -> tuple[str, str]:
    """Return the figures and the unit as typed behind them, '' where none is typed."""
    found = re.search(r"[^\d\s.,/+\-\u2212].*$", text.strip())
    if not found:
        return text.strip(), ""
    return text.strip()[: found.start()].strip(), found[0].strip()


def unit_from(written: str) -> str:
    """Return the unit that people mean by what they wrote; '' for one that is not known here."""
    return _WRITTEN.get(re.sub(r"[\s.·⋅*\-\u2212]", "", written.replace("\u2019", "'").replace("\u2033", '"').replace("\u2032", "'")).lower(), "")


def typed_from(text: str) -> Typed | None:
    """Read a figure with its unit; None where it states no figure, or a unit unknown here."""
    feet = re.fullmatch(r"(.+?) ?(ft|foot|feet|'|\u2019|\u2032)\.? ?(\d.*)", text.strip(), re.IGNORECASE)
    if feet:
        return _feet_and_inches(feet[1].strip(), feet[3])
    figure, written = split_unit(text)
    unit = unit_from(written)
    read = _figure(figure)
    if read is None or not unit or (read[2] and family_of(unit) != "length"):
        return None
    return Typed(read[0], unit, read[1])


def _feet_and_inches(feet: str, rest: str) -> Typed | None:
    inches, written = split_unit(rest)
    whole, more = _figure(feet), _figure(inches)
    if whole is None or more is None or unit_from(written) != "in":
        return None
    if whole[0].denominator != 1 or whole[0] < 0 or not 0 <= more[0] < 12 or inches[:1] in "+-":
        return None
    return Typed(whole[0] * 12 + more[0], "in", more[1])


def _figure(text: str) -> tuple[Fraction, Fraction, bool] | None:
    """The figure, its step, and whether it has a fraction."""
    found = _FIGURE.fullmatch(re.sub(r"\s+", " ", text.replace("\u2212", "-")).strip())
    if not found:
        return None
    sign = -1 if (found[1] or found[5]) == "-" else 1
    whole = (found[2] or "0").replace(",", ".")
    above, below = found[3] or found[6], found[4] or found[7]
    places = len(whole.partition(".")[2])
    if not below:
        return sign * Fraction(whole), Fraction(1, 10**places), False
    if places or int(below) not in _PARTS or int(above) >= int(below):
        return None
    return sign * (Fraction(whole) + Fraction(int(above), int(below))), Fraction(1, int(below)), True


def rounded(typed: Typed, limits: Iterable[Fraction | Decimal] = ()) -> str:
    """Return a converted figure as it is recorded, to no finer place than it was typed to.

    The place is the largest power of ten that is not larger than the step
    typed, and never above the whole unit: 180 lb, typed to the pound (0.45 kg),
    is 81.6 kg; so it always reads back as typed.  Rounding never changes on
    which side of a limit a figure lies, nor moves it onto one: not of
    ``limits``, and not of any whole or half unit, in which sheets state
    theirs.  Places are added until that is so.
    """
    limits = [Fraction(limit) for limit in limits]
    places = 0
    while Fraction(1, 10**places) > typed.step and places < MOST_PLACES:
        places += 1
    while True:
        figure = Fraction(round(typed.exact * 10**places), 10**places)
        if places >= MOST_PLACES or _keeps_its_side(typed.exact, figure, limits):
            break
        places += 1
    if not _keeps_its_side(typed.exact, figure, limits):
        figure += Fraction(1 if typed.exact > figure else -1, 10**places)
    return f"{Decimal(int(figure * 10**places)).scaleb(-places):f}"


def in_tenths(exact: Fraction, limits: Iterable[Fraction | Decimal] = ()) -> str:
    """Return a sum of figures for reading: as it is where it was typed so, else to a tenth or on its side of limits."""
    typed_so = exact * 10**4
    if typed_so.denominator == 1:
        return text_of(Decimal(typed_so.numerator).scaleb(-4))
    return text_of(Decimal(rounded(Typed(exact, "", Fraction(1, 10)), limits)))


def _keeps_its_side(exact: Fraction, figure: Fraction, limits: list[Fraction]) -> bool:
    if exact == figure:
        return True
    if (2 * figure).denominator == 1 or int(exact * 2 // 1) != int(figure * 2 // 1):
        return False
    return all((exact > limit) == (figure > limit) and (exact < limit) == (figure < limit) for limit in limits)


def agrees(value: Decimal, typed: Typed) -> bool:
    """Tell whether a recorded figure, in the unit that ``typed`` was brought into, can be that one."""
    return abs(Fraction(value) - typed.exact) * 2 <= typed.step


def shown_in(value: str, unit: str, other: str, places: int = 1) -> str:
    """Return a figure of the record in another unit for reading, rounded half to even."""
    exact = Fraction(value) * factor_between(unit, other)
    figure = Decimal(round(exact * 10**places)).scaleb(-places)
    return text_of(figure) if figure else "0"
