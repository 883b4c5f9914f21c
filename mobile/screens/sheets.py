"""Component sheets: which are known, and taking in new versions from a folder."""

from __future__ import annotations

from pathlib import Path

from shared_models.checks.sheet_taking import may_be_offered
from shared_models.entries.envelope import Subject
from mobile.flows.sheet_files import ReadSheet, read_sheet
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from shared_models.language import spoken


class SheetsPage(StagePage):
    """What the clinic filled in from the makers' instructions."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        self.header.who, self.header.detail, self.header.leave_words = spoken("Component sheets"), "", spoken("Fittings")
        self.folder = Path(stage.tablet.path).parent / "sheets"
        self.head(spoken("Component sheets"), spoken("Filled in by the clinic from the maker's instructions. New ones are taken in from {folder}", folder=self.folder))
        record = stage.session.record
        for sheet in record.subjects("component_sheet"):
            head = record.head(Subject("component_sheet", sheet), "sheet")
            if head:
                limit = spoken("limit {limit} kg", limit=head.body.get('mass_limit_kg'))
                self.body.add_widget(ListRow(
                    title=str(head.body.get("name")),
                    subtitle=limit if may_be_offered(head.body) else spoken("{limit}; contradicts itself and is not offered", limit=limit),
                    trailing=spoken("version {version}", version=head.body.get('version')), pressable=False,
                ))
        self.main(spoken("Take in from the folder"), self.take_in)

    def take_in(self) -> None:
        """Read every file of the folder; say of each what became of it."""
        files = sorted(self.folder.glob("*.toml")) if self.folder.is_dir() else []
        if not files:
            self._say("doubt", spoken("Nothing there."), spoken("Put sheets as .toml files into {folder} and try again.", folder=self.folder))
        for file in files:
            read = read_sheet(self.stage.session.record, file)
            if read.body is None:
                self._say(read.kind, read.lead, read.text)
            else:
                self._keep(read)

    def _keep(self, read: ReadSheet) -> None:
        session, body = self.stage.session, dict(read.body)
        entry = self.attempt(lambda: session.save("component_sheet", read.subject, body))
        if entry is None:
            return
        self.stage.saved(entry)
        self._say("info", spoken("{name} is taken in.", name=read.name), spoken("{name}, version {version}", name=body['name'], version=body['version']))

    def _say(self, kind: str, lead: str, text: str) -> None:
        self.body.add_widget(Banner(kind=kind, lead=lead, text=text))
