"""The record of a fitting on paper, read back by another program than the one that wrote it."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader

from shared_models.catalogue.edition import load_edition
from shared_models.entries.fitting import FittingView
from shared_models.language import in_language, languages
from shared_models.papers.course_on_paper import course_rows
from shared_models.papers.fitting_record import course_shown, fitting_record, record_digest
from shared_models.papers.page import Paper
from shared_models.papers.pdf import make_pdf
from shared_models.papers.person_sheet import person_sheet
from shared_models.papers.record_pdf import record_pdf
from shared_models.quantities.moments import moment_from
from shared_models.wording.dates import day_words
from shared_models.wording.sentences import sentence_of
from shared_models.wording.units import unit_behind
from tests.fitting_desk import Desk
from tests.properties.desk_moves import finished_desks, play


@pytest.fixture(scope="module")
def finished() -> Desk:
    return Desk.finished()


def paper_of(desk: Desk) -> bytes:
    return record_pdf(fitting_record(desk.view, desk.verdict()))


def pages_of(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def words_of(data: bytes) -> str:
    """The text of all pages, without the breaks that lines and cells put into it."""
    return re.sub(r"\s+", "", " ".join(pages_of(data)))


def is_said(sentence: str, text: str) -> bool:
    return re.sub(r"\s+", "", sentence) in text


@pytest.mark.parametrize("language", [each.code for each in languages() if each.whole])
def test_a_usual_fitting_takes_two_pages_and_the_persons_sheet_one_in_each_language(finished, language):
    with in_language(language):
        assert len(pages_of(paper_of(finished))) == 2
        assert len(pages_of(make_pdf(person_sheet(finished.view, finished.verdict())))) == 1


def test_the_paper_holds_every_setting_torque_part_signature_and_the_verdict(finished):
    text, view = words_of(paper_of(finished)), finished.view
    for function, position in view.last_confirmed().items():
        assert is_said(f"{view.edition.words('function', function)}", text)
        assert is_said(f"{position} {unit_behind(position, view.adjuster(function).unit)}", text)
    for screw in view.screws():
        assert is_said(screw.screw.name, text)
        assert is_said(f"{view.head(f'torque_final/{screw.key}').body['reading_nm']} N·m", text)
    for sheet in view.sheets().values():
        assert is_said(sheet.name, text)
    signed = finished.record.has_signed(finished.head("sign_off"), "signs_off")
    assert is_said(signed.printed_name, text) and is_said("checked and signed off", text)
    assert is_said("Complete; review: not sent for review.", text)


def test_paper_and_record_are_matched_by_their_digests(finished):
    text = words_of(paper_of(finished))
    assert finished.verdict().digest in text
    assert record_digest(finished.view.entries()) in text
    another = Desk.finished()
    another.correct(another.head("body"), body_mass_kg="83")
    assert record_digest(another.view.entries()) not in text


def test_an_unfinished_fitting_says_so_on_every_page_with_each_gap_as_a_sentence():
    desk = Desk.finished()
    desk.turn("swing_flexion", "9")
    verdict = desk.verdict()
    data = paper_of(desk)
    assert all("NOT COMPLETE" in page for page in pages_of(data))
    open_steps = [s for s in verdict.steps if s.state not in ("met", "waived", "not_applicable")]
    assert open_steps
    for step in open_steps:
        said = [sentence_of(r, desk.view) for r in step.remarks if r.blocks]
        assert is_said(f"{step.title}: {said[0] if said else 'nothing recorded'}", words_of(data))


def test_the_chart_of_an_adjuster_shows_every_trial_where_it_was_walked():
    desk = finished_desks("tablet-a")[0]
    play([desk], [("turn", 1, 0), ("walk", 1, 0), ("turn", 1, 0), ("walk", 8, 0)])
    view = FittingView(desk.record, desk.fitting.id)
    walked = view.trials("trial/swing_flexion")
    shown = course_shown(view, "swing_flexion")
    assert [str(p.position) for p in shown.points] == [view.position_in(t, "swing_flexion") for t in walked]
    assert [p.outcome for p in shown.points] == [t.body["outcome"] for t in walked]


def test_neither_paper_hands_on_the_persons_telephone():
    desk = Desk.finished()
    desk.correct(desk.head("identity"), telephone="01632 960123")
    for paper in (paper_of(desk), make_pdf(person_sheet(desk.view, desk.verdict()))):
        assert "D-2041" in words_of(paper) and "960123" not in words_of(paper)


def test_the_same_record_makes_the_same_paper(finished):
    assert paper_of(finished) == paper_of(finished)


def test_a_long_course_goes_on_on_further_pages_with_the_head_of_its_table():
    desk = finished_desks("tablet-a")[0]
    play([desk], [(move, n, 0) for n in range(40) for move in ("turn", "walk")])
    pages = pages_of(record_pdf(fitting_record(desk.view, desk.verdict())))
    assert len(pages) > 2
    assert sum("Seen and felt" in page for page in pages) > 1


def test_a_name_in_thai_is_left_to_the_pen():
    desk = Desk.finished()
    desk.correct(desk.head("identity"), given_name="กมล", family_name="สมมุติ")
    assert is_said("(written by hand)", words_of(paper_of(desk)))


def test_a_mass_typed_in_pounds_stands_on_paper_as_it_was_typed_and_in_kilograms():
    """180 lb = 81.6466266 kg (NIST SP 811)."""
    desk = Desk.finished()
    desk.correct(desk.head("body"), body_mass_kg="81.6", as_typed={"body_mass_kg": "180 lb"})
    assert is_said("81.6 kg (typed as 180 lb) and 6 kg carried", words_of(paper_of(desk)))


def rows_of_the_course(desk: Desk) -> list[tuple[str, ...]]:
    return list(course_rows(desk.view))


def looked_for(*there: str, among: int = 4) -> list[dict[str, str]]:
    """Findings of a stance trial: those named were slight, the others were looked for and not there."""
    keys = [f.key for f in load_edition().findings][:among]
    assert set(there) <= set(keys)
    return [{"finding": k, "grade": "slight" if k in there else "none", "perceived": "seen"} for k in keys]


def test_what_was_there_is_said_and_what_was_not_there_is_counted():
    desk = Desk.finished()
    first, second, *_ = [f for f in desk.view.edition.findings]
    desk.walk("stance_threshold", "change", findings=looked_for(first.key, second.key))
    said = rows_of_the_course(desk)[-1][-3]
    assert said == f"{first.words}: slight seen; {second.words}: slight seen; 2 others looked for, not there"


def test_where_nothing_was_found_paper_says_that_it_was_looked_for():
    desk = Desk.finished()
    desk.walk("stance_threshold", "confirmed", findings=looked_for())
    assert rows_of_the_course(desk)[-1][-3] == "4 looked for, none there"


def test_a_turn_for_the_next_trial_stands_in_that_trials_row():
    desk = Desk.finished()
    before = desk.view.settings()["swing_flexion"]
    desk.turn("swing_flexion", "9")
    turned = len(rows_of_the_course(desk))
    desk.walk("swing_flexion", "change")
    rows = rows_of_the_course(desk)
    assert len(rows) == turned and f"{before} → 9" in rows[-1] and rows[-1][-2] == "not yet right"


def test_a_turn_that_was_overridden_keeps_its_row_with_the_reason():
    desk = Desk.finished()
    desk.note("setting", {
        "function": "swing_flexion", "position": "9", "reason": "trial",
        "override_because": "the maker asked for it by telephone",
    })
    desk.walk("swing_flexion", "change")
    turn, trial = rows_of_the_course(desk)[-2:]
    assert "the maker asked for it by telephone" in turn[-3] and turn[-2] == ""
    assert "9" in trial


def test_two_trials_alike_stay_two_rows():
    desk = Desk.finished()
    before = len(rows_of_the_course(desk))
    desk.walk("swing_flexion", "change")
    desk.walk("swing_flexion", "change")
    assert len(rows_of_the_course(desk)) == before + 2


def test_why_settings_were_confirmed_although_something_stood_against_it_stands_on_paper():
    desk = Desk.finished()
    desk.walk("swing_flexion", "confirmed", confirmed_although="the person prefers it so", findings=looked_for())
    assert "the person prefers it so" in rows_of_the_course(desk)[-1][-3]


def test_a_time_of_the_day_of_the_fitting_stands_alone_and_one_of_another_day_has_its_day():
    desk = Desk.finished()
    day = day_words(moment_from(desk.head("sign_off").happened_at).date())
    desk.note("trial_swing_flexion", {
        "stands_by": "Bo", "aid": "none", "pain_0_10": "0", "findings": [], "outcome": "change",
    }, happened_at=moment_from("2031-02-03T10:42:00.000+00:00"))
    record = fitting_record(desk.view, desk.verdict())
    assert f"Times without a day are of {day}, UTC." in record.facts
    course = next(t for t in record.tables if t.heading == "Trials and events")
    assert course.rows[-1][0] == "3 Feb 2031, 10:42 UTC"
    assert re.fullmatch(r"\d\d:\d\d", course.rows[0][0])


def test_what_stands_after_a_word_in_hebrew_keeps_its_letters():
    """Both first after a change of type and first on a page, in cells beside one another."""
    paper = Paper("Title", "2026-03-04T10:42:00.000+00:00", "D-2041", "foot", is_draft=False, is_practice=False)
    for page in range(2):
        paper.add_page()
        for points in (9.0, 7.4):
            paper.type_in("", points)
            paper.cell(60, 5, "\u05e9\u05e8\u05d4")
            paper.cell(60, 5, f"DEMO-KNE-0417 plain {page} {points}", new_x="LMARGIN", new_y="NEXT")
    text = words_of(bytes(paper.output()))
    assert [f"DEMO-KNE-0417plain{page}{points}" in text for page in range(2) for points in (9.0, 7.4)] == [True] * 4


def test_an_adjuster_turned_twice_within_a_minute_keeps_both_turns_on_paper():
    desk = Desk.finished()
    before = desk.view.settings()["swing_flexion"]
    desk.turn("swing_flexion", "9")
    desk.turn("swing_flexion", "10")
    desk.walk("swing_flexion", "change")
    cells = [cell for row in rows_of_the_course(desk)[-2:] for cell in row]
    assert f"{before} \u2192 9" in cells and "9 \u2192 10" in cells


def test_a_measure_that_could_not_be_worked_out_says_so_on_paper():
    desk = Desk.finished()
    desk.correct(desk.head("outcome"), ten_metre_walk_s="9.9")
    assert any("not available" in line for line in fitting_record(desk.view, desk.verdict()).measures)
