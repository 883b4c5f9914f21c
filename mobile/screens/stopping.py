"""Stopping a trial: why, and what was restored, before anything else."""

from __future__ import annotations

from typing import Callable

from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.checks.stopping import to_restore
from shared_models.wording.sentences import place_words
from mobile.flows.tuning import restore, settings_strip
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.listing import ListRow
from mobile.widgets.sheet import Sheet
from mobile.widgets.text_field import TextField


class StopSheet(Sheet):
    """Asks why, with one tap, then calls ``on_stop(reason)``."""

    def __init__(self, on_stop: Callable[[str], None]):
        super().__init__(
            test_name="stopping", title="Stopped. Why?", plain_words="It was not stopped",
            main_words="Record the stop", lead="First see to the person. This waits.",
        )
        self._on_stop = on_stop
        self.reason = ChoiceRow(
            test_name="field:stop_reason", label="Stopped for",
            options=list(load_edition().choices["stop_reason"].items()),
        )
        self.content.add_widget(self.reason)

    def on_confirm(self) -> None:
        """Hand the reason on, once there is one."""
        if not self.reason.value:
            self.reason.message, self.reason.message_kind = "Choose what it was.", "refusal"
            return
        self.dismiss()
        self._on_stop(self.reason.value)


class AnswerPart:
    """After a stop: shows what to restore, and takes nothing else until it is said."""

    def __init__(self, page, then: Callable[[], None]):
        self.page, self.then = page, then
        self.stopped = page.view.unanswered_stops()[0]
        reason = page.view.edition.words("stop_reason", str(self.stopped.body.get("stop_reason", "")))
        page.body.add_widget(Banner(
            kind="stop", lead=f"Stopped: {reason}.", test_name="stopped",
            text="Before anything else put each setting back to where it was last confirmed, or to its start where it never was.",
        ))
        changes = to_restore(page.view)
        for function, (now, wanted) in changes.items():
            page.body.add_widget(ListRow(
                title=place_words(f"setting/{function}", page.view).partition(", ")[2],
                subtitle=f"stands at {now}", trailing=f"put back to {wanted}", pressable=False,
                test_name=f"restore:{function}",
            ))
        disputed = [f for f in FUNCTIONS if len(page.view.heads(f"setting/{f}")) > 1]
        for function in disputed:
            name = place_words(f"setting/{function}", page.view)
            page.body.add_widget(Banner(kind="doubt", lead=f"{name} was changed apart.", text="Look at the knee itself, then say which position stands."))
        if not changes and not disputed:
            page.body.add_widget(Banner(kind="info", text="Every setting stands where it was last confirmed, or at its start."))
        self.because = TextField(test_name="field:not_restored_because", label="Not restored, because")
        page.body.add_widget(self.because)
        page.strip(settings_strip(page.view))
        page.plain("Not restored", lambda: self.answer(False), "not_restored")
        page.main("Restored" if changes else "Settings looked at", lambda: self.answer(True), "restored")

    @staticmethod
    def is_needed(page) -> bool:
        """Whether a stop waits for its answer."""
        return bool(page.view.unanswered_stops())

    def answer(self, restored: bool) -> None:
        """Record what was done; not restoring needs its reason."""
        because = self.because.text.strip()
        if not restored and not because:
            self.because.message, self.because.message_kind = "Say why it is not restored.", "refusal"
            return
        entries = self.page.attempt(lambda: restore(
            self.page.session, self.page.fitting, self.stopped, restored, because
        ))
        if entries is None:
            return
        for entry in entries:
            self.page.saved(entry)
        self.then()
