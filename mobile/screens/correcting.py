"""Why something is corrected: one tap, and a word where it needs one."""

from __future__ import annotations

from typing import Callable

from shared_models.entries.envelope import CORRECTION_CODES
from shared_models.wording.states import REASON
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.sheet import Sheet
from mobile.widgets.text_field import TextField


class CorrectionSheet(Sheet):
    """Asks for the reason, then calls ``on_reason(code, note)``."""

    def __init__(self, on_reason: Callable[[str, str], None], title: str = "Why is it corrected?", first: str = "mistyped"):
        super().__init__(
            test_name="correction", title=title, main_words="Save", plain_words="Leave it",
            lead="What was recorded before stays readable beside the correction.",
        )
        self._on_reason = on_reason
        self.reason = ChoiceRow(
            test_name="field:reason", label="Reason",
            options=[(code, REASON[code]) for code in CORRECTION_CODES], value=first,
        )
        self.note = TextField(test_name="field:reason_note", label="A word more, if it helps")
        self.content.add_widget(self.reason)
        self.content.add_widget(self.note)

    def on_confirm(self) -> None:
        """Hand the reason on; 'other' needs a word."""
        if self.reason.value == "other" and not self.note.text.strip():
            self.note.message, self.note.message_kind = "Say what the reason is.", "refusal"
            return
        self.dismiss()
        self._on_reason(self.reason.value, self.note.text.strip())
