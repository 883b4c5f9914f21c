"""The clinic's fittings: what waits, what came back, what is unsent."""

from __future__ import annotations

import unicodedata

from shared_models.entries.envelope import Subject
from shared_models.wording.states import VERDICT, review_word
from mobile.flows.board import next_step, who
from mobile.screens.frame import StagePage
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField

_REVIEW_STATE = {"rejected": "stale", "accepted": "met", "disputed": "disputed"}


class HomePage(StagePage):
    """Every fitting of the clinic, the one touched last on top."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        session = stage.session
        clinic = session.record.head(Subject("clinic", session.clinic), "clinic")
        self.header.who = str(clinic.body.get("name")) if clinic else "This clinic"
        self.header.detail = f"{session.name} at work"
        self.head("Fittings", "Choose a fitting to go on, or begin a new one.")
        self.search = TextField(test_name="field:search", label="Search by name or file number")
        self.search.fbind("on_edit", lambda _field, text: self.narrow(text))
        self.body.add_widget(self.search)
        self.rows = [self._row(fitting) for fitting in session.fittings()]
        self.none = Words(text="", role="body", tone="ink_soft")
        self.narrow("")
        self.quiet("Lock", stage.go_lock, "lock")
        self.quiet("A colleague", self._colleague, "colleague")
        self.quiet("Sheets", self._sheets, "sheets")
        self.plain("Send and fetch", stage.go_sync, "sync")
        if "prosthetist" in session.roles:
            self.main("New fitting", stage.go_new)

    def _colleague(self) -> None:
        from mobile.screens.welcome import ColleaguePage

        self.stage.show(ColleaguePage(self.stage))

    def _sheets(self) -> None:
        from mobile.screens.sheets import SheetsPage

        self.stage.show(SheetsPage(self.stage))

    def _row(self, fitting: str) -> ListRow:
        session = self.stage.session
        view, verdict = session.fitting(fitting), session.verdict(fitting)
        name, side, identifiers = who(view)
        step = next_step(verdict)
        state = VERDICT[verdict.state]
        if verdict.review:
            state = review_word(verdict.review, verdict.changed_since_review)
        elif step:
            state = f"next: {view.edition.step(step).title}"
        mark = _REVIEW_STATE.get(verdict.review) or ("met" if verdict.is_complete else "open")
        row = ListRow(
            title=name, subtitle=f"{side} · {identifiers}", trailing=state,
            row_state=mark, test_name=f"fitting:{fitting}",
        )
        row.fbind("on_release", lambda *_: self.stage.go_fitting(fitting))
        return row

    def narrow(self, text: str) -> None:
        """Show the fittings whose row holds every word typed."""
        for row in (*self.rows, self.none):
            self.body.remove_widget(row)
        words = _folded(text).split()
        shown = [
            row for row in self.rows
            if all(w in _folded(f"{row.title} {row.subtitle}") for w in words)
        ]
        for row in shown:
            self.body.add_widget(row)
        if not shown:
            self.none.text = "Nobody fits this search." if words else "No fitting yet."
            self.body.add_widget(self.none)


def _folded(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).casefold()
    return "".join(c for c in plain if not unicodedata.combining(c))
