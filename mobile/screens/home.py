"""The clinic's fittings: what came back, today's, what waits, what is unsent."""

from __future__ import annotations

import threading

from kivy.clock import Clock

from shared_models.checks.summarising import FittingSummary, followed_where_newest
from shared_models.entries.envelope import Subject
from shared_models.language import spoken
from shared_models.quantities.moments import now_here
from shared_models.wording.practice import BEGIN as PRACTISE
from mobile.flows.home_groups import ALL, SearchIndex, filters, line, lines
from mobile.screens.frame import StagePage
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.long_list import LongList, LongListColumn
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField

#: So many summaries are worked out before the list is shown anew; and the rest between.
_A_STRETCH = 25


class HomePage(StagePage):
    """Every fitting of the clinic, by what it waits for, the one touched last on top."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        session = stage.session
        clinic = session.record.head(Subject("clinic", session.clinic), "clinic")
        self.header.who = str(clinic.body.get("name")) if clinic else spoken("This clinic")
        self.header.detail = spoken("{name} at work", name=session.name)
        self.today = now_here().date().isoformat()
        self.only = ALL
        self.search = TextField(test_name="field:search", label=spoken("Search by name or file number"))
        self.search.fbind("on_edit", lambda _field, _text: self.show_lines())
        self.narrowing = ChoiceRow(test_name="field:show", value=ALL)
        self.narrowing.fbind("on_edit", lambda _row, only: self.show_only(only))
        self.none = Words(text="", role="body", tone="ink_soft", size_hint_y=None)
        self.list = LongList(test_name="fittings")
        self.list.fbind("on_choose", lambda _list, fitting: stage.open_fitting(fitting))
        column = LongListColumn()
        for part in (self.search, self.list):
            column.add_widget(part)
        self.filling = column
        self.fetch()
        self._buttons()
        self._work_out_the_rest()

    def _buttons(self) -> None:
        stage = self.stage
        self.quiet(spoken("Lock"), stage.go_lock, "lock")
        self.quiet(spoken("A colleague"), self._colleague, "colleague")
        self.quiet(spoken("Sheets"), self._sheets, "sheets")
        self.plain(spoken("Send and fetch"), stage.go_sync, "sync")
        if "prosthetist" in stage.session.roles:
            if stage.tablet.is_practice:
                # There the one main button begins with an invented person.
                self.plain(spoken("New fitting"), stage.go_new, "new_fitting")
            else:
                self.main(spoken("New fitting"), stage.go_new)

    def show_saved(self, moment: str = "") -> None:
        """Say beside what is not yet sent how many photos are among it: they take longest on the way."""
        super().show_saved(moment)
        session = self.stage.session
        photos = 0 if session is None or session.is_practice else session.photos_waiting()[0]
        if photos:
            self.header.unsent = self.stage.unsent_words(*session.unsent(), photos)

    def warn(self, sentence: str) -> None:
        """Say what is in the way above the list; "" takes it back."""
        self._warning.lead = sentence
        if self._warning.parent is not None:
            self._warning.parent.remove_widget(self._warning)
        if sentence:
            self.filling.add_widget(self._warning, index=len(self.filling.children))

    def _colleague(self) -> None:
        from mobile.screens.welcome import ColleaguePage

        self.stage.show(ColleaguePage(self.stage))

    def _sheets(self) -> None:
        from mobile.screens.sheets import SheetsPage

        self.stage.show(SheetsPage(self.stage))

    # The list -------------------------------------------------------------------

    def fetch(self) -> None:
        """Read the list from the store, and show it."""
        session = self.stage.session
        self.summaries: list[FittingSummary] = followed_where_newest(session.summaries())
        self.acknowledged = session.acknowledged() if session.has_server else session.author.end.number
        self.index = SearchIndex(self.summaries)
        self.narrowing.options = filters(self.summaries, self.today, self.acknowledged)
        if self.only not in dict(self.narrowing.options):
            self.only = self.narrowing.value = ALL
        self.show_lines()

    def show_only(self, only: str) -> None:
        """Show one group, or all of them."""
        self.only = only
        self.show_lines()

    def show_lines(self) -> None:
        """Show the fittings that hold every word typed; a search looks through all groups."""
        text = self.search.text
        if text.strip():
            shown = [line(s, self.acknowledged) for s in self.index.narrowed(text)]
        else:
            shown = lines(self.summaries, self.today, self.acknowledged, self.only)
        self.list.lines = [
            {
                "key": said.fitting, "title": said.title, "subtitle": said.subtitle,
                "trailing": said.trailing, "row_state": said.mark,
                "test_name": f"fitting:{said.fitting}",
            } if said.fitting else {"title": said.title}
            for said in shown
        ]
        self.none.text = self._none_words(bool(shown), bool(text.strip()))
        # What is empty takes no line from the list; the search stays where it is, with what types into it.
        self._let_stand(self.none, bool(self.none.text), above=self.list)
        self._let_stand(self.narrowing, bool(self.narrowing.options), above=self.none if self.none.parent else self.list)

    def _let_stand(self, part, wanted: bool, above) -> None:
        column = self.filling
        if part.parent is not None and not wanted:
            column.remove_widget(part)
        elif part.parent is None and wanted:
            column.add_widget(part, index=column.children.index(above) + 1)

    def _none_words(self, is_any: bool, is_searched: bool) -> str:
        left = self.stage.session.summaries_waiting()
        if left:
            return spoken("Still reading {left} of the fittings on this tablet.", left=left)
        if is_any:
            return ""
        if is_searched:
            return spoken("Nobody fits this search.")
        begin = spoken(PRACTISE) if self.stage.tablet.is_practice else spoken("New fitting")
        return spoken("No fitting yet. Begin with '{button}'.", button=begin)

    # What changed since ---------------------------------------------------------

    def _work_out_the_rest(self) -> None:
        """Work out off the screen's thread what the list still shows as it was before."""
        session = self.stage.session
        session.look_again([s for s in self.summaries if s.state == "incomplete" or not s.review][:200])
        # What was left of this list may have been worked out meanwhile, for a page left since.
        if session.list_is_short() or session.summaries_waiting():
            self.show_lines()
            self._is_left = False
            threading.Thread(target=self._working_out, args=(session,), daemon=True).start()

    def _working_out(self, session) -> None:
        while not self._is_left and session.work_out_summaries(_A_STRETCH):
            pass
        Clock.schedule_once(self._worked_out, 0)

    def _worked_out(self, _dt) -> None:
        if self.stage.page is self and self.stage.session is not None:
            self.fetch()

    def on_parent(self, _page, parent) -> None:
        """A page that was left stops working for a list that nobody sees."""
        self._is_left = parent is None
