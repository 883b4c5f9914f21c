"""Attaching a file of contacts: which trial, which file, and what it reads or refuses."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.dates import moment_words_of
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.board import who
from mobile.flows.tuning import Tuning
from mobile.flows.walk_timing import WalkTiming, files_in
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.listing import ListRow

NEXT = "next"
#: More trials than these are seldom looked back on, and their cells would fill the page.
_TRIALS_OFFERED = 4


class ContactFilesPage(StagePage):
    """The CSV files of the tablet's folder for contacts."""

    def __init__(self, stage, fitting: str, step: str, slot: str):
        super().__init__(stage, has_rail=False)
        self.fitting, self.step_key, self.slot = fitting, step, slot
        self.folder: Path = stage.tablet.contacts_folder
        self.timing = WalkTiming(stage.session, fitting, slot)
        self.header.leave_words = spoken("Back")
        self.header.who, self.header.detail, _ = who(self.timing.view)
        self.trials = Tuning(stage.session, fitting, slot).course()
        self.head(spoken("Attach a file of contacts"), spoken("Each line of the file is a contact: side and time in seconds, such as left,5.05."))
        if not self.timing.is_empty:
            self._taps_first()
        else:
            self._choose_trial()
            self._list()
        self.plain(spoken("Back"), self.leave, "back")

    def leave(self) -> None:
        """Back to the trial."""
        self.stage.go_fitting(self.fitting, self.step_key, self.slot)

    def _taps_first(self) -> None:
        """A file would take the place of taps that are kept and not saved yet."""
        banner = Banner(
            kind="doubt", lead=spoken("Kept here and not saved yet: {contacts}.", contacts=_contacts(len(self.timing.contacts))),
            text=spoken("Look at them first: keep them, or throw them away."), button_words=spoken("Look at them"),
            test_name="kept_first",
        )
        banner.fbind("on_act", lambda *_: self.stage.go_timing(self.fitting, self.step_key, self.slot, looking=True))
        self.body.add_widget(banner)

    def _choose_trial(self) -> None:
        recorded = [
            (past.entry.digest, spoken("trial {number}: {outcome}", number=past.number, outcome=past.outcome))
            for past in self.trials[-_TRIALS_OFFERED:]
        ]
        options = [*recorded, (NEXT, spoken("trial {trials}, still to be recorded", trials=len(self.trials) + 1))]
        self.trial = ChoiceRow(
            test_name="field:trial", label=spoken("Which walk was it?"), options=options,
            value=NEXT if not recorded else recorded[-1][0],
        )
        self.trial.fbind("on_edit", lambda _row, value: setattr(self.trial, "value", value))
        self.body.add_widget(self.trial)

    def _list(self) -> None:
        files = files_in(self.folder)
        for path in files:
            row = ListRow(title=path.name, subtitle=_file_words(path), test_name=f"file:{path.name}")
            row.fbind("on_release", lambda *_, p=path: self.take(p))
            self.body.add_widget(row)
        if not files:
            self.body.add_widget(Banner(
                kind="info", lead=spoken("No file is here."), text=spoken("Put the CSV file into the folder {folder}.", folder=self.folder),
                test_name="no_files",
            ))

    def take(self, path: Path) -> None:
        """Read the file and show its figures, or say why it can't be read."""
        trial = next((p.entry for p in self.trials if p.entry.digest == self.trial.value), None)
        try:
            found = self.timing.take_file(path, trial)
        except Refusal as refusal:
            self.warn(f"{path.name}: {refusal_sentence(refusal)}")
            return
        note = f"Read from {path.name}: {_contacts(len(found.contacts))}"
        note += f" and {len(found.finals)} ends of stance." if found.finals else "."
        if found.columns_not_used:
            note += " Columns not used: " + ", ".join(found.columns_not_used) + "."
        self.stage.go_timing(self.fitting, self.step_key, self.slot, looking=True, note=note)


def _file_words(path: Path) -> str:
    try:
        state = path.stat()
    except OSError:
        return ""
    changed = datetime.fromtimestamp(state.st_mtime).astimezone()
    return spoken("{size} bytes, {time}", size=state.st_size, time=moment_words_of(changed))


def _contacts(count: int) -> str:
    """Return so many contacts in words."""
    return f"{count} {'contact' if count == 1 else 'contacts'}"
