"""What a lead clinician takes away of a fitting: its papers, its tables, and the bundle for another system."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable, Sequence

import simplejson

from shared_models.checks.verdict import Verdict, judge
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_bundle import fitting_bundle
from shared_models.exports.fitting_tables import TABLES, fitting_table
from shared_models.language import SOURCE, current_language, in_language, language_of
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.held_attachments import lacking_of
from shared_models.papers.fitting_record import fitting_record
from shared_models.papers.pdf import make_pdf
from shared_models.papers.person_sheet import person_sheet
from shared_models.papers.record_pdf import record_pdf
from sync_server.services.fitting_page import other_fittings
from sync_server.services.signing_in import Reviewer, SessionRefusal
from sync_server.services.station import Station

PDF, FHIR_JSON, CSV = "application/pdf", "application/fhir+json", "text/csv; charset=utf-8"
Others = Sequence[FittingView]
#: Makes a file of a fitting, its verdict, and the person's other fittings and visits.
Maker = Callable[[FittingView, Verdict, Others], bytes]


@dataclass(frozen=True)
class Taken:
    """A file: its bytes, what they are, and the name it is saved under."""

    data: bytes
    media_type: str
    name: str


def _record(view: FittingView, verdict: Verdict, _others: Others = ()) -> bytes:
    return record_pdf(fitting_record(view, verdict))


def _sheet(view: FittingView, verdict: Verdict, _others: Others = ()) -> bytes:
    return make_pdf(person_sheet(view, verdict))


def _bundle(view: FittingView, verdict: Verdict, others: Others) -> bytes:
    # Another system reads it, so its words are the same whoever asks.
    with in_language(SOURCE):
        found = fitting_bundle(view, verdict, _sheet(view, verdict), _record(view, verdict), others)
    return simplejson.dumps(found, use_decimal=True, ensure_ascii=False, indent=1).encode()


def _table(name: str) -> Maker:
    def made(view: FittingView, _verdict: Verdict, _others: Others) -> bytes:
        with in_language(SOURCE):
            return fitting_table(view, name)

    return made


#: By the file's name: what makes it, and what it is.
FILES: dict[str, tuple[Maker, str]] = {
    "record.pdf": (_record, PDF), "person-sheet.pdf": (_sheet, PDF), "fhir.json": (_bundle, FHIR_JSON),
    **{f"{name}.csv": (_table(name), CSV) for name in TABLES},
}


def taken_of(
    station: Station, reviewer: Reviewer, fitting: str, file: str, from_where: str, language: str = "",
) -> Taken:
    """Return one file of a fitting of the reviewer's clinic, and note that it was taken.

    ``language``: in which the person reads their sheet, where that is another than the reviewer's.

    Raises SessionRefusal ``not_found`` where the clinic has no such fitting, or there is no such file.
    """
    clinic = reviewer.account.clinic
    view, others = None, []
    if file in FILES:
        with station.reading(clinic) as reading:
            view = reading.view(fitting)
            if view is not None:
                verdict = judge(view, station.today(), lacking_of(reading.connection, view, clinic))
                others = other_fittings(reading, view)
    station.audit.note([AuditRow(
        reviewer.account.login, f"take {file}"[:40], clinic, f"fitting/{fitting}",
        "taken" if view else "refused: not_found", from_where,
    )])
    if view is None:
        raise SessionRefusal("not_found")
    make, media_type = FILES[file]
    spoken_in = language_of(language or current_language()).code
    with in_language(spoken_in):
        return Taken(make(view, verdict, others), media_type, f"{verdict.day}-{spoken_in + '-' if language else ''}{file}")
