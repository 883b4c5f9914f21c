"""Every page with its sentences in brackets: letters outside them that nobody typed went past the catalogue."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Iterator

import pytest

from shared_models.language import SOURCE, choose_language, languages
from shared_models.language.catalogues import CLOSED, MARKED, OPENED
from tests.sync_server.test_every_page_looked_over import pages_of
from tests.sync_server.test_ways_about_the_page import gappy

#: What is the same in every language: days and times, a number with its unit, the beginning of a digest.
_SAME = re.compile(
    r"\d{1,2} [A-Z][a-z]{2} \d{4}(, \d\d:\d\d UTC)?|[-\d. →;]*\d\s(mm|kg|min|s|clicks|marks)\b|\b[0-9a-f]{12,64}\b"
    r"|(left|right) \d+\.\d{3}"  # sides as they were tapped, in the words of the record
)
#: Shown as they are recorded, on purpose: keys and units of a component sheet.
_KEYS_SHOWN = {"flexion", "extension", "clicks", "marks"}
#: Looked for by machines, or written in a notation of its own.
_UNREAD = {"script", "style", "code", "pre"}
#: What is read to somebody though it stands in no text.
_READ_ALOUD = {"title", "aria-label", "alt", "placeholder"}


class Texts(HTMLParser):
    """Every text of a page that is shown or read aloud."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self._unread = 0
        self.feed(page)

    def handle_starttag(self, tag, attrs) -> None:
        self._unread += tag in _UNREAD
        self.found += [value for name, value in attrs if name in _READ_ALOUD and value]

    def handle_endtag(self, tag) -> None:
        self._unread -= tag in _UNREAD

    def handle_data(self, data) -> None:
        if not self._unread:
            self.found.append(data)


def outside_brackets(text: str) -> str:
    """What of a text stands in no brackets; brackets may hold others."""
    kept, depth = [], 0
    for character in text:
        depth += (character == OPENED) - (character == CLOSED)
        if depth == 0 and character != CLOSED:
            kept.append(character)
    return "".join(kept)


def strings_in(value) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from strings_in(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from strings_in(each)


def typed_in(house) -> list[str]:
    """What was typed by somebody, the longest first: all that is recorded, and names of staff, clinic and tablet."""
    recorded = {text for entry in house.station.entries.entries() for text in strings_in(dict(entry.body))}
    names = {each.own_name for each in languages()} | {"tablet-a"}
    # Of what is recorded, a small word alone may be a code that must be said in words.
    coded = {text for text in recorded if re.fullmatch("[a-z]+", text)} - _KEYS_SHOWN
    return sorted((text for text in (recorded | names) - coded if re.search("[^\\W\\d_]", text)), key=len, reverse=True)


def past_the_catalogue(text: str, typed: list[str]) -> str:
    """What of a text is neither a sentence of the catalogue, nor typed, nor the same in every language."""
    left = _SAME.sub(" ", outside_brackets(text))
    for each in typed:
        left = re.sub(rf"(?<!\w){re.escape(each)}(?!\w)", " ", left) if each in left else left
    left = " ".join(left.split())
    return left if re.search(r"[^\W\d_]{2}", left) else ""


@pytest.fixture
def in_brackets():
    choose_language(MARKED)
    yield
    choose_language(SOURCE)


def test_every_text_of_every_page_is_said_by_the_catalogue_or_was_typed(house, tablet, in_brackets):
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    lead = house.lead()
    paths, typed = pages_of(house, lead), typed_in(house)
    past, said = [], 0
    for path in paths:
        for text in Texts(lead.client.get(path).text).found:
            said += OPENED in text
            if found := past_the_catalogue(text, typed):
                past.append(f"{path}: {found}")
    assert len(paths) > 8 and said > 500
    assert past == [], "\n".join(sorted(set(past)))


@pytest.mark.parametrize("text, past", [
    ("⟦Signed by ⟦nobody⟧⟧", ""), ("⟦Signed⟧ by hand", "by hand"), ("26 Nov 2026, 17:24 UTC · 8 mm", ""),
    ("Ash Example", ""), ("confirmed", "confirmed"),
])
def test_what_stands_outside_brackets_is_found(text, past):
    assert past_the_catalogue(text, ["Ash Example"]) == past
