"""A page of any paper: A4, faces embedded, who and which page at its foot, drafts marked at its head."""

from __future__ import annotations

from typing import Any

from fpdf import FPDF

from shared_models.language import current_language, runs_right_to_left, spoken
from shared_models.papers.drawing_on_paper import rgb
from shared_models.papers.faces import MAIN, add_faces, printable
from shared_models.papers.joining import joined
from shared_models.quantities.moments import moment_from
from shared_models.wording import person_sheet as words

EDGE_MM, GAP_MM, INDENT_MM = 16.0, 3.0, 5.0
TITLE_PT, HEAD_PT, BODY_PT, SMALL_PT = 22.0, 12.5, 11.0, 8.5
_LEADING, _MM_PER_POINT = 1.32, 25.4 / 72


class Paper(FPDF):
    """One paper on A4, page by page.

    ``moment``: when the record was last added to, so that the same record makes
    the same bytes.  ``file_number`` and ``foot`` stand at the foot of each page;
    ``is_draft`` and ``is_practice`` at the head.
    """

    def __init__(
        self, title: str, moment: str, file_number: str, foot: str, *, is_draft: bool, is_practice: bool,
    ) -> None:
        super().__init__("P", "mm", "A4")
        self._file_number, self._foot = file_number, foot
        self._is_draft, self._is_practice = is_draft, is_practice
        #: Size of the running type, in points; a paper may set it smaller to hold everything.
        self.body_pt = BODY_PT
        self.set_margins(EDGE_MM, EDGE_MM)
        self.set_auto_page_break(True, EDGE_MM + 4)
        self.set_creation_date(moment_from(moment))
        self.set_title(title)
        self.set_lang(current_language())
        #: Whether lines begin at the right edge, as the language of the paper is written.
        self.right_to_left = runs_right_to_left(current_language())
        self.set_producer("Stancebook")
        add_faces(self)

    def header(self) -> None:
        """A draft says so on each page, and so does practice."""
        marks = ((spoken(words.PRACTICE), self._is_practice), (spoken(words.DRAFT), self._is_draft))
        shown = " · ".join(mark for mark, is_so in marks if is_so)
        if shown:
            self.type_in("B", HEAD_PT, "doubt_text")
            self.cell(0, 6, printable(shown).text, align="L" if self.right_to_left else "R", new_x="LMARGIN", new_y="NEXT")

    def footer(self) -> None:
        """Whose paper it is, which page, and what comes first."""
        self.set_y(-EDGE_MM + 1)
        self.type_in("", SMALL_PT, "ink_soft")
        file = printable(self._file_number)
        number = f"{'' if file.lacking else file.text} · {self.page_no()}/{{nb}}".strip(" ·")
        lines = self.broken(f"{number}. {self._foot}", self.epw - 2)
        self.multi_cell(0, 3.6, "\n".join(lines), align="R" if self.right_to_left else "L")

    def cell(self, *args: Any, **more: Any) -> bool:
        """A cell as fpdf2's, with the face on the page before it."""
        self._face_first()
        return super().cell(*args, **more)

    def multi_cell(self, *args: Any, **more: Any) -> Any:
        """Lines as fpdf2's, with the face on the page before them."""
        self._face_first()
        return super().multi_cell(*args, **more)

    def _face_first(self) -> None:
        """Put the main face on the page before a text that may begin with a letter only the fallback has.

        fpdf2 2.8 sets it inside that text alone, and what stands after it is then
        printed in the fallback's glyphs (its issues 1488 and 1772).
        """
        if self.page and not self.current_font_is_set_on_page:
            self.text(self.x, self.y, "")

    def boxed(self, sentence: str) -> None:
        """A sentence on the doubt's ground, with a bar before it."""
        lines, high = self.box_of(sentence)
        if self.will_page_break(high):
            self.add_page()
            self.type_in("B", self.body_pt, "doubt_text")
        top = self.get_y()
        self.set_fill_color(*rgb("doubt_ground"))
        self.rect(EDGE_MM, top, self.epw, high, style="F")
        self.set_fill_color(*rgb("doubt"))
        self.rect(EDGE_MM + (self.epw - 1.2 if self.right_to_left else 0), top, 1.2, high, style="F")
        self.set_y(top + 1.5)
        self.lines(lines, self.body_pt)
        self.set_y(top + high + 2)

    def box_of(self, sentence: str) -> tuple[list[str], float]:
        """Return the lines of a boxed sentence and how high its box is, with its type set."""
        self.type_in("B", self.body_pt, "doubt_text")
        lines = self.broken(sentence, self.epw - INDENT_MM - 2)
        return lines, self.line_mm(self.body_pt) * len(lines) + 3

    def lines(self, lines: list[str], points: float, mark: bool = False) -> None:
        """Lines that were broken before, one beneath the other; ``mark`` before the first."""
        high = self.line_mm(points)
        for number, text in enumerate(lines):
            if self.will_page_break(high):
                self.add_page()
                self.type_in("", points)
            if mark and number == 0:
                self.set_fill_color(*rgb("ink"))
                from_left = self.epw - 2.9 if self.right_to_left else 1.5
                self.rect(EDGE_MM + from_left, self.get_y() + high / 2 - 0.7, 1.4, 1.4, style="F")
            self.set_x(EDGE_MM + (0 if self.right_to_left else INDENT_MM))
            self.cell(self.epw - INDENT_MM, high, text, align="R" if self.right_to_left else "L", new_x="LMARGIN", new_y="NEXT")

    def heading(self, text: str, high: float) -> None:
        """One line over the whole width, from the edge at which the paper's language begins."""
        self.cell(0, high, printable(text).text, align="R" if self.right_to_left else "L", new_x="LMARGIN", new_y="NEXT")

    def broken(self, text: str, wide: float) -> list[str]:
        """Break a text into lines no wider than ``wide`` mm, each in the order of print."""
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

    def type_in(self, style: str, points: float, tone: str = "ink") -> None:
        """Set the type for what follows."""
        self.set_font(MAIN, style, points)
        self.set_text_color(*rgb(tone))

    @staticmethod
    def line_mm(points: float) -> float:
        """Return the height of a line of type in mm."""
        return points * _MM_PER_POINT * _LEADING
