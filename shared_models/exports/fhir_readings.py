"""Every entry of a fitting: those with amounts as Observation, the others as QuestionnaireResponse.

What was corrected or withdrawn is exported too, as entered in error, so that
the export tells of the whole record.
"""

from __future__ import annotations

from typing import Any

from shared_models.catalogue.edition import Field, Kind
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_people import subject, who
from shared_models.exports.fhir_terms import (
    ENTRY_DIGEST,
    KINDS,
    concept,
    identifier,
    quantity,
    resource_id,
)
from shared_models.wording.findings import findings_words
from shared_models.wording.sentences import as_typed_words, place_words, value_words

#: Kinds that are something else in the export, or only say what became of others.
ELSEWHERE = ("component", "withdrawn", "identity")
_WRONG = "entered-in-error"


def entry_resource(view: FittingView, entry: Entry, stands: set[str]) -> dict[str, Any] | None:
    """Return one entry as a resource; None for a kind that is exported as something else.

    ``stands``: digests of the entries that hold a place now or did before,
    each in its newest version.
    """
    kind = view.record.kind_of(entry)
    if entry.kind in ELSEWHERE or (kind is not None and kind.free_body):
        return None
    if kind is None:
        return _of_a_newer_form(view, entry)
    if any(_amount(view, entry, f) for f in kind.fields):
        return _observation(view, entry, kind, stands)
    return _answers(view, entry, kind, stands)


def entry_type(resource: dict[str, Any] | None) -> str:
    """Return the type of a resource; "" when there is none."""
    return str(resource["resourceType"]) if resource else ""


def _title(view: FittingView, entry: Entry, kind: Kind) -> str:
    place = view.record.place_of(entry.digest)
    return place_words(place[1], view) if place else kind.title


def _observation(view: FittingView, entry: Entry, kind: Kind, stands: set[str]) -> dict[str, Any]:
    return {
        "resourceType": "Observation", "id": resource_id("Observation", entry.digest),
        "identifier": [identifier(ENTRY_DIGEST, entry.digest)],
        "status": _WRONG if entry.digest not in stands else "corrected" if entry.is_correction else "final",
        "code": {**concept(kind.title, kind.key), "text": _title(view, entry, kind)},
        "subject": subject(view), "effectiveDateTime": entry.happened_at, "issued": entry.recorded_at,
        "performer": [who(view, entry.recorded_by)],
        "component": [
            {"code": concept(f.label, f"{kind.key}.{f.key}"), **_component_value(view, entry, f)}
            for f in kind.fields if _component_value(view, entry, f)
        ],
        "note": _reason(entry) + _as_typed(entry, kind),
    }


def _component_value(view: FittingView, entry: Entry, field: Field) -> dict[str, Any]:
    value = entry.body.get(field.key)
    amount = _amount(view, entry, field)
    if amount:
        return {"valueQuantity": amount}
    if field.type == "yes_no" and isinstance(value, bool):
        return {"valueBoolean": value}
    if field.type == "date" and value:
        return {"valueDateTime": str(value)}
    words = _words(view, entry, field)
    return {"valueString": words} if words else {}


def _answers(view: FittingView, entry: Entry, kind: Kind, stands: set[str]) -> dict[str, Any]:
    return {
        "resourceType": "QuestionnaireResponse", "id": resource_id("QuestionnaireResponse", entry.digest),
        "identifier": identifier(ENTRY_DIGEST, entry.digest),
        "status": _WRONG if entry.digest not in stands else "amended" if entry.is_correction else "completed",
        "subject": subject(view), "authored": entry.recorded_at, "author": who(view, entry.recorded_by),
        "item": [{
            "linkId": kind.key, "text": _title(view, entry, kind),
            "item": [
                {"linkId": f"{kind.key}.{f.key}", "text": f.label, "answer": [answer]}
                for f in kind.fields if (answer := _answer(view, entry, f))
            ],
        }],
    }


def _answer(view: FittingView, entry: Entry, field: Field) -> dict[str, Any]:
    value = entry.body.get(field.key)
    if field.type == "yes_no" and isinstance(value, bool):
        return {"valueBoolean": value}
    if field.type == "date" and value:
        return {"valueDate": str(value)}
    words = _words(view, entry, field)
    return {"valueString": words} if words else {}


def _of_a_newer_form(view: FittingView, entry: Entry) -> dict[str, Any]:
    """What this program can't read is named, with its digest, and not left out."""
    return {
        "resourceType": "Basic", "id": resource_id("Basic", entry.digest),
        "identifier": [identifier(ENTRY_DIGEST, entry.digest)],
        "code": {"coding": [{"system": KINDS, "code": entry.kind}], "text": "an entry of a newer form"},
        "subject": subject(view), "created": entry.recorded_at[:10], "author": who(view, entry.recorded_by),
    }


def _amount(view: FittingView, entry: Entry, field: Field) -> dict[str, Any] | None:
    value = entry.body.get(field.key)
    if field.type not in ("amount", "count") or value in (None, "") or isinstance(value, (dict, list, bool)):
        return None
    return quantity(value, _unit(view, entry, field))


def _unit(view: FittingView, entry: Entry, field: Field) -> str:
    """Return the unit of a field, where that stands elsewhere from there."""
    if field.unit == "@adjuster":
        adjuster = view.adjuster(str(entry.body.get("function", "")))
        return adjuster.unit if adjuster else ""
    if field.unit.startswith("@"):
        other = field.unit[1:]
        kind = view.record.kind_of(entry)
        chosen = str(entry.body.get(other) or "")
        return view.edition.words(kind.field(other).choices, chosen) if kind and chosen else ""
    return field.unit


def _words(view: FittingView, entry: Entry, field: Field) -> str:
    if field.type == "findings":
        return "; ".join(findings_words(entry, view))
    return value_words(field, entry.body.get(field.key), view).strip()


def _as_typed(entry: Entry, kind: Kind) -> list[dict[str, str]]:
    """What was typed in another unit, word for word; the quantity beside it is metric."""
    return [{"text": f"{f.label}{words}"} for f in kind.fields if (words := as_typed_words(entry.body, f.key))]


def _reason(entry: Entry) -> list[dict[str, str]]:
    """Why it stands in place of an earlier one."""
    words = ": ".join(part for part in (entry.because_code.replace("_", " "), entry.because_note) if part)
    return [{"text": words}] if words else []
