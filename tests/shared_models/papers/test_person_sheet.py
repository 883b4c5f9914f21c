"""The sheet the person takes home, read by another program than the one that wrote it."""

from __future__ import annotations

import io
import subprocess
import sys
from datetime import timedelta

import pytest
from pypdf import PdfReader

from shared_models.papers.joining import joined, unjoined
from shared_models.papers.faces import printable
from shared_models.papers.pdf import make_pdf
from shared_models.papers.person_sheet import by_hand, person_sheet
from shared_models.quantities.moments import now_here
from shared_models.quantities.refusals import Refusal
from shared_models.wording import person_sheet as words
from shared_models.wording.dates import day_words
from shared_models.wording.states import FIRST, SUPERVISION
from tests.fitting_desk import Desk


@pytest.fixture(scope="module")
def finished():
    desk = Desk.finished()
    sheet = person_sheet(desk.view, desk.verdict())
    return sheet, make_pdf(sheet)


def draft(**identity):
    desk = Desk().staff().before_the_bench().on_the_bench()
    if identity:
        desk.correct(desk.record.head(desk.person, "identity"), **identity)
    return person_sheet(desk.view, desk.verdict())


def text_of(data: bytes) -> str:
    """Every word of a PDF, in its order, with single blanks between."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())



def test_every_sentence_of_the_sheet_is_found_again_by_another_reader(finished):
    sheet, data = finished
    found = text_of(data)
    for block in sheet.blocks:
        assert block.heading in found
        for line in block.lines:
            assert " ".join(line.split()) in found, line
    assert FIRST in found and words.MAKER_FIRST in found


def test_a_complete_sheet_says_whom_to_call_when_to_come_and_who_checked(finished):
    sheet, data = finished
    assert sheet.status == () and not sheet.is_draft and not sheet.is_practice
    found = text_of(data)
    assert words.DRAFT not in found
    assert "Call: the clinic." in found and f"Come again on {day_words(now_here().date() + timedelta(days=14))}." in found
    assert "Screws checked and signed by Tamsin Thread" in found
    assert "Stance threshold: 1 of 24 clicks" in found
    assert "Rail in hand, short walks, skin looked at daily." in found
    assert "The locking compound of the screws cures until" in found


def test_the_same_record_makes_the_same_bytes_in_another_process_too(finished):
    sheet, data = finished
    assert make_pdf(sheet) == data
    script = (
        "import hashlib, pickle, sys; from shared_models.papers.pdf import make_pdf;"
        "print(hashlib.sha256(make_pdf(pickle.load(sys.stdin.buffer))).hexdigest())"
    )
    import hashlib
    import pickle

    said = subprocess.run([sys.executable, "-c", script], input=pickle.dumps(sheet), capture_output=True, check=True)
    assert said.stdout.decode().strip() == hashlib.sha256(data).hexdigest()


def test_every_typeface_is_embedded_and_only_a_part_of_it(finished):
    fonts = fonts_of(finished[1])
    assert fonts
    for font in fonts:
        below = font["/DescendantFonts"][0].get_object()
        assert "/FontFile2" in below["/FontDescriptor"].get_object()
        assert font["/BaseFont"][7] == "+", "a subset has six letters and a plus before its name"
    assert len(finished[1]) < 200_000


def fonts_of(data: bytes) -> list:
    found = {}
    for page in PdfReader(io.BytesIO(data)).pages:
        for name, font in page["/Resources"].get_object()["/Font"].get_object().items():
            found[name] = font.get_object()
    return list(found.values())


def test_the_paper_is_a4_and_runs_nothing_and_points_nowhere(finished):
    reader = PdfReader(io.BytesIO(finished[1]))
    for page in reader.pages:
        assert [round(float(n)) for n in page.mediabox[2:]] == [595, 842]
        assert "/Annots" not in page and "/AA" not in page
    for name in (b"/JavaScript", b"/JS", b"/URI", b"/Launch", b"/OpenAction /", b"/EmbeddedFile", b"/AcroForm"):
        assert name not in finished[1], name


def test_the_drawing_is_made_of_lines_and_holds_no_picture_of_dots(finished):
    sheet, data = finished
    assert sheet.scene is not None
    for page in PdfReader(io.BytesIO(data)).pages:
        assert not page.images
    assert "asked 34 ± 5" in text_of(data)


def test_an_unfinished_fitting_says_so_on_every_page_and_that_nobody_walks_off_alone():
    sheet = draft()
    data = make_pdf(sheet)
    found = text_of(data)
    assert "This sheet is not complete:" in found and "Next review" in found
    assert words.NOT_SIGNED in found and "unsupervised" in SUPERVISION
    pages = PdfReader(io.BytesIO(data)).pages
    assert all(words.DRAFT in page.extract_text() for page in pages)


def test_once_the_technician_has_signed_only_what_is_missing_is_said():
    desk = Desk.finished()
    desk.note("screw_moved", {"screw": "foot.front", "what": "slackened"})
    voided = person_sheet(desk.view, desk.verdict())
    assert voided.is_draft and words.NOT_SIGNED in voided.status
    assert words.NOT_CHECKED in [line for b in voided.blocks for line in b.lines]


def test_stairs_that_are_not_cleared_stand_among_the_cautions():
    desk = Desk.finished()
    stairs = desk.head("trial/stairs")
    desk.withdraw(stairs)
    desk.note("restriction", {"what": "stairs", "because": "not_cleared", "follow_up_on": "2999-01-01"})
    assert desk.verdict().restrictions == ("stairs",)
    sheet = person_sheet(desk.view, desk.verdict())
    cautions = next(b for b in sheet.blocks if b.heading == words.CAUTIONS)
    assert "Not cleared: stairs." in cautions.lines


# Names ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Łukasz Žiga", "Дмитрий", "Ελένη", "A" * 200, "Anna " * 40])
def test_a_name_in_latin_cyrillic_or_greek_is_printed_whole_however_long(name):
    sheet = draft(given_name=name, family_name="")
    assert by_hand(sheet) == ()
    found = text_of(make_pdf(sheet)).replace(" ", "")
    assert name.replace(" ", "") in found


def test_a_name_in_thai_is_left_to_the_pen_and_that_is_said():
    sheet = draft(given_name="สมชาย", family_name="ใจดี")
    assert by_hand(sheet) == (words.WRITE_BY_HAND.format(what=f"'{words.WHO}'", scripts="Thai"),)
    found = text_of(make_pdf(sheet))
    assert "Thai writing" in found and "สมชาย" not in found


def test_a_name_in_arabic_is_joined_and_runs_from_right_to_left():
    shown = printable("محمد").text
    # Dal at its end, then meem, hah and meem as they are joined: final, medial, medial, initial.
    assert [f"{ord(c):04X}" for c in shown] == ["FEAA", "FEE4", "FEA4", "FEE3"]
    assert by_hand(draft(given_name="محمد", family_name="الأحمد")) == ()


def test_lam_and_alef_are_written_as_one_and_alef_joins_nothing_behind_it():
    assert joined("سلام") == "\ufeb3\ufefc\ufee1"
    assert joined("دار") == "\ufea9\ufe8d\ufead"
    assert joined("پی") == "\ufb58\ufbfd"


def test_vowel_marks_that_can_not_be_placed_are_left_to_the_pen():
    assert unjoined("محمد") == "" and unjoined("é") == ""
    assert unjoined("مُحمد") == "\u064f"
    assert by_hand(draft(given_name="مُحَمَّد", family_name="")) != ()


def test_no_character_becomes_a_box(finished):
    assert printable("\U0001F9BF").lacking, "a character that no face has is told"
    sheet = draft(given_name="Ash\u2028\x07Ann", family_name="\u202eEvil")
    assert by_hand(sheet) == ()
    assert "Ash Ann Evil" in text_of(make_pdf(sheet)), "control characters are blanks, and turn nothing round"


def test_a_cancelled_sheet_stops_before_its_next_part(finished):
    heard = []
    with pytest.raises(Refusal) as refused:
        make_pdf(finished[0], lambda what, share: heard.append(share), lambda: len(heard) == 2)
    assert refused.value.code == "paper_cancelled"
    assert len(heard) == 2 and heard == sorted(heard)


def test_a_name_in_hebrew_runs_from_right_to_left_and_its_digits_do_not():
    assert printable("שלום 12").text == "12 םולש"
    assert by_hand(draft(given_name="שלום", family_name="")) == ()


def test_a_sheet_of_practice_says_so_on_every_page(finished):
    from dataclasses import replace

    practised = replace(finished[0], is_practice=True)
    pages = PdfReader(io.BytesIO(make_pdf(practised))).pages
    assert all(words.PRACTICE in page.extract_text() for page in pages)
    assert words.PRACTICE not in text_of(finished[1])
