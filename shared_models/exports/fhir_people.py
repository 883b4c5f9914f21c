"""Who the fitting is for and who worked at it: Patient and Practitioner."""

from __future__ import annotations

from typing import Any

from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_terms import FILE_NUMBER, STAFF, identifier, reference, resource_id

#: Said where two openings of a fitting name different people and nobody has settled it.
NOT_SETTLED = "not settled who this is"


def patient(view: FittingView) -> dict[str, Any] | None:
    """Return the person fitted; None while it is not settled who that is."""
    if not view.person.id:
        return None
    identity = view.head("identity")
    body = identity.body if identity else {}
    found: dict[str, Any] = {
        "resourceType": "Patient", "id": resource_id("Patient", view.person.id),
        "identifier": [identifier(FILE_NUMBER, str(body.get("file_number") or ""))],
        "name": [{
            "use": "official", "family": str(body.get("family_name") or ""),
            "given": [str(body.get("given_name") or "")],
        }],
        "birthDate": str(body.get("born_on") or ""),
    }
    if not body.get("file_number"):
        del found["identifier"]
    if body.get("telephone"):
        # Whose telephone it is, at home or at work, is not asked, so its use is left out.
        found["telecom"] = [{"system": "phone", "value": str(body["telephone"])}]
    return found


def subject(view: FittingView) -> dict[str, str]:
    """Return the reference to the person fitted."""
    return reference("Patient", view.person.id) if view.person.id else {"display": NOT_SETTLED}


def staff_named(view: FittingView) -> list[str]:
    """Return who recorded or signed anything of the fitting, sorted."""
    entries = view.entries()
    signers = {
        s.signer for e in entries for s in view.record.signatures_over(e.digest)
        if s.signer_type == "staff"
    }
    return sorted({e.recorded_by for e in entries} | signers | ({view.prosthetist} - {""}))


def practitioner(view: FittingView, staff: str) -> dict[str, Any]:
    """Return a member of staff by the name that the record prints."""
    return {
        "resourceType": "Practitioner", "id": resource_id("Practitioner", staff),
        "identifier": [identifier(STAFF, staff)],
        "name": [{"text": view.record.name_of(staff)}],
    }


def who(view: FittingView, staff: str) -> dict[str, str]:
    """Return the reference to a member of staff, with the printed name."""
    return reference("Practitioner", staff, view.record.name_of(staff))
