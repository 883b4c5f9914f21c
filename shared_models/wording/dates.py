"""Dates and times as people read them: the one place where one becomes words.

The record holds ISO 8601.  A day is read with its month in letters, so that
nobody takes the month for the day (``4 Mar 2026``), and a moment with how far
its clock is from UTC, since a record is read elsewhere than it was made
(``4 Mar 2026, 10:42 UTC+2``).  Order, months and clock go by the reader's
language, from the Unicode CLDR by way of Babel.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import lru_cache

from shared_models.language import current_language
from shared_models.quantities.moments import NotAMoment, day_of, moment_from

#: The form of dates where a language alone does not say it: English writes the day first here.
_LOCALES = {"en": "en_GB", "en-XA": "en_GB"}


def day_words(day: date | str) -> str:
    """Return a day in words, ``4 Mar 2026``; a text that is no ISO day stays as it is."""
    if isinstance(day, str):
        try:
            day = date.fromisoformat(day)
        except ValueError:
            return str(day)
    return _skeleton("yMMMd", day, _locale())


def day_near_words(day: date, today: date) -> str:
    """Return a day with its month in full, and its year only where that is another one: ``12 May``."""
    return _skeleton("MMMMd" if day.year == today.year else "yMMMMd", day, _locale())


def moment_words(text: str) -> str:
    """Return a moment of the record, at the clock where it was: ``4 Mar 2026, 10:42 UTC+2``.

    Raises NotAMoment for a text that is none.
    """
    moment = moment_from(text)
    return f"{day_words(moment.date())}, {clock_words(text)} {zone_words(moment)}"


def moment_words_of(moment: datetime) -> str:
    """Return a moment that has its offset in words."""
    return moment_words(moment.isoformat())


def clock_words(text: str) -> str:
    """Return hours and minutes of a moment, for where its day is said already: ``10:42``."""
    return _clock(moment_from(text).strftime("%H:%M"), _locale())


def day_of_words(text: str) -> str:
    """Return the day of a moment in words; a text that is no moment stays as it is."""
    try:
        return day_words(day_of(text))
    except NotAMoment:
        return text


def taken_words(text: str) -> str:
    """Return when a photo was taken, by the camera's own clock: ``4 Mar 2026, 10:42``; other words stay as they are."""
    try:
        taken = datetime.fromisoformat(text)
    except ValueError:
        return text
    if taken.tzinfo is not None or len(text) <= len("2026-03-04"):
        return day_words(text)
    return f"{day_words(taken.date())}, {_clock(taken.strftime('%H:%M'), _locale())}"


def zone_words(moment: datetime) -> str:
    """Return how far a clock is from UTC: ``UTC``, ``UTC+2``, ``UTC−3:30``."""
    offset = moment.utcoffset() or timedelta()
    minutes = round(abs(offset).total_seconds() / 60)
    if not minutes:
        return "UTC"
    sign = "+" if offset > timedelta() else "\N{MINUS SIGN}"
    return f"UTC{sign}{minutes // 60}" + (f":{minutes % 60:02d}" if minutes % 60 else "")


def _locale() -> str:
    return _LOCALES.get(current_language(), current_language())


# Babel is read when the first date is shown: the page on which a PIN is typed stands before.


@lru_cache(maxsize=4096)
def _skeleton(skeleton: str, day: date, locale: str) -> str:
    from babel.dates import format_skeleton

    return format_skeleton(skeleton, day, locale=locale)


@lru_cache(maxsize=4096)
def _clock(face: str, locale: str) -> str:
    from babel.dates import format_time

    return format_time(datetime.strptime(face, "%H:%M").time(), "short", locale=locale)
