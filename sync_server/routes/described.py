"""The server's own OpenAPI document, made from its routes.

The framework knows paths and path parameters; bodies, queries and refusals are
read by hand for their limits, so they are described here.  A route that is not
named here gets the general form of its kind, so that none is left out.  It is
printed by ``stancebook server --openapi`` and not served: who writes another
client reads docs/exchange.md first.
"""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

from shared_models.entries.canonical import LARGEST_INTEGER
from shared_models.exchange.pull import MOST_ITEMS, USUAL_ITEMS

_TEXT: dict[str, Any] = {"type": "string"}
_DIGEST = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
_ENTRY = {
    "type": "object", "required": ["digest", "envelope"],
    "properties": {"digest": _DIGEST, "envelope": {"type": "object"}},
}
_SIGNATURE_FIELDS = (
    "clinic", "signs", "signer_type", "signer", "printed_name", "meaning", "signed_at", "key", "value",
)
_SIGNATURE = {
    "type": "object", "required": list(_SIGNATURE_FIELDS), "additionalProperties": False,
    "properties": dict.fromkeys(_SIGNATURE_FIELDS, _TEXT),
}
_BATCH = {
    "type": "object", "required": ["format", "clinic", "entries", "signatures"],
    "properties": {
        "format": {"const": 1}, "clinic": _TEXT,
        "entries": {"type": "array", "maxItems": 2000, "items": _ENTRY},
        "signatures": {"type": "array", "maxItems": 2000, "items": _SIGNATURE},
    },
}
_ENROL = {
    "type": "object", "required": ["format", "code", "tablet", "public_key"],
    "properties": {"format": {"const": 1}, "code": _TEXT, "tablet": _TEXT, "public_key": _TEXT, "program": _TEXT},
}
_REFUSAL = {
    "type": "object", "required": ["format", "code"],
    "properties": {
        "format": {"const": 1}, "code": _TEXT, "figures": {"type": "object"}, "sentence": _TEXT,
        "reasons": {"type": "array", "items": {"type": "object"}},
    },
}
_JSON, _FORM, _BYTES = "application/json", "application/x-www-form-urlencoded", "application/octet-stream"
_BODIES: dict[tuple[str, str], tuple[str, dict[str, Any]]] = {
    ("post", "/exchange/enrol"): (_JSON, _ENROL),
    ("post", "/exchange/{clinic}/entries"): (_JSON, _BATCH),
    ("post", "/log-in"): (_FORM, {
        "type": "object", "required": ["csrf", "login", "password"],
        "properties": {"csrf": _TEXT, "login": _TEXT, "password": _TEXT, "then": _TEXT},
    }),
    ("post", "/fittings/{fitting}/decision"): (_FORM, {
        "type": "object", "required": ["csrf", "seen", "decision", "password"],
        "properties": {
            "csrf": _TEXT, "seen": _TEXT, "decision": {"enum": ["accepted", "rejected"]},
            "password": _TEXT, "remark-caps": _TEXT,
        },
    }),
}
_ANY_FORM = {"type": "object", "required": ["csrf"], "properties": {"csrf": _TEXT}, "additionalProperties": _TEXT}
_ANY_BYTES = {"type": "string", "format": "binary"}
_QUERIES: dict[tuple[str, str], dict[str, dict[str, Any]]] = {
    ("get", "/exchange/{clinic}/entries"): {
        "after": {"type": "integer", "minimum": 0, "maximum": LARGEST_INTEGER, "default": 0},
        "limit": {"type": "integer", "minimum": 1, "maximum": MOST_ITEMS, "default": USUAL_ITEMS},
    },
    ("get", "/exchange/{clinic}/verdicts/{fitting}"): {"day": {"type": "string", "format": "date"}},
    ("get", "/fittings"): {"show": _TEXT, "search": _TEXT},
    ("get", "/log-in"): {"then": _TEXT, "left": _TEXT},
}
#: What a request may be refused with, beside what it is meant to get.
_REFUSALS = {
    "400": "can't be read", "401": "no token, an unknown or a revoked one; or the session has ended",
    "403": "not for you, or the code is not taken", "404": "nothing there",
    "405": "no such method", "408": "the sender fell silent", "409": "something else is there, or came meanwhile",
    "413": "too large", "415": "not of that type", "421": "not served under that name",
    "422": "read and refused whole, with reasons", "429": "too many wrong tries; wait", "503": "not now; try later",
}


def describe(app: FastAPI) -> dict[str, Any]:
    """Return the OpenAPI document of an application."""
    document = dict(app.openapi())
    document["components"] = {
        "schemas": {"Refusal": _REFUSAL},
        "securitySchemes": {
            "token": {"type": "http", "scheme": "bearer"},
            "session": {"type": "apiKey", "in": "cookie", "name": "stancebook_session"},
        },
    }
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            _complete(operation, method, path)
    return document


def _complete(operation: dict[str, Any], method: str, path: str) -> None:
    for_tablets = path.startswith("/exchange/")
    operation["parameters"] = [
        {**p, "schema": _TEXT} for p in operation.get("parameters", []) if p["in"] == "path"
    ] + [
        {"name": name, "in": "query", "required": False, "schema": schema}
        for name, schema in _QUERIES.get((method, path), {}).items()
    ]
    if for_tablets and "{clinic}" in path:
        operation["security"] = [{"token": []}]
    elif path.startswith(("/fittings", "/people", "/log-out")):
        operation["security"] = [{"session": []}]
    if method in ("post", "put", "patch"):
        usual = (_BYTES, _ANY_BYTES) if for_tablets else (_FORM, _ANY_FORM)
        kind, schema = _BODIES.get((method, path), usual)
        operation["requestBody"] = {"required": True, "content": {kind: {"schema": schema}}}
    content = {_JSON: {"schema": {"$ref": "#/components/schemas/Refusal"}}} if for_tablets else {"text/html": {}}
    given = {
        code: {"description": told} for code, told in (
            ("200", "done, and durable"), ("201", "begun"), ("204", "done"), ("303", "see there"),
        )
    }
    operation["responses"] = given | {
        code: {"description": told, "content": content} for code, told in _REFUSALS.items()
    }
