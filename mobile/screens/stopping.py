"""Stopping a trial: why, in one press; then each setting put back, before anything else."""

from __future__ import annotations

from typing import Callable

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.language import spoken
from shared_models.wording import trials as words
from shared_models.wording.sentences import place_words
from mobile.flows.trial_notes import NOT_RESTORED, STOP_WORDS, TrialNotes
from mobile.flows.tuning import put_back, restore, to_put_back
from mobile.screens.stop_events import show_stop_events
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import PlainButton
from mobile.widgets.choices import FieldGrid
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.surface import Column, Words
from mobile.widgets.text_field import TextField
from mobile.widgets.theme import theme


class StopPart:
    """Asks why with one large button for each reason; ``on_stop(reason, words)`` hears of the press."""

    def __init__(self, page, notes: TrialNotes, on_stop: Callable[[str, str], None]):
        page.head(spoken(words.STOPPED_WHY), spoken(words.SEE_TO_THEM))
        grid = FieldGrid()
        for code, said in page.view.edition.choices["stop_reason"].items():
            button = PlainButton(text=said, bold=True, test_name=f"field:stop_reason={code}")
            button.least_height = theme.touch * 1.25
            button.fbind("on_release", lambda *_, reason=code: on_stop(reason, self.said.text.strip()))
            grid.add_widget(button)
        self.said = TextField(test_name="field:stop_words", label=spoken(words.STOP_WORDS), text=notes.get(STOP_WORDS))
        self.said.fbind("on_edit", lambda _w, text: notes.keep(STOP_WORDS, text))
        page.body.add_widget(grid)
        page.body.add_widget(self.said)


class AnswerPart:
    """After a stop: each setting put back and confirmed, and nothing else until that is said."""

    def __init__(self, page, notes: TrialNotes, foot, then: Callable[[], None]):
        self.page, self.notes, self.then = page, notes, then
        self.stopped = page.view.unanswered_stops()[0]
        reason = page.view.edition.words("stop_reason", str(self.stopped.body.get("stop_reason", "")))
        page.body.add_widget(Banner(
            kind="stop", lead=spoken("Stopped: {reason}.", reason=reason), test_name="stopped", text=spoken(words.RESTORE_LEAD),
        ))
        self.rows = Column(spacing=theme.gap)
        page.body.add_widget(self.rows)
        self._show_rows()
        show_stop_events(page, after=self.stopped)
        for function in (f for f in FUNCTIONS if len(page.view.heads(f"setting/{f}")) > 1):
            name = place_words(f"setting/{function}", page.view)
            page.body.add_widget(Banner(kind="doubt", lead=spoken("{name} was changed apart.", name=name), text=spoken("Look at the knee itself, then say which position stands.")))
        self.because = TextField(test_name="field:not_restored_because", label=spoken(words.NOT_RESTORED), text=notes.get(NOT_RESTORED))
        self.because.fbind("on_edit", lambda _w, text: notes.keep(NOT_RESTORED, text))
        page.body.add_widget(self.because)
        foot.plain(spoken(words.NOT_RESTORED_BUTTON), lambda: self.answer(False), "not_restored")
        foot.main(spoken(words.ALL_RESTORED), lambda: self.answer(True), "restored")

    @staticmethod
    def is_needed(page) -> bool:
        """Whether a stop waits for its answer."""
        return bool(page.view.unanswered_stops())

    def _show_rows(self) -> None:
        """What is still to be put back: direction and position large, and a button once it is done."""
        self.rows.clear_widgets()
        waiting = to_put_back(self.page.view)
        for each in waiting:
            row = Column(ground_tone="field", under_tone="ink", padding=[theme.gap, theme.gap * 0.6], spacing=theme.gap * 0.4)
            row.add_widget(Words(text=words.put_back_words(each.name, each.direction, each.wanted), role="unit", bold=True))
            row.add_widget(Words(text=words.stands_now_words(each.now), tone="ink_soft"))
            button = PlainButton(text=words.put_back_done(each.wanted), fit=True, bold=True, test_name=f"restore:{each.function}")
            button.fbind("on_release", lambda *_, function=each.function: self.done(function))
            row.add_widget(button)
            self.rows.add_widget(row)
        if not waiting:
            self.rows.add_widget(Banner(kind="info", text=spoken(words.ALL_STAND), test_name="all_stand"))

    def done(self, function: str) -> None:
        """One adjuster was put back."""
        entries = self.page.attempt(lambda: put_back(self.page.session, self.page.fitting, function))
        for entry in entries or ():
            self.page.saved(entry)
        self._show_rows()

    def answer(self, restored: bool) -> None:
        """Record what was done; not restoring needs its reason, restoring each adjuster's own word."""
        because = self.because.text.strip()
        if not restored and not because:
            self.because.message, self.because.message_kind = spoken(words.SAY_WHY_NOT_RESTORED), "refusal"
            bring_into_sight(self.because)
            return
        if restored and to_put_back(self.page.view):
            self.page.warn(spoken(words.EACH_FIRST))
            return
        entries = self.page.attempt(lambda: restore(
            self.page.session, self.page.fitting, self.stopped, restored, because
        ))
        if entries is None:
            return
        self.notes.forget(NOT_RESTORED)
        for entry in entries:
            self.page.saved(entry)
        self.then()
