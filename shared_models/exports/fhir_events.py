"""Falls, pain and faults as AdverseEvent: what happened, to which knee, and whether it is still open.

What was asked and answered, and each follow-up, travel word for word as a
QuestionnaireResponse; an AdverseEvent of R4 has no room for them, and no status
for what was recorded wrongly.
"""

from __future__ import annotations

from typing import Any

from shared_models.checks.events import Event
from shared_models.checks.parts_over_time import visits_up_to
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_people import subject, who
from shared_models.exports.fhir_terms import EVENT, concept, identifier, reference, resource_id
from shared_models.quantities.moments import moment_from

#: Code system of FHIR R4, to which ``AdverseEvent.outcome`` is bound.
OUTCOMES = "http://terminology.hl7.org/CodeSystem/adverse-event-outcome"
_OPEN = ("ongoing", "Ongoing", "open: nobody has closed it")
_CLOSED = ("resolved", "Resolved", "closed by a follow-up")
#: Answers after which the knee built in at the time is named as suspected.
_SUSPECTED = ("yes", "perhaps", "not_known")


def adverse_event(view: FittingView, event: Event, exported: set[str]) -> dict[str, Any]:
    """Return one event as it stands; ``exported`` are the digests of the components in the bundle."""
    body, words = event.entry.body, view.edition.words
    what, injury = str(body.get("what") or ""), str(body.get("injury") or "")
    code, display, told = _OPEN if event.is_open else _CLOSED
    return {
        "resourceType": "AdverseEvent", "id": resource_id("AdverseEvent", f"{view.person.id}/{event.id}"),
        "identifier": identifier(EVENT, event.id),
        # A fall that did not come about did no harm: FHIR calls that potential.
        "actuality": "potential" if what == "near_fall" and injury == "none" else "actual",
        "event": {**concept(words("event_what", what), f"event_what.{what}"), "text": _told(words("event_what", what), body)},
        "subject": subject(view), "date": event.happened_on, "recordedDate": event.entry.recorded_at,
        "seriousness": concept(words("injury", injury), f"injury.{injury}") if injury else {},
        "outcome": {"coding": [{"system": OUTCOMES, "code": code, "display": display}], "text": told},
        "recorder": who(view, event.entry.recorded_by),
        "suspectEntity": _suspected(view, event, exported),
    }


def _told(what: str, body) -> str:
    during = str(body.get("during") or "").strip()
    return f"{what}: {during}" if during else what


def _suspected(view: FittingView, event: Event, exported: set[str]) -> list[dict[str, Any]]:
    """The knee that was worn when it was recorded, with what was answered of its part in it."""
    answer = str(event.entry.body.get("knee_involved") or "")
    visit = next((v for v in visits_up_to(view) if v.subject == event.entry.subject), None)
    knees = [e for e in (visit.slot("component/knee").history() if visit else []) if e.digest in exported]
    before = [k for k in knees if moment_from(k.happened_at) <= moment_from(event.entry.happened_at)]
    if answer not in _SUSPECTED or not before:
        return []
    return [{
        "instance": reference("Device", before[-1].digest),
        "causality": [{"productRelatedness": view.edition.words("knee_involved", answer)}],
    }]
