"""The record of a fitting as PDF: tables, charts and signatures, text to be selected, the same bytes from the same record."""

from __future__ import annotations

from shared_models.language import spoken
from shared_models.papers.columns import fitted
from shared_models.papers.drawing_on_paper import DrawingOnPaper, rgb
from shared_models.papers.faces import printable
from shared_models.papers.fitting_record import Chart, FittingRecord, Table
from shared_models.papers.joining import joined
from shared_models.papers.page import GAP_MM, Paper
from shared_models.wording import fitting_record as words

_TITLE_PT, _HEAD_PT, _BODY_PT, _TABLE_PT = 17.0, 10.5, 9.0, 7.4
_CELL_MM, _CHART_MM, _DRAWN_MM, _EDGE_MM, _OUTCOME_MM = 0.6, 27.0, 22.0, 12.0, 30.0
#: Within a table lines stand closer than running text, and rows have their hairline to part them.
_CELL_HIGH_MM, _TABLE_LINE_MM = 0.45, _TABLE_PT * 25.4 / 72 * 1.2


def record_pdf(record: FittingRecord) -> bytes:
    """Return the record as the bytes of a PDF."""
    paper = _RecordPaper(
        record.title, record.moment, record.file_number, record.foot,
        is_draft=record.is_draft, is_practice=record.is_practice,
    )
    paper.set_margins(_EDGE_MM, _EDGE_MM)
    paper.set_auto_page_break(True, _EDGE_MM + 5)
    paper.add_page()
    paper.begin(record)
    for table in record.tables:
        if table.heading == spoken(words.TRIALS):
            paper.measured(record)
            paper.charts(spoken(words.COURSE), record.charts, 4, _CHART_MM, spoken(words.CHART_SIGNS))
        paper.table_of(table)
    if not any(table.heading == spoken(words.TRIALS) for table in record.tables):
        paper.measured(record)
    paper.charts("", record.drawn, 3, _DRAWN_MM, "")
    return bytes(paper.output())


class _RecordPaper(Paper):
    """Dense pages: what a colleague looks up, not what a person takes home."""

    def begin(self, record: FittingRecord) -> None:
        """Whose record it is, and how it stands."""
        self.type_in("B", _TITLE_PT)
        self.cell(0, 8, record.title, new_x="LMARGIN", new_y="NEXT")
        self.type_in("B", _HEAD_PT)
        self.cell(0, self.line_mm(_HEAD_PT), _on_paper(record.name), new_x="LMARGIN", new_y="NEXT")
        self._text(record.facts, _BODY_PT)
        self.ln(1)
        self.sentences(spoken(words.VERDICT), (record.verdict[:1].upper() + record.verdict[1:], *record.gaps), bold_first=True)
        self.sentences(spoken(words.MATCHING), (record.matching,), points=_TABLE_PT)

    def sentences(
        self, heading: str, lines: tuple[str, ...], *, bold_first: bool = False, points: float = _BODY_PT,
    ) -> None:
        """A heading with its sentences; nothing where there is none."""
        if not lines:
            return
        self._heading(heading, 2 * self.line_mm(points))
        if bold_first:
            self.type_in("B", points)
            self._put(lines[0], points)
            lines = lines[1:]
        self._text(lines, points)
        self.ln(GAP_MM / 2)

    def measured(self, record: FittingRecord) -> None:
        """Outcome measures: the figures, and over visits as charts."""
        self.sentences(spoken(words.MEASURES), record.measures)
        self.charts(
            "" if record.measures else spoken(words.MEASURES), record.outcomes, 2, _OUTCOME_MM, record.outcome_signs,
        )

    def table_of(self, table: Table) -> None:
        """A table; its head stands again on a further page."""
        widths = self._widths(table)
        self._heading(table.heading, 3 * self.line_mm(_TABLE_PT) + 4)
        self._row(table.head, widths, "B")
        for row in table.rows:
            if self.will_page_break(self._high(row, widths)):
                self.add_page()
                self._row(table.head, widths, "B")
            self._row(row, widths, "")
        self.ln(GAP_MM)

    def _widths(self, table: Table) -> list[float]:
        """Widths of the columns in mm: a language with longer words parts them otherwise than another."""
        measured = []
        for style, row in (("B", table.head), *(("", row) for row in table.rows)):
            self.type_in(style, _TABLE_PT)
            measured.append([[self.get_string_width(joined(word)) for word in _readable(cell).split()] for cell in row])
        return fitted(table.shares, measured, self.get_string_width(" "), self.epw, 2 * _CELL_MM)

    def charts(self, heading: str, charts: tuple[Chart, ...], beside: int, high: float, signs: str) -> None:
        """Drawings, so many beside one another, each under its words."""
        if not charts:
            return
        if heading:
            self._heading(heading, high + 8)
        wide = (self.epw - GAP_MM * (beside - 1)) / beside
        for start in range(0, len(charts), beside):
            if self.will_page_break(high + self.line_mm(_TABLE_PT)):
                self.add_page()
            top = self.get_y()
            for column, chart in enumerate(charts[start:start + beside]):
                left = _EDGE_MM + column * (wide + GAP_MM)
                self.type_in("B", _TABLE_PT)
                self.set_xy(left, top)
                self.cell(wide, self.line_mm(_TABLE_PT), _on_paper(chart.title))
                DrawingOnPaper(self, chart.scene, (left, top + self.line_mm(_TABLE_PT), wide, high)).draw()
            self.set_xy(_EDGE_MM, top + high + self.line_mm(_TABLE_PT) + 1)
        if signs:
            self._text((signs,), _TABLE_PT)
        self.ln(GAP_MM / 2)

    def _heading(self, heading: str, with_it: float) -> None:
        """A heading, never alone at the foot of a page."""
        if self.will_page_break(self.line_mm(_HEAD_PT) + with_it):
            self.add_page()
        self.type_in("B", _HEAD_PT)
        self.cell(0, self.line_mm(_HEAD_PT), printable(heading).text, new_x="LMARGIN", new_y="NEXT")

    def _text(self, lines: tuple[str, ...], points: float) -> None:
        self.type_in("", points)
        for line in lines:
            self._put(line, points)

    def _put(self, line: str, points: float) -> None:
        for text in self.broken(_readable(line), self.epw):
            self.cell(0, self.line_mm(points), text, new_x="LMARGIN", new_y="NEXT")

    def _cells(self, row: tuple[str, ...], widths: list[float]) -> list[list[str]]:
        return [self.broken(_readable(text), wide - 2 * _CELL_MM) for text, wide in zip(row, widths)]

    def _high(self, row: tuple[str, ...], widths: list[float]) -> float:
        self.type_in("", _TABLE_PT)
        lines = max(len(cell) for cell in self._cells(row, widths))
        return max(lines, 1) * _TABLE_LINE_MM + 2 * _CELL_HIGH_MM

    def _row(self, row: tuple[str, ...], widths: list[float], style: str) -> None:
        self.type_in(style, _TABLE_PT)
        cells, top = self._cells(row, widths), self.get_y()
        high = max(max(len(cell) for cell in cells), 1) * _TABLE_LINE_MM + 2 * _CELL_HIGH_MM
        left = _EDGE_MM
        for cell, wide in zip(cells, widths):
            for number, text in enumerate(cell):
                self.set_xy(left + _CELL_MM, top + _CELL_HIGH_MM + number * _TABLE_LINE_MM)
                self.cell(wide - 2 * _CELL_MM, _TABLE_LINE_MM, text)
            left += wide
        self.set_draw_color(*rgb("ink" if style else "hairline"))
        self.set_line_width(0.3 if style else 0.15)
        self.line(_EDGE_MM, top + high, _EDGE_MM + self.epw, top + high)
        self.set_xy(_EDGE_MM, top + high)


def _readable(text: str) -> str:
    """The text, or that it is left to the pen where the typefaces lack its writing."""
    return spoken(words.BY_HAND) if printable(text).lacking else text


def _on_paper(text: str) -> str:
    return printable(_readable(text)).text
