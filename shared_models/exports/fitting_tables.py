"""The trials, settings and torques of one fitting as tables, one row an entry."""

from __future__ import annotations

from decimal import Decimal

from shared_models.catalogue.edition import Field, Kind
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.exports.csv_text import csv_bytes
from shared_models.quantities.amounts import amount_from
from shared_models.wording.findings import findings_words
from shared_models.wording.sentences import value_words

#: Table -> the places of a fitting whose entries are its rows.
TABLES = {
    "trials": ("trial",), "settings": ("setting", "found"),
    "torques": ("torque_interim", "torque_final", "torque_check"),
}
#: What every row begins with; ``stands`` is no for what was corrected or withdrawn.
BEGIN = ("entry_sha256", "place", "kind", "stands", "happened_at", "recorded_at", "recorded_by")
#: The unit of a position, which each adjuster's component sheet names.
POSITION_UNIT = "position_unit"


def fitting_table(view: FittingView, table: str) -> bytes:
    """Return one of `TABLES` as CSV.

    Columns after `BEGIN` are the fields of the record's own form, with their
    unit in the name (``reading_nm``); where the unit is recorded or is the
    component sheet's it stands in a column of its own.  An entry of a form that this
    program does not know is not in it.
    """
    fields = _fields(view, table)
    unit = [POSITION_UNIT] if table == "settings" else []
    stands = {e.digest for slot in view.record.slots(view.subject).values() for e in slot.history()}
    rows = [
        _beginning(view, entry, kind, entry.digest in stands)
        + [_adjuster_unit(view, entry) for _ in unit]
        + [_cell(view, entry, kind, key) for key in fields]
        for entry, kind in _rows(view, table)
    ]
    return csv_bytes([*BEGIN, *unit, *fields], rows)


def _sort(kind: Kind) -> str:
    return kind.slot.partition("/")[0]


def _fields(view: FittingView, table: str) -> list[str]:
    kinds = [k for k in view.edition.kinds.values() if _sort(k) in TABLES[table]]
    kinds += [kind for _, kind in _rows(view, table)]
    return list(dict.fromkeys(f.key for kind in kinds for f in kind.fields))


def _rows(view: FittingView, table: str) -> list[tuple[Entry, Kind]]:
    found = ((entry, view.record.kind_of(entry)) for entry in view.entries())
    return [(entry, kind) for entry, kind in found if kind is not None and _sort(kind) in TABLES[table]]


def _beginning(view: FittingView, entry: Entry, kind: Kind, stands: bool) -> list[str | Decimal]:
    place = view.record.place_of(entry.digest)
    return [
        entry.digest, place[1] if place else "", kind.key, "yes" if stands else "no",
        entry.happened_at, entry.recorded_at, view.record.name_of(entry.recorded_by),
    ]


def _adjuster_unit(view: FittingView, entry: Entry) -> str:
    adjuster = view.adjuster(str(entry.body.get("function", "")))
    return adjuster.unit if adjuster else ""


def _cell(view: FittingView, entry: Entry, kind: Kind, key: str) -> str | Decimal:
    field = next((f for f in kind.fields if f.key == key), None)
    value = entry.body.get(key)
    if field is None or value in (None, "", []):
        return ""
    if field.type == "findings":
        return "; ".join(findings_words(entry, view))
    if isinstance(value, dict):
        return value_words(field, value, view)
    return _figure_or_words(view, field, value)


def _figure_or_words(view: FittingView, field: Field, value: object) -> str | Decimal:
    if field.type in ("amount", "count"):
        figure = amount_from(value)
        return str(value) if figure is None else figure
    return str(value) if field.type in ("date", "text") else value_words(field, value, view)
