"""From what is typed to what may be recorded.

Impossible is refused with what would be right; unlikely is kept with a doubt
beside it.  Which is which is data of the edition and of the component sheet.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Any, Mapping

from shared_models.catalogue.edition import Field, Kind
from shared_models.checks.as_typed import AS_TYPED
from shared_models.checks.telephones import FEWEST_DIGITS, LONGEST_TELEPHONE, can_be_called
from shared_models.language import spoken
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.units import (
    FAMILIES,
    Typed,
    factor_between,
    family_of,
    rounded,
    split_unit,
    typed_from,
    unit_from,
)

_NUMBER = re.compile(r"^[+-]?\d{1,6}([.,]\d{1,4})?$")
LONGEST_TEXT = 2000
EARLIEST = date(1900, 1, 1)


@dataclass(frozen=True)
class Limits:
    """Range of one field, from the edition or from a component sheet."""

    unit: str
    lowest: str = ""
    highest: str = ""
    likely_from: str = ""
    likely_to: str = ""
    whole: bool = False
    steps: tuple[str, ...] = ()

    def words(self) -> str:
        """Return the range spelled out, as it stands under the field."""
        if not self.lowest and not self.highest:
            return ""
        unit = self.unit if self.unit == "°" else f" {spoken(self.unit)}" if self.unit else ""
        known = {"lowest": self.lowest, "highest": self.highest, "unit": unit}
        return spoken("{lowest} to {highest}{unit}, whole", **known) if self.whole else spoken("{lowest} to {highest}{unit}", **known)


@dataclass(frozen=True)
class Reading:
    """What became of typed text: a value, or a refusal; and any doubt.

    ``refusal`` and ``doubt`` are codes worded in `wording.entering`;
    ``figures`` belong to them.  ``as_typed``: what was typed, where that was in
    another unit than ``value`` is.
    """

    value: Any = None
    refusal: str = ""
    doubt: str = ""
    figures: Mapping[str, str] = field(default_factory=dict)
    as_typed: str = ""


def limits_of(spec: Field) -> Limits:
    """Return the limits that the edition states for a field."""
    return Limits(
        spec.unit, spec.lowest, spec.highest, spec.likely_from, spec.likely_to,
        whole=spec.type == "count", steps=spec.steps,
    )


def limits_in(limits: Limits, unit: str) -> Limits:
    """Return limits in another unit of the same family, in tenths; a possible range is never widened."""
    def brought(text: str, rounding: str) -> str:
        amount = amount_from(text)
        if amount is None:
            return ""
        tenths = Fraction(amount) * factor_between(limits.unit, unit) * 10
        figure = (Decimal(tenths.numerator) / Decimal(tenths.denominator)).to_integral_value(rounding) / 10
        return f"{figure:f}" if figure else "0"

    if unit == limits.unit:
        return limits
    return replace(
        limits, unit=unit, steps=(),
        lowest=brought(limits.lowest, ROUND_CEILING), highest=brought(limits.highest, ROUND_FLOOR),
        likely_from=brought(limits.likely_from, ROUND_FLOOR), likely_to=brought(limits.likely_to, ROUND_CEILING),
    )


def read_amount(text: str, limits: Limits) -> Reading:
    """Read a typed amount; a decimal comma is taken as a point.

    Digits are kept as typed, so ``38.0`` stays ``38.0``.  A figure with another
    unit of what the field measures is converted exactly, judged as it is, and
    rounded by `quantities.units.rounded`; what was typed goes beside it.
    """
    figures, written = split_unit(text)
    if figures and written and family_of(limits.unit):
        unit = "in" if typed_from(text) and not unit_from(written) else unit_from(written)
        if unit != limits.unit:
            return _read_other_unit(text, limits)
        text = figures
    typed = text.strip().replace("\u2212", "-").replace(" ", "")
    figures = {"typed": text.strip(), "range": limits.words()}
    if not _NUMBER.match(typed):
        return Reading(refusal="not_a_number", figures=figures)
    kept = typed.replace(",", ".").lstrip("+")
    return _judged(Fraction(kept), kept, text.strip(), limits, limits)


def _read_other_unit(text: str, limits: Limits) -> Reading:
    words, family = " ".join(text.split()), family_of(limits.unit)
    said = {"typed": words, "range": limits.words(), "units": ", ".join(FAMILIES[family])}
    typed = typed_from(words)
    if typed is None:
        known = unit_from(split_unit(words)[1])
        return Reading(refusal="figure_before_unit" if known else "unit_unknown", figures=said)
    if family_of(typed.unit) != family:
        return Reading(refusal="unit_of_other", figures={**said, "asked": family, "found": family_of(typed.unit)})
    return _converted(typed.into(limits.unit), words, limits, limits_in(limits, typed.unit))


def _converted(typed: Typed, words: str, limits: Limits, own: Limits) -> Reading:
    sides = [a for a in map(amount_from, (limits.lowest, limits.highest, limits.likely_from, limits.likely_to)) if a is not None]
    reading = _judged(typed.exact, rounded(typed, sides), words, limits, own)
    return reading if reading.refusal else replace(reading, as_typed=words)


def _judged(exact: Fraction, kept: str, words: str, limits: Limits, shown: Limits) -> Reading:
    """Judge a figure by its limits; ``shown`` are the same in the unit it was typed in."""
    said = {"typed": words, "range": shown.words()}
    if limits.whole and exact.denominator != 1:
        return Reading(refusal="not_whole", figures=said)
    if limits.lowest and exact < Fraction(limits.lowest):
        return Reading(refusal="below_range", figures=said)
    if limits.highest and exact > Fraction(limits.highest):
        return Reading(refusal="above_range", figures=said)
    usual = {"from": shown.likely_from, "to": shown.likely_to, "unit": shown.unit}
    if limits.likely_from and exact < Fraction(limits.likely_from):
        return Reading(kept, doubt="unusually_low", figures=usual)
    if limits.likely_to and exact > Fraction(limits.likely_to):
        return Reading(kept, doubt="unusually_high", figures=usual)
    return Reading(kept)


def read_date(text: str, today: date, *, past: bool = False) -> Reading:
    """Read a typed ISO date; ``past`` refuses a day that has not come yet."""
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        return Reading(refusal="not_a_date", figures={"typed": text.strip()})
    if day < EARLIEST:
        return Reading(refusal="too_long_ago", figures={"typed": text.strip()})
    if past and day > today:
        return Reading(refusal="not_yet", figures={"typed": text.strip()})
    return Reading(day.isoformat())


#: Dates that can't lie ahead of the day they are recorded on.
PAST_DATES = ("born_on", "wrench_calibrated_on")


def read_field(
    spec: Field, typed: Any, choices: Mapping[str, Mapping[str, str]],
    today: date, limits: Limits | None = None,
) -> Reading:
    """Read one field of a form; '' or None for 'not recorded'."""
    if typed in (None, "", []):
        missing = spec.required and spec.type not in ("findings",)
        return Reading(refusal="missing", figures={"label": spec.label}) if missing else Reading()
    if spec.type in ("amount", "count"):
        return read_amount(str(typed), limits or limits_of(spec))
    if spec.type == "date":
        return read_date(str(typed), today, past=spec.key in PAST_DATES)
    if spec.type == "yes_no":
        return Reading(typed) if isinstance(typed, bool) else Reading(refusal="choose")
    if spec.type == "choice":
        known = typed in choices.get(spec.choices, {})
        return Reading(typed) if known else Reading(refusal="choose")
    if spec.type == "text":
        text = str(typed).strip()
        if spec.required and not text:
            return Reading(refusal="missing", figures={"label": spec.label})
        if len(text) > LONGEST_TEXT:
            return Reading(refusal="too_long", figures={"longest": str(LONGEST_TEXT)})
        return Reading(text)
    return read_telephone(str(typed)) if spec.type == "telephone" else Reading(typed)


def read_telephone(text: str) -> Reading:
    """Read a typed telephone number; kept as written, but for spaces around it."""
    number = text.strip()
    if len(number) > LONGEST_TELEPHONE:
        return Reading(refusal="too_long", figures={"longest": str(LONGEST_TELEPHONE)})
    if number and not can_be_called(number):
        return Reading(refusal="cannot_be_called", figures={"typed": number, "fewest": str(FEWEST_DIGITS)})
    return Reading(number or None)


@dataclass(frozen=True)
class FormReading:
    """A whole form: the body that may be recorded, refusals and doubts by field."""

    body: Mapping[str, Any]
    refused: Mapping[str, Reading]
    doubted: Mapping[str, Reading]


def read_form(
    kind: Kind, typed: Mapping[str, Any], choices: Mapping[str, Mapping[str, str]],
    today: date, limits: Mapping[str, Limits] | None = None,
) -> FormReading:
    """Read every field of a form; nothing typed is lost, whatever is refused."""
    body, refused, doubted, as_typed = {}, {}, {}, {}
    for spec in kind.fields:
        reading = read_field(spec, typed.get(spec.key), choices, today, (limits or {}).get(spec.key))
        if reading.refusal:
            refused[spec.key] = reading
            continue
        if reading.value is not None:
            body[spec.key] = reading.value
        if reading.as_typed:
            as_typed[spec.key] = reading.as_typed
        if reading.doubt:
            doubted[spec.key] = reading
    if as_typed:
        body[AS_TYPED] = as_typed
    if body.get("outcome") == "stopped" and not body.get("stop_reason"):
        if any(spec.key == "stop_reason" for spec in kind.fields):
            refused["stop_reason"] = Reading(refusal="choose")
    return FormReading(body, refused, doubted)

