"""Outside checks of a FHIR bundle; each misses mistakes that another finds, so all are asked.

- ``schema``: the JSON Schema of R4 that HL7 publishes (tests/data/fhir_r4).
- ``classes``: the model classes of the package ``fhir.resources``, which has R4B
  and not R4; the resources used here are alike in both.
- ``consistency``: what neither finds; rules of FHIR R4 (json.html, references.html,
  bundle.html) in our own words, and units read by ``ucumvert``, a parser of UCUM.
"""

from __future__ import annotations

import functools
import gzip
import hashlib
import json
import re
from pathlib import Path
from typing import Any, Iterator

import jsonschema_rs
from fhir.resources.R4B.bundle import Bundle
from pydantic import ValidationError
from ucumvert import get_ucum_parser

DATA = Path(__file__).parents[2] / "data" / "fhir_r4" / "fhir.schema.json.gz"
SHA256 = "15b9548af6412c44faaa411456e0652542de286fd1c58ef882b09bdc8947909d"
#: R4 definitions with cardinality 1..1 that the published schema does not require.
REQUIRED = {
    "Observation": ("status", "code"), "QuestionnaireResponse": ("status",),
    "Procedure": ("status", "subject"), "DeviceUseStatement": ("status", "subject", "device"),
    "Provenance": ("target", "recorded", "agent"), "DocumentReference": ("status", "content"),
    "AdverseEvent": ("actuality", "subject"), "Basic": ("code",), "Bundle": ("type",),
}
#: Code systems to which R4 binds what is exported, with their codes (terminology pages of R4).
BOUND = {
    "http://terminology.hl7.org/CodeSystem/adverse-event-outcome":
        ("resolved", "recovering", "ongoing", "resolvedWithSequelae", "fatal", "unknown"),
}


@functools.cache
def _definitions() -> dict[str, Any]:
    raw = gzip.decompress(DATA.read_bytes())
    assert hashlib.sha256(raw).hexdigest() == SHA256
    return json.loads(raw)


@functools.cache
def _validator(type_: str):
    whole = _definitions()
    return jsonschema_rs.validator_for({
        "$schema": whole["$schema"], "definitions": whole["definitions"], "$ref": f"#/definitions/{type_}",
    })


def schema(bundle: dict[str, Any]) -> list[str]:
    """What the published JSON Schema finds, resource by resource."""
    found = []
    for resource in [e.get("resource", {}) for e in bundle.get("entry", [])]:
        type_ = resource.get("resourceType", "")
        if type_ not in _definitions()["definitions"]:
            found.append(f"no resource is called {type_!r}")
            continue
        found += [f"{type_}: {e.message[:200]}" for e in _validator(type_).iter_errors(resource)]
    return found


def classes(bundle: dict[str, Any]) -> list[str]:
    """What the model classes find."""
    try:
        Bundle.model_validate(bundle)
    except (ValidationError, ValueError, TypeError, KeyError, AssertionError) as error:
        return [str(error)[:400]]
    return []


@functools.cache
def _is_unit(code: str) -> bool:
    try:
        get_ucum_parser().parse(code)
    except Exception:  # noqa: BLE001 - the parser raises several of its own
        return False
    return True


def consistency(bundle: dict[str, Any]) -> list[str]:
    """What FHIR asks for in words: nothing empty, references that lead somewhere, units of UCUM."""
    there = {e.get("fullUrl", ""): e.get("resource", {}) for e in bundle.get("entry", [])}
    found = [f"two resources are {u}" for u in there if [e.get("fullUrl") for e in bundle["entry"]].count(u) > 1]
    for url, resource in there.items():
        type_ = resource.get("resourceType", "")
        if url != f"urn:uuid:{resource.get('id', '')}":
            found.append(f"{type_}: fullUrl and id differ")
        found += [f"{type_}: no {name}" for name in REQUIRED.get(type_, ()) if name not in resource]
    for path, value in _walk(bundle, ""):
        if value in ({}, [], "") or (isinstance(value, str) and not value.strip()):
            found.append(f"{path}: empty")
        if isinstance(value, dict):
            found += _of_object(path, value, there)
    return found


def _of_object(path: str, value: dict[str, Any], there: dict[str, Any]) -> Iterator[str]:
    if "reference" in value:
        target = there.get(value["reference"])
        if target is None:
            yield f"{path}: leads nowhere: {value['reference']}"
        elif value.get("type") not in (None, target.get("resourceType")):
            yield f"{path}: leads to a {target.get('resourceType')}"
    if value.get("system") == "http://unitsofmeasure.org":
        if not _is_unit(str(value.get("code", ""))):
            yield f"{path}: {value.get('code')!r} is no unit of UCUM"
        if isinstance(value.get("value"), (str, bool)):
            yield f"{path}: an amount is a number"
    if "start" in value and "end" in value:
        yield from _of_period(path, value)
    if value.get("system") in BOUND and value.get("code") not in BOUND[value["system"]]:
        yield f"{path}: {value.get('code')!r} is none of the codes of {value['system']}"
    if sum(re.match(r"value[A-Z]", key) is not None for key in value) > 1:
        yield f"{path}: more than one value"


def _of_period(path: str, value: dict[str, Any]) -> Iterator[str]:
    """FHIR R4 datatypes.html, Period: start is not later than end (per-1)."""
    start, end = str(value["start"]), str(value["end"])
    if start[:10] > end[:10]:
        yield f"{path}: ends before it begins"


def _walk(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    yield path, value
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _walk(inner, f"{path}.{name}")
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _walk(inner, f"{path}[{number}]")


def troubles(bundle: dict[str, Any]) -> list[str]:
    """What any of the checks finds."""
    return [*schema(bundle), *classes(bundle), *consistency(bundle)]
