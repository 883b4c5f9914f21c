"""Whoever reads in another language reads nothing in English: every page and every paper, in the marked language."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.drawings.scene import Label
from shared_models.language import MARKED, SOURCE, choose_language, spoken
from shared_models.language.figures import MARKED_SIGN
from shared_models.papers.fitting_record import fitting_record
from shared_models.papers.person_sheet import person_sheet
from shared_models.papers.record_pdf import record_pdf
from tests.fitting_desk import Desk
from tests.languages.unmarked import Known, texts_of_page, words_of
from tests.sync_server.conftest import begun, begun_template, house, tablet  # noqa: F401
from tests.sync_server.test_every_route import filled, routes_of
from tests.sync_server.test_ways_about_the_page import gappy


#: What an adjuster counts in, as the clinic's sheets have it.
UNITS_OF_SHEETS = (" clicks", " marks")


#: The version of a sheet is a name, printed by its maker, and no figure.
_VERSION = re.compile(r"(?:[Vv]ersion|newest is) \S+")


@pytest.fixture
def marked():
    choose_language(MARKED)
    yield
    choose_language(SOURCE)


def known_of(desk, *more: str) -> Known:
    texts = [t for e in desk.record.entries.values() for t in words_of(e.body)]
    texts += [t for name in DEMO_SHEETS for t in words_of(demo_sheet(name))] + list(words_of(demo_people()))
    sheets = [demo_sheet(name) for name in DEMO_SHEETS]
    keys = [row["key"] for sheet in sheets for sort in ("screws", "caps") for row in sheet.get(sort, ())]
    return Known([*texts, *more], keys)


def test_every_page_of_the_server_is_said_by_way_of_the_catalogue(house, tablet, marked):  # noqa: F811
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    lead, known = house.lead(), known_of(tablet.desk, *UNITS_OF_SHEETS)
    found, seen = {}, 0
    for method, pattern in routes_of(house.app):
        if method != "GET" or pattern.startswith("/exchange/"):
            continue
        answer = lead.client.get(filled(pattern))
        if answer.headers.get("content-type", "").startswith("text/html"):
            seen += 1
            past = [w for text in texts_of_page(answer.text) for w in known.unmarked(text)]
            if past:
                found[pattern] = sorted(set(past))
    assert seen >= 7
    assert found == {}


def test_every_figure_of_every_page_has_the_readers_decimal_sign(house, tablet, marked):  # noqa: F811
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    lead, known, found, read = house.lead(), known_of(tablet.desk), {}, 0
    versions = {demo_sheet(name)["version"] for name in DEMO_SHEETS}
    for method, pattern in routes_of(house.app):
        if method != "GET" or pattern.startswith("/exchange/"):
            continue
        answer = lead.client.get(filled(pattern))
        assert answer.status_code < 500, pattern
        if answer.headers.get("content-type", "").startswith("text/html"):
            read += sum(text.count(MARKED_SIGN) for text in texts_of_page(answer.text))
            past = [text.strip() for text in texts_of_page(answer.text) if known.pointed(_VERSION.sub(" ", text))]
            # The lists of sheets show a version alone in its cell.
            past = [text for text in past if not (pattern.startswith("/sheets") and text in versions)]
            if past:
                found[pattern] = sorted(set(past))
    assert found == {}
    assert read > 40


def test_a_page_in_german_has_the_same_marks_as_in_english(house, tablet):  # noqa: F811
    """A mark is the shape of a state; it must not hang on the words beside it."""
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    lead, marks = house.lead(), {}
    for code in ("en", "de"):
        lead.client.get(f"/language/{code}")
        marks[code] = re.findall(r'class="((?:marked|mark mark-)[^"]*|[^"]*superseded[^"]*)"', lead.open().text)
    assert len(marks["en"]) > 40 and marks["en"] == marks["de"]


def test_every_word_of_the_record_on_paper_is_said_by_way_of_the_catalogue(marked):
    desk = Desk.finished()
    gappy(desk)
    # The word within a chart is drawn with the main face, which has no brackets.
    known = known_of(desk, *UNITS_OF_SHEETS, " stop ")
    pages = PdfReader(io.BytesIO(record_pdf(fitting_record(desk.view, desk.verdict())))).pages
    assert known.unmarked(" ".join(" ".join(page.extract_text() for page in pages).split())) == []


def test_every_figure_on_paper_has_the_readers_decimal_sign(marked):
    desk = Desk.finished()
    gappy(desk)
    record = fitting_record(desk.view, desk.verdict())
    texts = [text for table in record.tables for row in table.rows for text in row]
    texts += [record.verdict, *record.facts, *record.gaps, *record.measures]
    texts += [label.text for chart in (*record.charts, *record.outcomes) for label in chart.scene.shapes if isinstance(label, Label)]
    texts += [line for block in person_sheet(desk.view, desk.verdict()).blocks for line in block.lines]
    known = known_of(desk)
    assert [text for text in texts if known.pointed(_VERSION.sub(" ", text))] == []
    assert sum(text.count(MARKED_SIGN) for text in texts) > 15


def test_every_word_of_the_persons_sheet_is_said_by_way_of_the_catalogue(marked):
    desk = Desk.finished()
    gappy(desk)
    # What to do is the label of a field of the hand-over, said whole and then cut into lines.
    said_whole = [spoken(field.label) for field in desk.view.edition.kinds["handover"].fields]
    known, sheet = known_of(desk), person_sheet(desk.view, desk.verdict())
    lines = [line for block in sheet.blocks for line in (block.heading, *block.lines)]
    assert len(lines) > 20
    cut = [line for line in lines if any(_bare(line) in _bare(whole) for whole in said_whole)]
    assert [word for line in lines if line not in cut for word in known.unmarked(line)] == []


def _bare(text: str) -> str:
    return text.translate({ord(sign): None for sign in "\u27e6\u27e7."}).strip().casefold()


@pytest.mark.parametrize("text, past", [
    ("\u27e6Signed by \u27e6nobody\u27e7\u27e7", []), ("\u27e6Signed\u27e7 by hand", ["by", "hand"]),
    ("26 Nov 2026, 17:24 UTC \u00b7 8 mm", []), ("Ash Example", []), ("confirmed", ["confirmed"]),
])
def test_what_stands_outside_brackets_is_found(text, past):
    assert Known(["Ash Example", "confirmed"]).unmarked(text) == past
