"""The person's sheet as PDF: A4, faces embedded, the same bytes from the same record."""

from __future__ import annotations

from typing import Callable

from fpdf import FPDF

from shared_models.papers.drawing_on_paper import DrawingOnPaper, rgb
from shared_models.papers.faces import MAIN, add_faces, printable
from shared_models.papers.joining import joined
from shared_models.papers.person_sheet import CAUTION, STEPS, Block, PersonSheet, by_hand
from shared_models.quantities.moments import moment_from
from shared_models.quantities.refusals import Refusal
from shared_models.wording import person_sheet as words

_EDGE, _GAP, _INDENT = 16.0, 3.0, 5.0
_TITLE_PT, _HEAD_PT, _BODY_PT, _SMALL_PT = 22.0, 12.5, 11.0, 8.5
_LEADING, _MM_PER_POINT = 1.32, 25.4 / 72
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


class _Paper(FPDF):
    """One sheet on A4, page by page."""

    def __init__(self, sheet: PersonSheet) -> None:
        super().__init__("P", "mm", "A4")
        self.sheet = sheet
        self.set_margins(_EDGE, _EDGE)
        self.set_auto_page_break(True, _EDGE + 4)
        self.set_creation_date(moment_from(sheet.moment))
        self.set_title(sheet.title)
        self.set_lang("en")
        self.set_producer("Stancebook")
        add_faces(self)

    # What stands on every page ----------------------------------------------------

    def header(self) -> None:
        """A draft says so on each page, and so does practice."""
        marks = ((words.PRACTICE, self.sheet.is_practice), (words.DRAFT, self.sheet.is_draft))
        shown = " · ".join(mark for mark, is_so in marks if is_so)
        if shown:
            self._font("B", _HEAD_PT, "doubt_text")
            self.cell(0, 6, shown, align="R", new_x="LMARGIN", new_y="NEXT")

    def footer(self) -> None:
        """Whose sheet it is, which page, and what comes first."""
        self.set_y(-_EDGE - 2)
        self._font("", _SMALL_PT, "ink_soft")
        file = printable(self.sheet.file_number)
        number = f"{'' if file.lacking else file.text} · {self.page_no()}".strip(" ·")
        self.multi_cell(0, 3.6, f"{self.sheet.foot}\n{number}", align="L")

    # The content ------------------------------------------------------------------

    def begin(self) -> None:
        """Title, and what keeps the sheet from being whole."""
        self.add_page()
        self._font("B", _TITLE_PT)
        self.cell(0, 11, self.sheet.title, new_x="LMARGIN", new_y="NEXT")
        self.ln(1)
        for sentence in (*self.sheet.status, *by_hand(self.sheet)):
            self._boxed(sentence)

    def _boxed(self, sentence: str) -> None:
        """A sentence on the doubt's ground, with a bar before it."""
        self._font("B", _BODY_PT, "doubt_text")
        lines = self._broken(sentence, self.epw - _INDENT - 2)
        high = self._line_mm(_BODY_PT) * len(lines) + 3
        if self.will_page_break(high):
            self.add_page()
            self._font("B", _BODY_PT, "doubt_text")
        top = self.get_y()
        self.set_fill_color(*rgb("doubt_ground"))
        self.rect(_EDGE, top, self.epw, high, style="F")
        self.set_fill_color(*rgb("doubt"))
        self.rect(_EDGE, top, 1.2, high, style="F")
        self.set_y(top + 1.5)
        self._lines(lines, _BODY_PT)
        self.set_y(top + high + 2)

    def block(self, block: Block) -> None:
        """A heading and its sentences; the heading never stands alone at the foot of a page."""
        if self.will_page_break(self._line_mm(_HEAD_PT) + 2 * self._line_mm(_BODY_PT)):
            self.add_page()
        self._font("B", _HEAD_PT, "doubt_text" if block.kind == CAUTION else "ink")
        self.cell(0, self._line_mm(_HEAD_PT), block.heading, new_x="LMARGIN", new_y="NEXT")
        for line in block.lines:
            self._sentence(line, block.kind)
        self.ln(_GAP)

    def _sentence(self, line: str, kind: str) -> None:
        self._font("", _BODY_PT)
        if printable(line).lacking:
            # Room for a pen: better no name than a wrong one.
            if self.will_page_break(_BY_HAND_MM):
                self.add_page()
            self.set_draw_color(*rgb("ink"))
            self.set_line_width(0.3)
            y = self.get_y() + _BY_HAND_MM - 1.5
            self.line(_EDGE + _INDENT, y, _EDGE + 120, y)
            self.set_y(self.get_y() + _BY_HAND_MM)
            return
        lines = self._broken(line, self.epw - _INDENT)
        self._lines(lines, _BODY_PT, mark=kind in (STEPS, CAUTION))

    def _lines(self, lines: list[str], points: float, mark: bool = False) -> None:
        high = self._line_mm(points)
        for number, text in enumerate(lines):
            if self.will_page_break(high):
                self.add_page()
                self._font("", points)
            if mark and number == 0:
                self.set_fill_color(*rgb("ink"))
                self.rect(_EDGE + 1.5, self.get_y() + high / 2 - 0.7, 1.4, 1.4, style="F")
            self.set_x(_EDGE + _INDENT)
            self.cell(0, high, text, new_x="LMARGIN", new_y="NEXT")

    def _broken(self, text: str, wide: float) -> list[str]:
        """Break a text into lines in reading order, and put each into the order of print."""
        lines: list[str] = []
        for word in text.split():
            for piece in self._pieces(word, wide):
                longer = f"{lines[-1]} {piece}" if lines else piece
                if lines and self.get_string_width(joined(longer)) <= wide:
                    lines[-1] = longer
                else:
                    lines.append(piece)
        return [printable(line).text for line in lines]

    def _pieces(self, word: str, wide: float) -> list[str]:
        """A word wider than the page in as many pieces as it needs."""
        if self.get_string_width(joined(word)) <= wide:
            return [word]
        pieces = [""]
        for character in word:
            if pieces[-1] and self.get_string_width(joined(pieces[-1] + character)) > wide:
                pieces.append("")
            pieces[-1] += character
        return pieces

    def drawing(self) -> None:
        """The leg from the side, as lines."""
        if self.sheet.scene is None:
            return
        wide, high = _DRAWING_MM
        if self.will_page_break(high + 2 * self._line_mm(_HEAD_PT) + 6):
            self.add_page()
        self._font("B", _HEAD_PT)
        self.cell(0, self._line_mm(_HEAD_PT), words.DRAWING, new_x="LMARGIN", new_y="NEXT")
        top = self.get_y() + 1
        DrawingOnPaper(self, self.sheet.scene, (_EDGE, top, wide, high)).draw()
        self.set_y(top + high + 1)
        self._font("", _SMALL_PT, "ink_soft")
        self._lines(self._broken(self.sheet.scene_words, self.epw - _INDENT), _SMALL_PT)

    def _font(self, style: str, points: float, tone: str = "ink") -> None:
        self.set_font(MAIN, style, points)
        self.set_text_color(*rgb(tone))

    @staticmethod
    def _line_mm(points: float) -> float:
        return points * _MM_PER_POINT * _LEADING
