"""Sentences for what can't be taken as typed, and for doubts beside a field."""

from __future__ import annotations

from datetime import date

from shared_models.checks.entering import Reading
from shared_models.language import Phrases, filled, spoken
from shared_models.quantities.moments import day_of
from shared_models.wording.dates import clock_words, day_near_words

_REFUSED = Phrases({
    "missing": "Still missing. Fill this in to record.",
    "not_a_number": "'{typed}' is not a number. Type digits, {range}.",
    "unit_unknown": "The unit of '{typed}' is not known here. Take one of {units}: {range}.",
    "unit_of_other": "'{typed}' is a {found}, and a {asked} is asked. Take one of {units}: {range}.",
    "figure_before_unit": "'{typed}' can't be read as a figure with its unit. Type it like 180 lb, 5 ft 11 in or 1/8 in: {range}.",
    "not_whole": "'{typed}' is not a whole number. Type {range}.",
    "below_range": "{typed} is below what is possible. Type {range}.",
    "above_range": "{typed} is above what is possible. Type {range}.",
    "not_a_date": "'{typed}' is not a date. Type year-month-day, like 2026-03-31.",
    "too_long_ago": "{typed} is too long ago. Type year-month-day.",
    "not_yet": "{typed} has not come yet. Type a day up to today.",
    "choose": "Choose one.",
    "choose_reading": "Choose which reading is right, or empty this field.",
    "said": "{sentence}",
    "cannot_be_called": "'{typed}' can't be called: it has fewer than {fewest} digits. Type the number as it is dialled, like 01632 960123 or +44 1632 960123 ext. 4, or leave this empty.",
    "too_long": "Too long. Keep it under {longest} characters.",
})
_DOUBTED = Phrases({
    "said": "{sentence}",
    "unusually_low": "Unusually low: {from} to {to} {unit} is usual. Kept as typed; look again.",
    "unusually_high": "Unusually high: {from} to {to} {unit} is usual. Kept as typed; look again.",
})


def refusal_words(reading: Reading) -> str:
    """Return what is wrong and what would be right, '' when nothing is refused."""
    template = _REFUSED.get(reading.refusal, "")
    return filled(template, reading.figures)


def doubt_words(reading: Reading) -> str:
    """Return the doubt beside a value that is kept, '' when there is none."""
    template = _DOUBTED.get(reading.doubt, "")
    return filled(template, reading.figures).replace(" .", ".")


def last_words(value: str, happened_at: str, today: date) -> str:
    """Return the figure recorded last and when: 'last 38 on 12 May', 'last 38 at 10:42' on the same day."""
    day = day_of(happened_at)
    figure = spoken("last {value}", value=value).replace("-", "\N{MINUS SIGN}")
    if day == today:
        return spoken("{figure} at {time}", figure=figure, time=clock_words(happened_at))
    return spoken("{figure} on {day}", figure=figure, day=day_near_words(day, today))
