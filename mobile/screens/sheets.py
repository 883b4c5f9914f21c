"""Component sheets: which are known, and taking in new versions from a folder."""

from __future__ import annotations

import tomllib
from pathlib import Path

from shared_models.checks.sheet_taking import taking_troubles
from shared_models.entries.envelope import Subject
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from shared_models.language import spoken
from shared_models.wording.sheet_troubles import troubles_with_places


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
                self.body.add_widget(ListRow(
                    title=str(head.body.get("name")), subtitle=spoken("limit {limit} kg", limit=head.body.get('mass_limit_kg')),
                    trailing=spoken("version {version}", version=head.body.get('version')), pressable=False,
                ))
        self.main(spoken("Take in from the folder"), self.take_in)

    def take_in(self) -> None:
        """Read every file of the folder; say of each what became of it."""
        files = sorted(self.folder.glob("*.toml")) if self.folder.is_dir() else []
        if not files:
            self._say("doubt", spoken("Nothing there."), spoken("Put sheets as .toml files into {folder} and try again.", folder=self.folder))
        for file in files:
            try:
                body = tomllib.loads(file.read_text("utf-8"))
            except (OSError, ValueError) as error:
                self._say("doubt", spoken("{name} can't be read.", name=file.name), str(error))
                continue
            self._publish(file.name, body)

    def _publish(self, name: str, body) -> None:
        session = self.stage.session
        subject = Subject("component_sheet", str(body.get("sheet", "")))
        known = [e.body for e in session.record.slot(subject, "sheet").entries.values()]
        if body in known:
            self._say("info", spoken("{name} is known already.", name=name), "")
            return
        troubles = taking_troubles(body, {str(each.get("version", "")) for each in known})
        if troubles:
            self._say("doubt", spoken("{name} is not taken.", name=name), "\n".join(troubles_with_places(troubles, body)))
            return
        entry = self.attempt(lambda: session.save("component_sheet", subject, body))
        if entry is None:
            return
        self.stage.saved(entry)
        self._say("info", spoken("{name} is taken in.", name=name), spoken("{name}, version {version}", name=body['name'], version=body['version']))

    def _say(self, kind: str, lead: str, text: str) -> None:
        self.body.add_widget(Banner(kind=kind, lead=lead, text=text))
