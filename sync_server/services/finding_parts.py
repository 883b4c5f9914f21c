"""Finding people by part: by serial, lot, device identifier, component sheet, or a scanned code."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable, Iterator, Mapping

from shared_models.calculations.part_codes import PartCode, read_part_code
from shared_models.catalogue.edition import load_edition
from shared_models.checks.telephones import telephone_link
from shared_models.entries.envelope import Subject
from shared_models.exports.csv_text import csv_bytes
from shared_models.language import spoken
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.parts_carried import Carried, PartCarried, every_part, parts_carried
from shared_models.quantities.refusals import Refusal
from shared_models.wording import finding_parts as words
from shared_models.wording.refusals import refusal_sentence
from sync_server.services.signing_in import Reviewer
from sync_server.services.station import Station

#: No code on a part is longer.
LONGEST_SEARCH = 400
#: So many rows of the audit log are written in one transaction.
NOTED_AT_ONCE = 2000


@dataclass(frozen=True)
class Found:
    """What a search found: ``looked_for`` says how the text was read, ``trouble`` why it was not."""

    search: str
    looked_for: str = ""
    trouble: str = ""
    carried: Carried = Carried(0, 0, ())
    sheets: Mapping[str, str] | None = None

    @property
    def now(self) -> tuple[PartCarried, ...]:
        """Parts that are built in now, of those on the page."""
        return tuple(p for p in self.carried.parts if p.built_in)

    @property
    def before(self) -> tuple[PartCarried, ...]:
        """Parts that were built in and have been exchanged since, of those on the page."""
        return tuple(p for p in self.carried.parts if not p.built_in)

    def place(self, part: PartCarried) -> str:
        """Where in the leg a part is."""
        return load_edition().words("place", part.place)

    def component(self, part: PartCarried) -> str:
        """What a part is called on its sheet."""
        return (self.sheets or {}).get(part.sheet, part.sheet)

    def call(self, part: PartCarried) -> str:
        """The link that calls the person, '' where what is recorded is not surely one number."""
        return telephone_link(part.telephone)


def find_parts(station: Station, reviewer: Reviewer, search: str, from_where: str) -> Found:
    """Return who of the reviewer's clinic carries what was looked for, or did; note whose lines were shown."""
    text = search.strip()
    if not text:
        return Found(search="")
    clinic = reviewer.account.clinic
    sheets = _sheets(station, clinic)
    wanted, looked_for, trouble = _wanted(text, sheets, station)
    found = Found(text, looked_for, trouble, parts_carried(station.store, clinic, wanted), sheets)
    _note(station, reviewer, [p.fitting for p in found.carried.parts], from_where)
    return found


def _note(station: Station, reviewer: Reviewer, fittings: Iterable[str], from_where: str) -> None:
    """Note whose lines were read, in pieces, so that nobody else's writing waits for all of them."""
    account, read = reviewer.account, list(dict.fromkeys(fittings))
    for start in range(0, len(read), NOTED_AT_ONCE):
        station.audit.note(
            AuditRow(account.login, "find by part", account.clinic, f"fitting/{fitting}", "shown", from_where)
            for fitting in read[start:start + NOTED_AT_ONCE]
        )


def _wanted(text: str, sheets: Mapping[str, str], station: Station) -> tuple[list[dict[str, str]], str, str]:
    """Return what to look for, how it was read, and why a scanned code was not."""
    by_name = [key for key, name in sheets.items() if text.casefold() in (key.casefold(), name.casefold())]
    plain: list[dict[str, str]] = [{"serial": text}, {"lot": text}, {"device_identifier": text}]
    plain += [{"sheet": key} for key in by_name]
    try:
        read = read_part_code(text, station.today())
    except Refusal as refusal:
        # A serial number is no code; only what looks like one is said to be wrong.
        looks_scanned = text.startswith(("(", "+", "]")) or "\x1d" in text
        return plain, spoken(words.PLAIN), refusal_sentence(refusal) if looks_scanned else ""
    if not isinstance(read, PartCode):
        return plain, spoken(words.UNCLEAR), ""
    stated = {n: v for n in ("device_identifier", "lot", "serial") if (v := getattr(read, n))}
    return [stated, *plain], spoken(words.CODE, says=", ".join(f"{words.NAMES[n]} {v}" for n, v in stated.items())), ""


def _sheets(station: Station, clinic: str) -> dict[str, str]:
    """The names of the clinic's component sheets by their key."""
    with station.reading(clinic) as reading:
        entries = reading.sheets()
    return {e.subject.id: str(e.body.get("name", e.subject.id)) for e in entries if isinstance(e.subject, Subject)}


def call_list(station: Station, reviewer: Reviewer, search: str, from_where: str) -> bytes:
    """Return every line as CSV (RFC 4180), UTF-8 with a mark at its start so that a spreadsheet reads it.

    All of them, however many: whoever is left out is not called.  Whose lines they
    are is noted before anything is given.
    """
    text, clinic = search.strip(), reviewer.account.clinic
    sheets = _sheets(station, clinic)
    found = Found(text, sheets=sheets)
    wanted = _wanted(text, sheets, station)[0] if text else []
    read: list[str] = []

    def rows() -> Iterator[tuple[str, ...]]:
        for part in every_part(station.store, clinic, wanted):
            read.append(part.fitting)
            yield _row(found, part)

    made = csv_bytes(words.COLUMNS, rows())
    _note(station, reviewer, read, from_where)
    return made


def _row(found: Found, part: PartCarried) -> tuple[str, ...]:
    return (
        spoken(words.NOW) if part.built_in else spoken(words.BEFORE), part.name,
        spoken(words.TELEPHONE, number=part.telephone) if part.telephone else spoken("not recorded"),
        part.born_on, part.file_number, part.side, found.place(part), found.component(part), part.sheet_version, part.serial, part.lot,
        part.device_identifier, part.happened_at[:10],
    )
