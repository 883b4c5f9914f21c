"""The person's sheet is one page, also where names are long and cautions many; what can't fit is never left out."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from shared_models.papers.pdf import make_pdf
from shared_models.papers.person_sheet import PersonSheet, person_sheet
from shared_models.wording import person_sheet as words
from shared_models.wording.states import FIRST
from tests.fitting_desk import Desk

WORD = st.text("abcdefghijklmnoprstuvwyzABDGMW", min_size=1, max_size=12)


def sentence(longest: int):
    return st.lists(WORD, min_size=1, max_size=longest).map(lambda found: " ".join(found)[:longest].strip())


def longest_sentence(longest: int) -> str:
    return ("Wend a moment " * longest)[:longest].strip()


@cache
def usual() -> PersonSheet:
    desk = Desk.finished()
    return person_sheet(desk.view, desk.verdict())


def filled(name: str, clinic: str, parts: list[str], cautions: list[str], look_at: str, whom: str) -> PersonSheet:
    """The sheet of a finished fitting with these words in place of its own, and a restriction."""
    sheet, blocks = usual(), []
    for block in sheet.blocks:
        lines = block.lines
        if block.heading == words.WHO:
            lines = (name, *lines[1:-1], clinic)
        elif block.heading == words.KNEE:
            lines = tuple(f"{line.partition(':')[0]}: {part}" for line, part in zip(lines, parts))
        elif block.heading == words.STOP:
            lines = (*lines[:-1], words.CALL.format(whom=whom))
        elif block.heading == words.CAUTIONS:
            lines = (words.MAKER_FIRST, "Not cleared: stairs.", words.RESTRICTED_UNTIL.format(ground="stairs", day="30 Sept 2026"), *cautions)
        elif block.heading == words.NEXT:
            lines = (*lines[:1], words.LOOK_AT.format(what=look_at))
        blocks.append(replace(block, lines=lines))
    return replace(sheet, blocks=tuple(blocks), name=name)


def pages_of(sheet: PersonSheet) -> tuple[int, str]:
    """How many pages, and every letter on them but those of the foot."""
    pages = PdfReader(io.BytesIO(make_pdf(sheet))).pages
    shown = []
    for number, page in enumerate(pages, 1):
        letters = "".join(page.extract_text().split())
        for foot in ("".join(FIRST.split()), f"{sheet.file_number}·{number}/{len(pages)}."):
            letters = letters.replace(foot, "")
        shown.append(letters)
    return len(pages), "".join(shown)


def left_out(sheet: PersonSheet, found: str) -> list[str]:
    return [line for block in sheet.blocks for line in (block.heading, *block.lines) if "".join(line.split()) not in found]


def test_a_usual_sheet_is_one_page():
    assert pages_of(usual())[0] == 1


def test_the_worst_case_is_one_page_and_says_everything():
    """Names of 80, parts of 60, eight cautions of 100 characters, a restriction, a long note for the next visit."""
    worst = filled(
        longest_sentence(80), longest_sentence(60), [longest_sentence(60)] * 5,
        [f"{n} {longest_sentence(98)}" for n in range(8)], longest_sentence(120), longest_sentence(60),
    )
    many, found = pages_of(worst)
    assert (many, left_out(worst, found)) == (1, [])


@settings(deadline=None, max_examples=12)
@given(
    name=sentence(80), clinic=sentence(60), parts=st.lists(sentence(60), min_size=5, max_size=5),
    cautions=st.lists(sentence(100), max_size=8), look_at=sentence(120), whom=sentence(60), draft=st.booleans(),
)
def test_within_the_worst_case_it_is_always_one_page_with_every_sentence(name, clinic, parts, cautions, look_at, whom, draft):
    sheet = replace(filled(name, clinic, parts, cautions, look_at, whom), is_draft=draft)
    many, found = pages_of(sheet)
    assert (many, left_out(sheet, found)) == (1, [])


@settings(deadline=None, max_examples=4)
@given(cautions=st.lists(sentence(400), min_size=20, max_size=40), name=st.sampled_from(["W" * 2000, longest_sentence(600)]))
def test_what_one_page_can_not_hold_goes_on_to_another_and_nothing_is_left_out(cautions, name):
    sheet = filled(name, "clinic", ["part"] * 5, cautions, longest_sentence(2000), "the clinic")
    many, found = pages_of(sheet)
    assert many > 1 and left_out(sheet, found) == []


def test_an_unfinished_sheet_with_every_step_missing_is_one_page_too():
    desk = Desk().staff().before_the_bench().on_the_bench()
    many, _ = pages_of(person_sheet(desk.view, desk.verdict()))
    assert many == 1
