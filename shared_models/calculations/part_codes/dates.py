"""Dates of codes on parts: two figures for the year, or a day of the year."""

from __future__ import annotations

import calendar
from datetime import date, timedelta

#: GS1 General Specifications, 7.12: a year lies at most 49 years back and 50 ahead.
_TOO_FAR_AHEAD, _TOO_FAR_BACK = 51, -50


def full_year(two_digits: int, today: date) -> int:
    """Return the year that two figures mean on a day (GS1 General Specifications, 7.12).

    HIBC states no window of its own; the same one is taken.
    """
    century, current = divmod(today.year, 100)
    apart = two_digits - current
    if apart >= _TOO_FAR_AHEAD:
        century -= 1
    elif apart <= _TOO_FAR_BACK:
        century += 1
    return century * 100 + two_digits


def day_text(year: str, month: str, day: str, today: date) -> str:
    """Return an ISO day from two-figure parts, '' when there is no such day.

    Day ``00`` is the last day of the month.
    """
    if not all(part.isascii() and part.isdigit() and len(part) == 2 for part in (year, month, day)):
        return ""
    whole, number = full_year(int(year), today), int(month)
    if not 1 <= number <= 12:
        return ""
    last = calendar.monthrange(whole, number)[1]
    return date(whole, number, int(day) or last).isoformat() if int(day) <= last else ""


def day_of_year_text(year: str, day: str, today: date) -> str:
    """Return an ISO day from a two-figure year and the day of the year, '' when there is none."""
    if not (year.isdigit() and day.isdigit() and len(year) == 2 and len(day) == 3):
        return ""
    whole, number = full_year(int(year), today), int(day)
    if not 1 <= number <= (366 if calendar.isleap(whole) else 365):
        return ""
    return (date(whole, 1, 1) + timedelta(days=number - 1)).isoformat()


def long_day_text(text: str) -> str:
    """Return an ISO day from YYYYMMDD, '' when there is no such day."""
    try:
        if not (text.isascii() and text.isdigit() and len(text) == 8):
            return ""
        return date(int(text[:4]), int(text[4:6]), int(text[6:])).isoformat()
    except ValueError:
        return ""
