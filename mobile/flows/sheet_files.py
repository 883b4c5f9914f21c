"""Component sheets taken in from files: read, judged by the rules of every sheet, and recorded."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Mapping

from shared_models.checks.sheet_taking import known_as, taking_troubles
from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.language import spoken
from shared_models.wording.sheet_troubles import OF_A_FILE, troubles_with_places

#: So many troubles of a file are told; mending them shows the others.
_MOST_TOLD = 6


@dataclass(frozen=True)
class ReadSheet:
    """What became of a file: ``body`` is there only for one that may be recorded; ``lead`` and ``text`` say why not."""

    name: str
    body: Mapping[str, Any] | None = None
    kind: str = "doubt"
    lead: str = ""
    text: str = ""

    @property
    def subject(self) -> Subject:
        """The sheet that the file is a version of."""
        return Subject("component_sheet", str((self.body or {}).get("sheet", "")))


def _why_unreadable(error: OSError | ValueError) -> str:
    """Say why a file could not be read; the library's own words are English and name no remedy."""
    if isinstance(error, OSError):
        return spoken(OF_A_FILE["not_there"])
    if isinstance(error, UnicodeDecodeError):
        return spoken(OF_A_FILE["not_utf8"])
    if re.search("overwrite|twice|redefine|mutate", str(error)):
        return spoken(OF_A_FILE["said_twice"])
    at = re.search(r"line (\d+), column (\d+)", str(error))
    if at is None:
        return spoken(OF_A_FILE["end_unreadable"])
    return spoken(OF_A_FILE["line_unreadable"], line=at[1], column=at[2])


def read_sheet(record: Record, file: Path) -> ReadSheet:
    """Read a file and judge it against the sheets that are here."""
    try:
        body = tomllib.loads(file.read_text("utf-8"))
    except (OSError, ValueError) as error:
        return ReadSheet(file.name, lead=spoken("{name} can't be read.", name=file.name), text=_why_unreadable(error))
    subject = Subject("component_sheet", str(body.get("sheet", "")))
    known = [entry.body for entry in record.slot(subject, "sheet").entries.values()]
    if body in known:
        return ReadSheet(file.name, kind="info", lead=spoken("{name} is known already.", name=file.name))
    troubles = taking_troubles(body, {str(each.get("version", "")) for each in known})
    if troubles:
        said = troubles_with_places(troubles[:_MOST_TOLD], body)
        return ReadSheet(file.name, lead=spoken("{name} is not taken.", name=file.name), text="\n".join(said))
    other = known_as(body, [] if known else _heads(record))
    if other is not None:
        return ReadSheet(file.name, lead=spoken("{name} is not taken.", name=file.name), text=spoken(
            "A sheet of {component} is here already, under '{sheet}'. Write that behind 'sheet =' to make it a new version.",
            component=other.get("name", ""), sheet=other.get("sheet", "")))
    return ReadSheet(file.name, body)


def _heads(record: Record) -> list[Mapping[str, Any]]:
    heads = (record.head(Subject("component_sheet", sheet), "sheet") for sheet in record.subjects("component_sheet"))
    return [head.body for head in heads if head is not None]
