"""What the review page says of an alignment is what the tablet says."""

from __future__ import annotations

from shared_models.checks.alignment_reading import read_alignment
from shared_models.checks.masses import masses_of
from shared_models.wording.alignment import alignment_notes
from shared_models.wording.masses import whole_words
from shared_models.wording.reading_lines import REPLACED, alignments_of
from tests.fitting_desk import Desk
from tests.shared_models.checks.test_alignment_judged import SCALES


def test_each_alignment_that_stands_has_the_notes_of_the_tablet():
    desk = Desk.finished()
    desk.note("static_alignment", {**SCALES, "knee_from_heel_mm": "103", "load_line_offset_mm": "27.0", "kept_because": "tried"})
    view = desk.view
    columns = [c for c in alignments_of(view) if c.title == "Standing alignment"]
    assert [c.standing == REPLACED for c in columns] == [True, False]
    assert columns[0].notes == (), "history is not advised on"
    head = view.head("alignment/static")
    assert columns[1].notes == alignment_notes(read_alignment(view, head.kind, head.body), view.edition)


def test_the_page_shows_line_interval_and_move(house, tablet):
    desk = tablet.desk
    desk.note("static_alignment", {**SCALES, "knee_from_heel_mm": "103", "load_line_offset_mm": "27.0", "kept_because": "tried"})
    assert tablet.push().status_code == 200
    page = house.lead().open()
    assert page.status_code == 200
    assert "Load line 27.0 ± 1.9 mm in front of the knee centre." in page.text
    assert "7.0 mm forward." in page.text and "Because the load line lies 7.0 ± 1.9 mm behind its target." in page.text
    assert "Back scale, prosthesis on the board" in page.text, "the readings themselves, as typed"


def test_the_page_states_the_whole_body_as_the_tablet_does(house, tablet):
    assert tablet.push().status_code == 200
    assert whole_words(masses_of(tablet.desk.view)) in house.lead().open().text
