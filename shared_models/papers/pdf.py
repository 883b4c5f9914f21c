"""The person's sheet as PDF: A4, faces embedded, the same bytes from the same record."""

from __future__ import annotations

from typing import Callable

from shared_models.language import spoken
from shared_models.papers.drawing_on_paper import DrawingOnPaper, rgb
from shared_models.papers.faces import printable
from shared_models.papers.page import BODY_PT, EDGE_MM, GAP_MM, HEAD_PT, INDENT_MM, SMALL_PT, TITLE_PT, Paper
from shared_models.papers.person_sheet import CAUTION, STEPS, Block, PersonSheet, by_hand
from shared_models.quantities.refusals import Refusal
from shared_models.wording import person_sheet as words

_DRAWING_MM = (0.9 * 74.0, 74.0)
_BY_HAND_MM, _TITLE_MM = 9.0, 12.0
#: Sizes of type that are tried until everything stands on one page: 11 points down to 8.
_SHARES = tuple(n / 100 for n in range(100, 72, -3))
#: What even the smallest can't hold is printed at this one, over several pages.
_FLOWING = 0.9

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
    step("drawing", 0.35)
    paper.drawing()
    for number, block in enumerate(sheet.blocks):
        step("pages", 0.4 + 0.35 * number / max(len(sheet.blocks), 1))
        paper.block(block)
    step("pages", 0.75)
    return bytes(paper.output())


class _Paper(Paper):
    """The person's sheet: one page, in smaller type where there is much to say.

    What still does not fit goes on to a second page; nothing is left out.
    """

    def __init__(self, sheet: PersonSheet) -> None:
        super().__init__(
            sheet.title, sheet.moment, sheet.file_number, sheet.foot,
            is_draft=sheet.is_draft, is_practice=sheet.is_practice,
        )
        self.sheet = sheet
        self._share = 1.0
        #: Where the drawing beside the first blocks ends, on the page it is on.
        self._drawn_to: tuple[int, float] = (0, 0.0)

    def begin(self) -> None:
        """Title, what keeps the sheet from being whole, and the leg beside what follows."""
        self.add_page()
        self._share = next((s for s in _SHARES if self._high(s) <= self.eph - self._head_mm()), _FLOWING)
        self.body_pt = BODY_PT * self._share
        self.type_in("B", TITLE_PT * self._share)
        self.heading(self.sheet.title, _TITLE_MM * self._share)
        for sentence in self._boxes():
            self.boxed(sentence)

    def block(self, block: Block) -> None:
        """A heading and its sentences; the heading never stands alone at the foot of a page."""
        wide = self._wide(block)
        if wide == self.epw and self._drawn_to[0] == self.page:
            self.set_y(max(self.get_y(), self._drawn_to[1]))
        head = HEAD_PT * self._share
        if self.will_page_break(self.line_mm(head) + 2 * self.line_mm(self.body_pt)):
            self.add_page()
        self.type_in("B", head, "doubt_text" if block.kind == CAUTION else "ink")
        self.heading(block.heading, self.line_mm(head))
        for line in block.lines:
            self._sentence(line, block.kind, wide)
        self.ln(GAP_MM * self._share)

    def _sentence(self, line: str, kind: str, wide: float) -> None:
        self.type_in("", self.body_pt)
        if printable(line).lacking:
            # Room for a pen: better no name than a wrong one.
            if self.will_page_break(_BY_HAND_MM):
                self.add_page()
            self.set_draw_color(*rgb("ink"))
            self.set_line_width(0.3)
            y = self.get_y() + _BY_HAND_MM - 1.5
            self.line(EDGE_MM + INDENT_MM, y, EDGE_MM + min(120.0, wide), y)
            self.set_y(self.get_y() + _BY_HAND_MM)
            return
        lines = self.broken(line, wide - INDENT_MM)
        self.lines(lines, self.body_pt, mark=kind in (STEPS, CAUTION))

    def drawing(self) -> None:
        """The leg from the side, as lines, at the right of who it is and which leg."""
        if self.sheet.scene is None:
            return
        wide, high = (mm * self._share for mm in _DRAWING_MM)
        top, left = self.get_y(), EDGE_MM + (0 if self.right_to_left else self.epw - wide)
        y = top
        self.type_in("B", self.body_pt)
        for line in self.broken(spoken(words.DRAWING), wide):
            self.set_xy(left, y)
            self.cell(wide, self.line_mm(self.body_pt), line, align="R" if self.right_to_left else "L")
            y += self.line_mm(self.body_pt)
        DrawingOnPaper(self, self.sheet.scene, (left, y + 1, wide, high)).draw()
        y += high + 2
        self.type_in("", SMALL_PT * self._share, "ink_soft")
        for line in self.broken(self.sheet.scene_words, wide):
            self.set_xy(left, y)
            self.cell(wide, self.line_mm(SMALL_PT * self._share), line, align="R" if self.right_to_left else "L")
            y += self.line_mm(SMALL_PT * self._share)
        self._drawn_to = (self.page, y + GAP_MM * self._share)
        self.set_xy(EDGE_MM, top)

    # How high it all is -------------------------------------------------------------------

    def _boxes(self) -> tuple[str, ...]:
        return (*self.sheet.status, *by_hand(self.sheet))

    def _head_mm(self) -> float:
        """What the marks at the head of the page have taken already."""
        return self.get_y() - EDGE_MM

    def _wide(self, block: Block) -> float:
        """Who it is and which leg stand beside the drawing; the rest takes the whole width."""
        beside = self.sheet.scene is not None and block.heading in (spoken(words.WHO), spoken(words.KNEE))
        return self.epw - _DRAWING_MM[0] * self._share - GAP_MM if beside else self.epw

    def _high(self, share: float) -> float:
        """How high the sheet is, in mm, with its type at this share of the usual size."""
        self._share, self.body_pt = share, BODY_PT * share
        beside = sum(self._block_high(b) for b in self.sheet.blocks if self._wide(b) < self.epw)
        whole = sum(self._block_high(b) for b in self.sheet.blocks if self._wide(b) == self.epw)
        boxes = sum(self.box_of(sentence)[1] + 2 for sentence in self._boxes())
        return _TITLE_MM * share + boxes + max(beside, self._drawing_high()) + whole

    def _block_high(self, block: Block) -> float:
        self.type_in("", self.body_pt)
        wide, line = self._wide(block) - INDENT_MM, self.line_mm(self.body_pt)
        sentences = sum(
            _BY_HAND_MM if printable(text).lacking else line * len(self.broken(text, wide)) for text in block.lines
        )
        return self.line_mm(HEAD_PT * self._share) + sentences + GAP_MM * self._share

    def _drawing_high(self) -> float:
        if self.sheet.scene is None:
            return 0.0
        wide, high = (mm * self._share for mm in _DRAWING_MM)
        self.type_in("B", self.body_pt)
        heads = len(self.broken(spoken(words.DRAWING), wide)) * self.line_mm(self.body_pt)
        self.type_in("", SMALL_PT * self._share)
        tails = len(self.broken(self.sheet.scene_words, wide)) * self.line_mm(SMALL_PT * self._share)
        return heads + high + 2 + tails + GAP_MM * self._share
