"""What names things in the FHIR export: identifiers, code systems, UCUM units.

Identifier systems are OIDs under 2.25, the arc where a UUID stands for itself
(ITU-T X.667), so that nobody has to hand them out.  Units are UCUM, case
sensitive; a count of something carries it as an annotation in braces.
"""

from __future__ import annotations

import uuid
from decimal import Decimal, InvalidOperation
from typing import Any

UCUM = "http://unitsofmeasure.org"


def _oid(name: str) -> str:
    return f"urn:oid:2.25.{uuid.UUID(name).int}"


#: SHA-256 of an entry, by which paper, record and export are matched.
ENTRY_DIGEST = _oid("6f2d1c1e-3c0b-4f5e-9f43-0d6f5b1a9e01")
#: File number of a person at a clinic.
FILE_NUMBER = _oid("6f2d1c1e-3c0b-4f5e-9f43-0d6f5b1a9e02")
#: Name of a member of staff within the record.
STAFF = _oid("6f2d1c1e-3c0b-4f5e-9f43-0d6f5b1a9e03")
#: Identity of a fitting.
FITTING = _oid("6f2d1c1e-3c0b-4f5e-9f43-0d6f5b1a9e04")
#: Identity of a fall, pain or fault, by which its follow-ups name it.
EVENT = _oid("6f2d1c1e-3c0b-4f5e-9f43-0d6f5b1a9e06")
#: Codes ``kind`` and ``kind.field`` of the edition in which an entry was recorded.
KINDS = _oid("6f2d1c1e-3c0b-4f5e-9f43-0d6f5b1a9e05")

_NAMESPACE = uuid.UUID("6f2d1c1e-3c0b-4f5e-9f43-0d6f5b1a9e00")
_UNITS = {
    "mm": "mm", "kg": "kg", "°": "deg", "N·m": "N.m", "s": "s", "m": "m", "min": "min", "kB": "kBy",
    "of 10": "{of_10}", "points": "{points}", "steps": "{steps}", "times": "{times}",
    "entries": "{entries}", "pixels": "{pixels}", "": "1",
    # What an adjuster or a wrench counts in, as its sheet or its scale says.
    "turn": "{turn}", "turns": "{turn}", "click": "{click}", "clicks": "{click}",
    "mark": "{mark}", "marks": "{mark}", "degrees": "deg", "lbf·in": "[lbf_av].[in_i]",
    "lbf·ft": "[lbf_av].[ft_i]", "kgf·cm": "kgf.cm",
}


def ucum_of(unit: str) -> str:
    """Return the UCUM code of a unit of the record; what UCUM has no word for as an annotation."""
    if unit in _UNITS:
        return _UNITS[unit]
    word = "".join(c if c.isascii() and c.isalnum() else "_" for c in unit)
    return "{" + word + "}"


def quantity(value: Any, unit: str) -> dict[str, Any] | None:
    """Return a Quantity of an amount as it was recorded, every digit kept; None when it is none."""
    try:
        amount = Decimal(str(value))
    except InvalidOperation:
        return None
    if not amount.is_finite():
        return None
    found: dict[str, Any] = {"value": amount, "system": UCUM, "code": ucum_of(unit)}
    return {**found, "unit": unit} if unit else found


def resource_id(type_: str, key: str) -> str:
    """Return the id of a resource: the same for the same thing in every export."""
    return str(uuid.uuid5(_NAMESPACE, f"{type_}/{key}"))


def reference(type_: str, key: str, display: str = "") -> dict[str, str]:
    """Return a reference to a resource of the same bundle."""
    found = {"reference": f"urn:uuid:{resource_id(type_, key)}", "type": type_}
    return {**found, "display": display} if display.strip() else found


def identifier(system: str, value: str) -> dict[str, str]:
    """Return an Identifier."""
    return {"system": system, "value": value}


def concept(words: str, code: str = "") -> dict[str, Any]:
    """Return a CodeableConcept in words, with the record's own code where it has one."""
    found: dict[str, Any] = {"coding": [{"system": KINDS, "code": code, "display": words}]} if code else {}
    return {**found, "text": words}


def filled(resource: dict[str, Any]) -> dict[str, Any]:
    """Return a resource without empty texts, lists and objects, which FHIR does not allow."""
    found = {}
    for name, value in resource.items():
        if isinstance(value, dict):
            value = filled(value)
        elif isinstance(value, list):
            value = [v for v in (filled(x) if isinstance(x, dict) else x for x in value) if _says(v)]
        if _says(value):
            found[name] = value
    return found


def _says(value: Any) -> bool:
    if isinstance(value, str):
        return bool(value.strip())
    return value is not None and value != {} and value != []
