"""The person's sheet as PDF: A4, faces embedded, the same bytes from the same record."""

from __future__ import annotations

from typing import Callable

from shared_models.papers.drawing_on_paper import DrawingOnPaper, rgb
from shared_models.papers.faces import printable
from shared_models.papers.page import BODY_PT, EDGE_MM, GAP_MM, HEAD_PT, INDENT_MM, SMALL_PT, TITLE_PT, Paper
from shared_models.papers.person_sheet import CAUTION, STEPS, Block, PersonSheet, by_hand
from shared_models.quantities.refusals import Refusal
from shared_models.wording import person_sheet as words

_DRAWING_MM = (0.9 * 105.0, 105.0)
_BY_HAND_MM = 9.0

Progress = Callable[[str, float], None]


def make_pdf(sheet: PersonSheet, progress: Progress = lambda _words, _share: None, cancelled: Callable[[], bool] = lambda: False) -> bytes:
    """Return the sheet as the bytes of a PDF.

    ``progress(what, share)`` hears how far it is.  Raises Refusal
    ``paper_cancelled`` once ``cancelled()`` says so.
    """
    def step(what: str, share: float) -> None:
        if cancelled():
            raise Refusal("paper_cancelled")
        progress(words.MAKING[what], share)

    step("faces", 0.05)
    paper = _Paper(sheet)
    step("pages", 0.35)
    paper.begin()
    for number, block in enumerate(sheet.blocks):
        step("pages", 0.35 + 0.3 * number / max(len(sheet.blocks), 1))
        paper.block(block)
    step("drawing", 0.65)
    paper.drawing()
    step("pages", 0.75)
    return bytes(paper.output())


class _Paper(Paper):
    """The person's sheet, page by page."""

    def __init__(self, sheet: PersonSheet) -> None:
        super().__init__(
            sheet.title, sheet.moment, sheet.file_number, sheet.foot,
            is_draft=sheet.is_draft, is_practice=sheet.is_practice,
        )
        self.sheet = sheet

    def begin(self) -> None:
        """Title, and what keeps the sheet from being whole."""
        self.add_page()
        self.type_in("B", TITLE_PT)
        self.cell(0, 11, self.sheet.title, new_x="LMARGIN", new_y="NEXT")
        self.ln(1)
        for sentence in (*self.sheet.status, *by_hand(self.sheet)):
            self.boxed(sentence)

    def block(self, block: Block) -> None:
        """A heading and its sentences; the heading never stands alone at the foot of a page."""
        if self.will_page_break(self.line_mm(HEAD_PT) + 2 * self.line_mm(BODY_PT)):
            self.add_page()
        self.type_in("B", HEAD_PT, "doubt_text" if block.kind == CAUTION else "ink")
        self.cell(0, self.line_mm(HEAD_PT), block.heading, new_x="LMARGIN", new_y="NEXT")
        for line in block.lines:
            self._sentence(line, block.kind)
        self.ln(GAP_MM)

    def _sentence(self, line: str, kind: str) -> None:
        self.type_in("", BODY_PT)
        if printable(line).lacking:
            # Room for a pen: better no name than a wrong one.
            if self.will_page_break(_BY_HAND_MM):
                self.add_page()
            self.set_draw_color(*rgb("ink"))
            self.set_line_width(0.3)
            y = self.get_y() + _BY_HAND_MM - 1.5
            self.line(EDGE_MM + INDENT_MM, y, EDGE_MM + 120, y)
            self.set_y(self.get_y() + _BY_HAND_MM)
            return
        lines = self.broken(line, self.epw - INDENT_MM)
        self.lines(lines, BODY_PT, mark=kind in (STEPS, CAUTION))

    def drawing(self) -> None:
        """The leg from the side, as lines."""
        if self.sheet.scene is None:
            return
        wide, high = _DRAWING_MM
        if self.will_page_break(high + 2 * self.line_mm(HEAD_PT) + 6):
            self.add_page()
        self.type_in("B", HEAD_PT)
        self.cell(0, self.line_mm(HEAD_PT), words.DRAWING, new_x="LMARGIN", new_y="NEXT")
        top = self.get_y() + 1
        DrawingOnPaper(self, self.sheet.scene, (EDGE_MM, top, wide, high)).draw()
        self.set_y(top + high + 1)
        self.type_in("", SMALL_PT, "ink_soft")
        self.lines(self.broken(self.sheet.scene_words, self.epw - INDENT_MM), SMALL_PT)
