"""A fault of ours in words: what was typed is kept, and there is a way back."""

from __future__ import annotations

from pathlib import Path

from kivy.base import ExceptionHandler, ExceptionManager

from shared_models.language import phrase, spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.keeping.fault_log import LOG_NAME, write_fault
from mobile.screens.frame import StagePage
from mobile.widgets.surface import Words

TITLE = phrase("Something went wrong in the app")
LEAD = phrase("It was not you. What is saved is safe, and what you typed is kept. Go back and go on; if it happens again, do this step on paper and tell your clinic.")
_ENDING = (KeyboardInterrupt, SystemExit, GeneratorExit, MemoryError)


class FaultPage(StagePage):
    """One plain sentence, the way back to where one was, and home in case it happens again."""

    def __init__(self, stage, fault: BaseException, log: Path | None):
        super().__init__(stage, has_rail=False)
        self.header.who, self.header.detail = spoken("Stancebook"), spoken("a fault of the app")
        self.head(spoken(TITLE), refusal_sentence(fault) if isinstance(fault, Refusal) else spoken(LEAD))
        said = spoken("Where in the program it arose is noted in {log_name}; no person is named there.", log_name=LOG_NAME)
        if log is not None:
            self.body.add_widget(Words(text=said, role="small", tone="ink_soft"))
        if stage.session is not None:
            self.plain(spoken("Fittings"), stage.go_home, "fault:home")
        self.main(spoken("Go back to where I was"), stage.go_where_it_was, "fault:back")

    def go_back(self) -> bool:
        """The back key does what the main button does."""
        self.stage.go_where_it_was()
        return True


class FaultWatch(ExceptionHandler):
    """Takes what no screen has taken: writes it to the local log and shows the page for it.

    Only what is meant to end the program goes on to do so.
    """

    def __init__(self, stage, folder: Path):
        super().__init__()
        self.stage, self.folder = stage, folder
        ExceptionManager.add_handler(self)

    def close(self) -> None:
        """Let faults rise again."""
        ExceptionManager.remove_handler(self)

    def handle_exception(self, inst):
        if isinstance(inst, _ENDING):
            return ExceptionManager.RAISE
        log = write_fault(self.folder, inst)
        try:
            self.stage.close_sheets()
            if not isinstance(self.stage.page, FaultPage):
                self.stage.show(FaultPage(self.stage, inst, log))
        except Exception as second:  # even the page for faults failed: the page before stays
            write_fault(self.folder, second)
        return ExceptionManager.PASS
