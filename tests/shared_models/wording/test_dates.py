"""A day is never taken for a month, and a time says by which clock."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.language import in_language
from shared_models.quantities.moments import NotAMoment, moment_text
from shared_models.wording import dates
from shared_models.wording.dates import (
    clock_words,
    day_near_words,
    day_of_words,
    day_words,
    moment_words,
    taken_words,
    zone_words,
)

ROOT = Path(dates.__file__).parents[2]
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sept", "Oct", "Nov", "Dec"]
ZONES = st.integers(-14 * 4, 14 * 4).map(lambda quarters: timezone(timedelta(minutes=15 * quarters)))


@given(st.dates())
def test_a_day_is_read_as_day_month_in_letters_year(day):
    """Unicode CLDR, English as written in Britain, skeleton yMMMd."""
    number, month, year = day_words(day).split()
    assert (int(number), MONTHS.index(month) + 1, int(year)) == (day.day, day.month, day.year)
    assert day_words(day.isoformat()) == day_words(day)


@given(st.datetimes(min_value=datetime(1900, 1, 1), max_value=datetime(2100, 1, 1)), ZONES)
def test_a_moment_is_read_at_the_clock_where_it_was_with_its_distance_from_utc(moment, zone):
    here = moment.replace(tzinfo=zone)
    words = moment_words(moment_text(here))
    found = re.fullmatch(r"(.+), (\d\d):(\d\d) UTC(?:([+−])(\d+)(?::(\d\d))?)?", words)
    assert found and found[1] == day_words(moment.date())
    assert (int(found[2]), int(found[3])) == (moment.hour, moment.minute)
    minutes = int(found[5] or 0) * 60 + int(found[6] or 0)
    assert timedelta(minutes=-minutes if found[4] == "−" else minutes) == here.utcoffset()


def test_a_moment_without_its_offset_is_no_moment():
    with pytest.raises(NotAMoment):
        moment_words("2026-03-04T10:42:07.120")


@pytest.mark.parametrize("text", ["", "soon", "2026-13-40", "04/03/26"])
def test_a_text_that_is_no_day_stays_as_it_is(text):
    assert day_words(text) == text and day_of_words(text) == text


@pytest.mark.parametrize("text, said", [
    ("2026-03-04 10:42", "4 Mar 2026, 10:42"), ("2026-03-04 10:42:31", "4 Mar 2026, 10:42"), ("2026-03-04", "4 Mar 2026"),
    ("this morning", "this morning"), ("", ""), ("2026-03-04T10:42+02:00", "2026-03-04T10:42+02:00"),
])
def test_when_a_photo_was_taken_is_read_as_any_day_and_words_stay_words(text, said):
    assert taken_words(text) == said


def test_the_year_is_left_out_only_within_the_same_year():
    assert day_near_words(date(2026, 5, 12), date(2026, 8, 1)) == "12 May"
    assert day_near_words(date(2025, 5, 12), date(2026, 8, 1)) == "12 May 2025"


@pytest.mark.parametrize(("locale", "day", "clock"), [
    ("de", "4. März 2026", "10:42"), ("fr", "4 mars 2026", "10:42"), ("he", "4 במרץ 2026", "10:42"),
    ("en_US", "Mar 4, 2026", "10:42\N{NARROW NO-BREAK SPACE}AM"),
])
def test_order_months_and_clock_go_by_the_language(locale, day, clock):
    """Unicode CLDR charts, dates and times of these languages."""
    with in_language(locale):
        assert day_words("2026-03-04") == day
        assert clock_words("2026-03-04T10:42:07.120+02:00") == clock


def test_a_quarter_of_an_hour_from_utc_is_said():
    assert zone_words(datetime(2026, 1, 1, tzinfo=timezone(timedelta(hours=5, minutes=45)))) == "UTC+5:45"


#: Files that write a day or a time for a machine: names of files, of copies, of a database's rows.
FOR_MACHINES = {
    "shared_models/quantities/moments.py", "shared_models/wording/dates.py", "sync_server/services/backing_up.py",
    "sync_server/services/own_key.py", "mobile/flows/photos.py",
}


def written_elsewhere(source: str) -> list[str]:
    """Lines that write a date or a clock without this place."""
    return [line for line in source.splitlines() if re.search(r"%Y|%H:%M|clock_face\(|\[:16\]", line)]


def test_every_day_and_time_that_a_person_reads_is_written_in_one_place():
    found = {
        str(path.relative_to(ROOT)): lines
        for room in ("shared_models", "mobile", "sync_server") for path in (ROOT / room).rglob("*.py")
        if (lines := written_elsewhere(path.read_text("utf-8"))) and "digest" not in "".join(lines)
    }
    assert {k: v for k, v in found.items() if k not in FOR_MACHINES} == {}


def test_a_date_written_elsewhere_would_be_found():
    assert written_elsewhere('words = f"{moment:%Y-%m-%d %H:%M}"')
