"""The person's sheet on the screen, from the same content as the paper, and saving it as a PDF."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.metrics import dp

from shared_models.drawings.plain_shapes import Room
from shared_models.language import current_language, in_language, languages, runs_right_to_left, spoken
from shared_models.papers.person_sheet import (
    CAUTION,
    DRAWING_ROOM,
    STEPS,
    Block,
    PersonSheet,
    by_hand,
    person_sheet,
    sheet_drawing,
)
from shared_models.papers.fitting_record import fitting_record
from shared_models.wording import fitting_record as record_words
from shared_models.wording import person_sheet as words
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.paper_files import (
    PaperRun,
    ToPrint,
    record_to_print,
    saved_papers,
    sheet_to_print,
    take_away,
)
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.drawing import DrawingView
from mobile.widgets.listing import ListRow, ProgressLine
from mobile.widgets.surface import Column, Words
from mobile.widgets.theme import theme

POLL_SECONDS = 0.05
_DRAWING_HIGH_DP = 420
#: Height of a line of body type as a part of its size.
_LINE = 1.3


class PaperPane:
    """Shows what the sheet says; the main button makes the PDF, off the screen's thread."""

    def __init__(self, page, language: str = ""):
        self.page, self.language = page, language or current_language()
        page.begin_content()
        with in_language(self.language):
            self.sheet: PersonSheet = person_sheet(page.view, page.verdict)
        self.folder = page.stage.tablet.papers_folder
        self.run: PaperRun | None = None
        page.head(spoken("The person's sheet"), spoken(words.PREVIEW_LEAD))
        self.outcome = Banner(kind="info", test_name="paper:outcome")
        self.progress = ProgressLine(test_name="paper:progress", cancel_words=spoken("Cancel"))
        self.progress.fbind("on_cancel", lambda *_: self.run and self.run.cancel())
        self.news = Column(spacing=theme.gap)
        page.body.add_widget(self.news)
        self._say_status()
        self._offer_languages()
        with in_language(self.language):
            page.body.add_widget(self._paper())
        self.saved = Column(spacing=dp(4))
        page.body.add_widget(self.saved)
        self._list_saved()
        page.plain(spoken("Back"), page.show_missing, "back")
        self.record_button = page.plain(spoken(record_words.SAVE), self.save_record, "save_record_pdf")
        self.button = page.main(spoken("Save as PDF"), self.save, "save_pdf")
        page.scroll_to_top()

    def _offer_languages(self) -> None:
        """In which language the person reads; what a language lacks is said in English."""
        row = ChoiceRow(
            test_name="paper:language", label=spoken("The person reads"),
            options=[(each.code, each.own_name) for each in languages()], value=self.language,
        )
        row.fbind("on_edit", lambda _row, code: PaperPane(self.page, code) if self.run is None or self.run.done else None)
        self.page.body.add_widget(row)

    # What it says ---------------------------------------------------------------

    def _say_status(self) -> None:
        for text in (*self.sheet.status, *by_hand(self.sheet)):
            self.page.body.add_widget(Banner(kind="doubt", text=text, test_name="paper:status"))

    def _paper(self) -> Column:
        """The sheet on white, block by block."""
        paper = Column(ground_tone="field", edge_tone="ink", padding=[dp(24)] * 4, spacing=dp(6), test_name="paper")
        if self.sheet.is_draft:
            paper.add_widget(Words(text=spoken(words.DRAFT), bold=True, tone="doubt_text", halign="left" if self._mirrored else "right"))
        paper.add_widget(self._line(self.sheet.title, role="title", bold=True))
        for block in self.sheet.blocks:
            self._block(paper, block)
        if self.sheet.scene is not None:
            paper.add_widget(self._line(spoken(words.DRAWING), role="lead", bold=True))
            paper.add_widget(_drawing(self.page.view))
            paper.add_widget(self._line(self.sheet.scene_words, role="small", tone="ink_soft"))
        paper.add_widget(self._line(self.sheet.foot, role="small", tone="ink_soft"))
        return paper

    @property
    def _mirrored(self) -> bool:
        return runs_right_to_left(self.language)

    def _line(self, text: str, **kwargs) -> Words:
        """Words from the edge at which the person's language begins."""
        return Words(text=text, halign="right" if self._mirrored else "left", **kwargs)

    def _block(self, paper: Column, block: Block) -> None:
        tone = "doubt_text" if block.kind == CAUTION else "ink"
        paper.add_widget(self._line(block.heading, role="lead", bold=True, tone=tone, padding=[0, dp(10), 0, 0]))
        mark = "•  " if block.kind in (STEPS, CAUTION) else ""
        for line in block.lines:
            paper.add_widget(self._line(line + mark[::-1] if self._mirrored else mark + line))

    # Saving -----------------------------------------------------------------------

    def save(self) -> None:
        """Make the person's sheet as a PDF, unless a paper is being made."""
        if self.run is None or self.run.done:
            self._make(sheet_to_print(self.sheet, self.language))

    def save_record(self) -> None:
        """Make the record of the fitting as a PDF, for colleagues, unless a paper is being made."""
        if self.run is None or self.run.done:
            self._make(record_to_print(fitting_record(self.page.view, self.page.verdict)))

    def _make(self, paper: ToPrint) -> None:
        self.news.clear_widgets()
        self.run = PaperRun(paper, self.folder)
        self.button.disabled = self.record_button.disabled = True
        self.news.add_widget(self.progress)
        self.page.scroll_to_top()
        Clock.schedule_interval(self._poll, POLL_SECONDS)

    def _poll(self, _dt) -> bool:
        run = self.run
        assert run is not None
        run.drain()
        self.progress.words, self.progress.share = run.words, run.share
        if not run.done:
            return True
        self.button.disabled = self.record_button.disabled = False
        self.news.clear_widgets()
        self._say(run)
        return False

    def _say(self, run: PaperRun) -> None:
        if run.path is not None:
            self.outcome.kind, self.outcome.lead = "info", spoken(words.SAVED_AS, name=run.path.name)
            self.outcome.text = spoken(words.READABLE)
        else:
            assert run.refusal is not None
            self.outcome.kind, self.outcome.lead, self.outcome.text = "doubt", refusal_sentence(run.refusal), ""
        self.news.add_widget(self.outcome)
        self._list_saved()

    def _list_saved(self) -> None:
        """The papers of this person that lie on the tablet, each to be taken away."""
        self.saved.clear_widgets()
        for path in saved_papers(self.folder, self.sheet.file_number):
            row = ListRow(title=path.name, trailing=spoken("take away"), test_name=f"paper:saved:{path.name}")
            row.fbind("on_release", lambda *_, p=path: self._take_away(p))
            self.saved.add_widget(row)

    def _take_away(self, path) -> None:
        self.news.clear_widgets()
        gone = take_away(path)
        self.outcome.kind, self.outcome.text = ("info" if gone else "doubt"), ""
        self.outcome.lead = spoken("{name} was taken away.", name=path.name) if gone else spoken("{name} can't be taken away: its folder can't be written.", name=path.name)
        self.news.add_widget(self.outcome)
        self._list_saved()


def _drawing(view) -> DrawingView:
    """The same drawing as on the paper, laid out for the type of the screen."""
    high = dp(_DRAWING_HIGH_DP)
    line = theme.type_size("body") * _LINE / high
    scene, _words = sheet_drawing(view, Room(DRAWING_ROOM.wide, line))
    return DrawingView(scene=scene, size_hint_y=None, height=high, test_name="paper:drawing")
