"""Component sheets: which are known, and taking in new versions from a folder."""

from __future__ import annotations

import tomllib
from pathlib import Path

from shared_models.catalogue.sheets import sheet_troubles
from shared_models.entries.envelope import Subject
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow


class SheetsPage(StagePage):
    """What the clinic filled in from the makers' instructions."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        self.header.who, self.header.detail, self.header.leave_words = "Component sheets", "", "Fittings"
        self.folder = Path(stage.tablet.path).parent / "sheets"
        self.head("Component sheets", f"Filled in by the clinic from the maker's instructions. New ones are taken in from {self.folder}")
        record = stage.session.record
        for sheet in record.subjects("component_sheet"):
            head = record.head(Subject("component_sheet", sheet), "sheet")
            if head:
                self.body.add_widget(ListRow(
                    title=str(head.body.get("name")), subtitle=f"limit {head.body.get('mass_limit_kg')} kg",
                    trailing=f"version {head.body.get('version')}", pressable=False,
                ))
        self.main("Take in from the folder", self.take_in)

    def take_in(self) -> None:
        """Read every file of the folder; say of each what became of it."""
        files = sorted(self.folder.glob("*.toml")) if self.folder.is_dir() else []
        if not files:
            self._say("doubt", "Nothing there.", f"Put sheets as .toml files into {self.folder} and try again.")
        for file in files:
            try:
                body = tomllib.loads(file.read_text("utf-8"))
            except (OSError, ValueError) as error:
                self._say("doubt", f"{file.name} can't be read.", str(error))
                continue
            troubles = sheet_troubles(body)
            if troubles:
                self._say("doubt", f"{file.name} is not taken.", "; ".join(troubles))
                continue
            self._publish(file.name, body)

    def _publish(self, name: str, body) -> None:
        session = self.stage.session
        subject = Subject("component_sheet", body["sheet"])
        head = session.record.head(subject, "sheet")
        if head is not None and dict(head.body) == body:
            self._say("info", f"{name} is known already.", "")
            return
        entry = self.attempt(lambda: session.save("component_sheet", subject, body))
        if entry is None:
            return
        self.stage.saved(entry)
        self._say("info", f"{name} is taken in.", f"{body['name']}, version {body['version']}")

    def _say(self, kind: str, lead: str, text: str) -> None:
        self.body.add_widget(Banner(kind=kind, lead=lead, text=text))
