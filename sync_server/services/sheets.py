"""Component sheets on the review page: all of them, and one with its versions side by side and who used which."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Collection, Mapping

from shared_models.checks.sheet_taking import QUESTIONS, taking_troubles
from shared_models.entries.envelope import Entry
from shared_models.language import spoken
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.parts_carried import PartCarried, parts_carried
from shared_models.ledger.server_folding import ClinicReading
from shared_models.wording.component_sheets import place_words
from shared_models.wording.course_lines import stamp
from shared_models.wording.sheet_lines import sheet_lines
from shared_models.wording.sheet_troubles import troubles_with_places
from sync_server.services.sheet_drawing import SheetDrawing, sheet_drawing
from sync_server.services.signing_in import Reviewer, SessionRefusal
from sync_server.services.station import Station


@dataclass(frozen=True)
class Version:
    """One version as published; ``digests`` are all entries that record it, ``used`` the parts recorded by it."""

    digests: tuple[str, ...]
    body: Mapping[str, Any]
    time: str
    by: str
    used: tuple[PartCarried, ...] = ()

    @property
    def name(self) -> str:
        """The version's own name."""
        return str(self.body.get("version", ""))

    @property
    def digest(self) -> str:
        """The entry that recorded it first."""
        return self.digests[0]

    def troubles(self) -> list[str]:
        """Why tablets don't offer it, each a sentence; [] for a sound one."""
        found = [t for t in taking_troubles(self.body) if t.code not in QUESTIONS]
        return troubles_with_places(found, self.body)


@dataclass(frozen=True)
class Line:
    """One figure over all versions: its label, and for each version value and whether it changed."""

    label: str
    cells: tuple[tuple[str, bool], ...]

    @property
    def differs(self) -> bool:
        """Whether any version changed it."""
        return any(changed for _, changed in self.cells)


@dataclass(frozen=True)
class SheetPage:
    """All versions of one sheet, oldest first."""

    sheet: str
    versions: tuple[Version, ...]
    lines: tuple[Line, ...] = ()
    more: bool = False
    #: Parts recorded by a version that is not here.
    unknown: tuple[PartCarried, ...] = ()

    @property
    def newest(self) -> Version:
        """The version that tablets offer."""
        return self.versions[-1]

    @property
    def name(self) -> str:
        """What the component is called in the newest version."""
        return str(self.newest.body.get("name", self.sheet))

    @property
    def part(self) -> str:
        """Where in the leg the component goes, as the sheet says it."""
        return str(self.newest.body.get("part", ""))

    @property
    def place(self) -> str:
        """Where in the leg the component goes, in words."""
        return place_words(self.part)

    def shares_name(self, version: Version) -> bool:
        """Whether another version bears the same name, as tablets apart could give it."""
        return sum(v.name == version.name for v in self.versions) > 1

    def drawing(self) -> SheetDrawing | None:
        """The newest version's drawing, None where it has none."""
        return sheet_drawing(self.newest.body)


def sheets_page(station: Station, clinic: str) -> list[SheetPage]:
    """Return every sheet of a clinic with its versions, by place and name."""
    with station.reading(clinic) as reading:
        found = versions_of(reading)
    pages = [SheetPage(sheet, tuple(versions)) for sheet, versions in found.items()]
    return sorted(pages, key=lambda p: (p.place, p.name))


def sheet_page(station: Station, reviewer: Reviewer, sheet: str, from_where: str) -> SheetPage:
    """Return one sheet with the fittings that used each version; refused: ``not_found``."""
    clinic = reviewer.account.clinic
    with station.reading(clinic) as reading:
        versions = versions_of(reading).get(sheet)
    if not versions:
        note_not_there(station, reviewer, sheet, from_where)
        raise SessionRefusal("not_found")
    found = parts_carried(station.store, clinic, [{"sheet": sheet}])
    shown = found.parts
    station.audit.note(
        AuditRow(reviewer.account.login, "sheet used by", clinic, f"fitting/{fitting}", "shown", from_where)
        for fitting in dict.fromkeys(p.fitting for p in shown)
    )
    with station.reading(clinic) as reading:
        named = _versions_named(reading.of_digests({p.digest for p in shown}))
    here = {digest for v in versions for digest in v.digests}
    used = tuple(
        Version(v.digests, v.body, v.time, v.by, tuple(p for p in shown if named.get(p.digest, "") in v.digests))
        for v in versions
    )
    unknown = tuple(p for p in shown if named.get(p.digest, "") not in here)
    return SheetPage(sheet, used, side_by_side([v.body for v in used]), found.more, unknown)


def _versions_named(components: Collection[Entry]) -> dict[str, str]:
    """Which version, by its digest, each entry of a part names."""
    return {entry.digest: str(entry.body.get("sheet_digest", "")) for entry in components}


def note_not_there(station: Station, reviewer: Reviewer, sheet: str, from_where: str) -> None:
    """Note that somebody asked for a sheet that their clinic does not have."""
    station.audit.note([sheet_row(reviewer, sheet, "refused: not_found", from_where)])


def sheet_row(reviewer: Reviewer, sheet: str, outcome: str, from_where: str) -> AuditRow:
    """Return the row of the audit log on what somebody did with a sheet."""
    account = reviewer.account
    return AuditRow(account.login, "publish sheet", account.clinic, f"sheet/{sheet[:80]}", outcome, from_where)


@dataclass
class _Growing:
    entry: Entry
    digests: list[str] = field(default_factory=list)


def versions_of(reading: ClinicReading) -> dict[str, list[Version]]:
    """Return the versions of each sheet of a clinic, oldest first."""
    staff, found = reading.staff_record(), dict[str, list[_Growing]]()
    for entry in sorted(reading.sheets(), key=lambda e: e.order):
        versions = found.setdefault(entry.subject.id, [])
        # The same version, recorded on a server and on a tablet before they met, is one.
        same = next((v for v in versions if v.entry.body == entry.body), None)
        if same is None:
            versions.append(same := _Growing(entry))
        same.digests.append(entry.digest)
    return {sheet: [_version(v, staff) for v in versions] for sheet, versions in found.items()}


def _version(growing: _Growing, staff: Any) -> Version:
    entry = growing.entry
    by = str(staff.staff_body(entry.recorded_by).get("name", "")) or spoken("the clinic's server")
    return Version(tuple(growing.digests), entry.body, stamp(entry.recorded_at), by)


def side_by_side(bodies: list[Mapping[str, Any]]) -> tuple[Line, ...]:
    """Return every figure over some versions."""
    flat = [sheet_lines(body) for body in bodies]
    labels = dict.fromkeys(label for one in flat for label in one)
    made = []
    for label in labels:
        values = [one.get(label, "") for one in flat]
        made.append(Line(label, tuple(
            (value, place > 0 and value != values[place - 1]) for place, value in enumerate(values)
        )))
    return tuple(made)
