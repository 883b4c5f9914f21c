"""A later visit on paper: what it left alone is said as such, and outcome measures are drawn over the visits."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from shared_models.papers.fitting_record import fitting_record
from shared_models.papers.person_sheet import person_sheet
from shared_models.papers.record_pdf import record_pdf
from tests.fitting_desk import Desk


@pytest.fixture
def visit() -> Desk:
    desk = Desk.finished().visit().asked()
    desk.compared()
    desk.found(swing_flexion="10").ready_again()
    return desk.leave()


def rows_of(desk: Desk, heading: str) -> dict[str, tuple[str, ...]]:
    record = fitting_record(desk.view, desk.verdict())
    return {row[0]: row for table in record.tables if table.heading == heading for row in table.rows}


def text_of(data: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages))


def test_a_screw_that_the_visit_left_alone_is_not_missing_but_said_with_what_it_was_left_at(visit):
    said = rows_of(visit, "Final torques")["Top screw, front"][2]
    assert said.startswith("not touched at this visit; last 11 N·m, ") and said.endswith("; found to hold at 11 N·m")
    assert "not recorded yet" not in text_of(record_pdf(fitting_record(visit.view, visit.verdict())))


def test_a_screw_that_was_moved_and_not_tightened_is_missing(visit):
    key = next(s.key for s in visit.view.screws() if s.screw.name == "Top screw, front")
    visit.note("screw_moved", {"screw": key, "what": "slackened", "why": "turned"})
    rows = rows_of(visit, "Final torques")
    assert rows["Top screw, front"][2] == "not recorded yet"
    assert rows["Top screw, back"][2].startswith("not touched at this visit")
    visit.tighten(key)
    assert rows_of(visit, "Final torques")["Top screw, front"][2].startswith("11 N·m")


def test_a_valve_that_was_read_and_not_turned_is_said_as_found_and_one_not_read_as_it_was_left():
    desk = Desk.finished().visit().asked()
    desk.note("setting_found", {"function": "swing_flexion", "position": "10"})
    rows = rows_of(desk, "Settings")
    assert rows["Swing flexion"][2] == "10 marks, as found, not turned at this visit"
    assert rows["Swing extension"][2] == "not turned at this visit; left at 8 marks last time"


def test_the_person_is_told_where_the_valve_stands_and_not_where_it_once_was_confirmed(visit):
    lines = [line for block in person_sheet(visit.view, visit.verdict()).blocks for line in block.lines]
    assert any(line.startswith("Swing flexion: 10 of 20 marks.") for line in lines)
    assert "Screws: none was tightened at this visit." in lines
    assert not any("technician has not signed" in line for line in person_sheet(visit.view, visit.verdict()).status)


def test_outcome_measures_are_drawn_over_the_visits_with_the_published_change_and_its_source(visit):
    visit.correct(visit.head("outcome"), timed_up_and_go_s="14.0")
    record = fitting_record(visit.view, visit.verdict())
    assert [chart.title for chart in record.outcomes] == ["Timed up and go, over time (s)", "Two-minute walk, over time (m)"]
    # Resnik and Borgia 2011: 3.6 s; 9.9 to 14.0 s is beyond it.
    text = text_of(record_pdf(record))
    assert "Timed up and go: 14.0 s; worse since" in text
    assert "band: ± 3.6 s, the minimal detectable change at 90 %" in text and "Resnik L, Borgia M. Phys Ther 2011" in text


def test_a_first_fitting_draws_no_measure_over_time():
    desk = Desk.finished()
    record = fitting_record(desk.view, desk.verdict())
    assert record.outcomes == () and record.outcome_signs == "" and record.title == "Record of a fitting"


def test_a_drawing_beside_another_keeps_its_colours(visit):
    """fpdf2 writes no colour that it believes to be set already; each drawing has to say its own anew."""
    visit.correct(visit.head("outcome"), timed_up_and_go_s="14.0")
    page = PdfReader(io.BytesIO(record_pdf(fitting_record(visit.view, visit.verdict())))).pages[-1]
    drawn = page.get_contents().get_data().decode("latin-1")
    # Whatever is filled after a clip began has a colour set since that clip began.
    for clip in re.split(r"\bW n\b", drawn)[1:]:
        assert re.search(r"\b(rg|g)\b", clip.partition(" f")[0]), clip[:200]
