"""Taking back what was saved: the fact saved last is one tap away, and its reason is one more."""

from __future__ import annotations

from typing import Any, Callable

from shared_models.entries.envelope import CORRECTION_CODES, Entry
from shared_models.language import spoken
from shared_models.wording.dates import clock_words
from shared_models.wording.states import REASON
from mobile.flows.correcting import KeptReason, may_be_corrected, slot_of
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.sheet import Sheet
from mobile.widgets.text_field import TextField

#: Reasons that have a button of their own, the usual one as the main button.
MAIN_REASON, OTHER_BUTTON = "mistyped", "measured_again"


def show_last_saved(page) -> None:
    """Say beside the main button when the last fact was saved; pressing it there takes it back."""
    entry = page.last_saved
    if entry is None:
        return
    saved = spoken("Saved {time}", time=clock_words(entry.recorded_at))
    if may_be_corrected(page.view, entry):
        page.plain(spoken("{saved}\nThat was wrong", saved=saved), lambda: correct_last(page, entry), "last_saved")
    else:
        page.plain(saved, lambda: None, "last_saved").disabled = True


def correct_last(page, entry: Entry) -> None:
    """Open the fact saved last with what was typed, wherever the page is now."""
    from mobile.screens.panes import EntryPane

    slot = slot_of(page.view, entry)
    step = page.view.edition.step_of_slot(slot)
    if step is not None and page.step_key != "missing":
        page.step_key = page.rail.current = step.key
    page.slot = slot
    page.begin_content()
    EntryPane(page, slot, wrong=entry)
    page.scroll_to_top()


def reason_buttons(page, save: Callable[[str], None], ask: Callable[[], None]) -> None:
    """The foot of a correction: each of the two usual reasons saves with one tap, the others ask."""
    page.quiet(spoken("Another reason"), ask, "save:another")
    page.plain(spoken("Save: {reason}", reason=REASON[OTHER_BUTTON]), lambda: save(OTHER_BUTTON), f"save:{OTHER_BUTTON}")
    page.main(spoken("Save: {reason}", reason=REASON[MAIN_REASON]), lambda: save(MAIN_REASON), "save")


class CorrectionSheet(Sheet):
    """Asks for the reason, then calls ``on_reason(code, note)``.

    ``kept`` holds what was chosen and typed, so that it is there again after
    a crash or when the sheet was left.
    """

    def __init__(
        self, on_reason: Callable[[str, str], None], kept: KeptReason,
        title: str = "Why is it corrected?", first: str = "other",
    ):
        super().__init__(
            test_name="correction", title=title, main_words=spoken("Save"), plain_words=spoken("Leave it"),
            lead=spoken("What was recorded before stays readable beside the correction."),
        )
        self._on_reason, self._kept = on_reason, kept
        code, note = kept.read()
        self.reason = ChoiceRow(
            test_name="field:reason", label=spoken("Reason"),
            options=[(code, REASON[code]) for code in CORRECTION_CODES], value=code or first,
        )
        self.note = TextField(test_name="field:reason_note", label=spoken("A word more, if it helps"), text=note)
        for widget in (self.reason, self.note):
            widget.fbind("on_edit", self._keep)
            self.content.add_widget(widget)

    def _keep(self, *_args: Any) -> None:
        self._kept.keep(self.reason.value, self.note.text)

    def on_confirm(self) -> None:
        """Hand the reason on; 'other' needs a word."""
        if self.reason.value == "other" and not self.note.text.strip():
            self.note.message, self.note.message_kind = spoken("Say what the reason is."), "refusal"
            return
        self.dismiss()
        self._on_reason(self.reason.value, self.note.text.strip())
