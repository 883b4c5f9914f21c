"""Component sheets on the review page: versions side by side, who used which, publishing the next one."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Mapping

from shared_models.catalogue.edition import load_edition
from shared_models.checks.sheet_entering import Wrongs, body_from
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import sign
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.parts_carried import MOST, PartCarried, parts_carried
from shared_models.ledger.server_folding import ClinicReading
from shared_models.quantities.refusals import Refusal
from shared_models.wording.component_sheets import SORTS, shown_label, shown_value
from shared_models.wording.course_lines import stamp
from sync_server.services.signing_in import Door, Reviewer, SessionRefusal
from sync_server.services.station import Station

KIND, MEANING = "component_sheet", "publishes"


@dataclass(frozen=True)
class Version:
    """One version as published; ``used`` are the parts recorded by it."""

    digest: str
    body: Mapping[str, Any]
    time: str
    by: str
    used: tuple[PartCarried, ...] = ()

    @property
    def name(self) -> str:
        """The version's own name."""
        return str(self.body.get("version", ""))


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

    @property
    def newest(self) -> Version:
        """The version that tablets offer first."""
        return self.versions[-1]

    @property
    def place(self) -> str:
        """Where in the leg the component goes."""
        return load_edition().words("place", str(self.newest.body.get("part", "")))


class SheetWrong(Refusal):
    """What was typed can't be published: ``sheet_wrong``; ``wrongs`` by field, outside the figures, which may be logged."""

    wrongs: Wrongs


@dataclass(frozen=True)
class Publishing:
    """What the form says: the version it began from, what was typed, the password."""

    sheet: str
    begun_from: str
    password: str
    typed: Mapping[str, str] = field(default_factory=dict)


def sheets_page(station: Station, clinic: str) -> list[SheetPage]:
    """Return every sheet of a clinic with its versions, by place and name."""
    with station.reading(clinic) as reading:
        found = _versions(reading)
    pages = [SheetPage(sheet, tuple(versions)) for sheet, versions in found.items()]
    return sorted(pages, key=lambda p: (p.place, str(p.newest.body.get("name", ""))))


def sheet_page(station: Station, reviewer: Reviewer, sheet: str, from_where: str) -> SheetPage:
    """Return one sheet with the fittings that used each version; refused: ``not_found``."""
    clinic = reviewer.account.clinic
    with station.reading(clinic) as reading:
        versions = _versions(reading).get(sheet)
    if not versions:
        note_not_there(station, reviewer, sheet, from_where)
        raise SessionRefusal("not_found")
    parts = parts_carried(station.store, clinic, [{"sheet": sheet}])
    station.audit.note(
        AuditRow(reviewer.account.login, "sheet used by", clinic, f"fitting/{fitting}", "shown", from_where)
        for fitting in dict.fromkeys(p.fitting for p in parts[:MOST])
    )
    named = tuple(
        Version(v.digest, v.body, v.time, v.by, tuple(p for p in parts[:MOST] if p.sheet_version == v.name))
        for v in versions
    )
    return SheetPage(sheet, named, _lines(named), len(parts) > MOST)


def note_not_there(station: Station, reviewer: Reviewer, sheet: str, from_where: str) -> None:
    """Note that somebody asked for a sheet that their clinic does not have."""
    station.audit.note([_row(reviewer, sheet, "refused: not_found", from_where)])


def _versions(reading: ClinicReading) -> dict[str, list[Version]]:
    staff, found = reading.staff_record(), {}
    for entry in sorted(reading.of_kinds(KIND), key=lambda e: e.order):
        if any(v.body == entry.body for v in found.get(entry.subject.id, ())):
            continue  # the same version, recorded on a server and on a tablet before they met
        by = str(staff.staff_body(entry.recorded_by).get("name", "")) or "the clinic's server"
        found.setdefault(entry.subject.id, []).append(
            Version(entry.digest, entry.body, stamp(entry.recorded_at), by))
    return found


def _lines(versions: tuple[Version, ...]) -> tuple[Line, ...]:
    flat = [_flat(v.body) for v in versions]
    labels = dict.fromkeys(label for one in flat for label in one)
    made = []
    for label in labels:
        values = [one.get(label, "") for one in flat]
        made.append(Line(label, tuple(
            (value, place > 0 and value != values[place - 1]) for place, value in enumerate(values)
        )))
    return tuple(made)


def _flat(body: Mapping[str, Any]) -> dict[str, str]:
    """Every figure of a sheet with a label that says where it stands; the drawing is left out."""
    found: dict[str, str] = {}
    for name, value in body.items():
        if name in ("sheet", "drawing"):
            continue
        label = SORTS[name] if name in SORTS else shown_label(name)
        if isinstance(value, Mapping):
            found |= {f"{label}: {shown_label(k)}": shown_value(k, v) for k, v in value.items()}
        elif isinstance(value, (list, tuple)) and value and isinstance(value[0], Mapping):
            for row in value:
                title = str(row.get("name", label))
                found |= {f"{title}: {shown_label(k)}": shown_value(k, v) for k, v in row.items() if k != "name"}
        else:
            found[label] = shown_value(name, value)
    return found


def publish(
    station: Station, door: Door, reviewer: Reviewer, asked: Publishing, from_where: str,
) -> Entry:
    """Record and sign the next version of a sheet, for the tablets to fetch.

    Refused: ``not_found``; ``password_wrong_for_decision``; ``sheet_changed_since_seen`` when
    somebody published meanwhile; SheetWrong with a sentence for each field.
    """
    account = reviewer.account
    try:
        key = door.unlock_again(reviewer, asked.password, from_where)
        with station.writing(account.clinic) as reading:
            versions = _versions(reading).get(asked.sheet)
            if not versions:
                raise SessionRefusal("not_found")
            if versions[-1].digest != asked.begun_from:
                raise SessionRefusal("sheet_changed_since_seen")
            body, wrongs = body_from(asked.typed, versions[-1].body, {v.name for v in versions})
            if wrongs:
                refusal = SheetWrong("sheet_wrong")
                refusal.wrongs = wrongs
                raise refusal
            author = station.author(reading, _record_of(reading))
            entry = author.record_fact(
                KIND, Subject("component_sheet", asked.sheet), body, account.staff_id, settles=True)
            signed = sign(
                key, clinic=entry.clinic, signs=entry.digest, signer_type="staff", signer=account.staff_id,
                printed_name=reviewer.name, meaning=MEANING, signed_at=entry.recorded_at)
            station.keep(reading, [entry], [station.sign_head(entry), signed])
            station.audit.note([_row(reviewer, asked.sheet, "published", from_where)], within=reading.connection)
        return entry
    except Refusal as refused:
        station.audit.note([_row(reviewer, asked.sheet, f"refused: {refused.code}", from_where)])
        raise


def _record_of(reading: ClinicReading) -> Any:
    record = reading.staff_record()
    record.add(reading.of_kinds(KIND))
    return record


def _row(reviewer: Reviewer, sheet: str, outcome: str, from_where: str) -> AuditRow:
    account = reviewer.account
    return AuditRow(account.login, "publish sheet", account.clinic, f"sheet/{sheet[:80]}", outcome, from_where)
