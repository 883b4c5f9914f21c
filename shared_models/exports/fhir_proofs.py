"""Who signed what (Provenance with the signature), and the papers (DocumentReference)."""

from __future__ import annotations

import base64
import hashlib
from typing import Any

from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.entries.signatures import Signature
from shared_models.exports.fhir_people import subject, who
from shared_models.exports.fhir_terms import (
    ENTRY_DIGEST,
    FITTING,
    concept,
    identifier,
    reference,
    resource_id,
)

#: ASTM E1762-95 purposes of a signature, as FHIR R4 lists them (valueset signature-type).
_PURPOSES = "urn:iso-astm:E1762-95:2013"
_PURPOSE_OF = {
    "signs_off": ("1.2.840.10065.1.12.1.5", "Verification Signature"),
    "requests_review": ("1.2.840.10065.1.12.1.1", "Author's Signature"),
    "decides": ("1.2.840.10065.1.12.1.8", "Review Signature"),
}
_OTHER = ("1.2.840.10065.1.12.1.14", "Source Signature")


def provenance(view: FittingView, entry: Entry, type_: str, signature: Signature) -> dict[str, Any]:
    """Return a signature over an entry: who, when, in which sense, and its bytes.

    The value is Ed25519 (RFC 8032) over the statement that docs/exchange.md describes.
    """
    code, words = _PURPOSE_OF.get(signature.meaning, _OTHER)
    signer = who(view, signature.signer) | {"display": signature.printed_name}
    return {
        "resourceType": "Provenance", "id": resource_id("Provenance", signature.digest),
        "target": [reference(type_, entry.digest)], "recorded": signature.signed_at,
        "activity": concept(signature.meaning.replace("_", " ")),
        "agent": [{"who": signer}],
        "entity": [{"role": "source", "what": {"identifier": identifier(ENTRY_DIGEST, entry.digest)}}],
        "signature": [{
            "type": [{"system": _PURPOSES, "code": code, "display": words}],
            "when": signature.signed_at, "who": signer,
            "sigFormat": "application/octet-stream", "data": signature.value,
        }],
    }


#: Paper -> what it is, as its type and its title say.
PAPERS = {"sheet": "sheet for the person fitted", "record": "record of the fitting"}


def paper_reference(view: FittingView, paper: str, pdf: bytes, is_draft: bool, made_at: str) -> dict[str, Any]:
    """Return a paper of `PAPERS` as a document with its PDF.  ``hash`` is SHA-1, as FHIR R4 asks."""
    sha1 = hashlib.sha1(pdf, usedforsecurity=False).digest()
    words = PAPERS[paper]
    return {
        "resourceType": "DocumentReference", "id": resource_id("DocumentReference", f"{paper}/{view.id}"),
        "identifier": [identifier(FITTING, view.id)],
        "status": "current", "docStatus": "preliminary" if is_draft else "final",
        "type": {"text": words}, "subject": subject(view), "date": made_at,
        "content": [{"attachment": {
            "contentType": "application/pdf", "data": base64.b64encode(pdf).decode(),
            "size": len(pdf), "hash": base64.b64encode(sha1).decode(), "title": words.capitalize(),
        }}],
    }
