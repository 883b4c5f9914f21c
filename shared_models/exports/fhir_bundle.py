"""One fitting as a FHIR R4 Bundle: all that its record says, for another system to read."""

from __future__ import annotations

from typing import Any, Iterable

from shared_models.checks.events import events_of
from shared_models.checks.verdict import Verdict
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_devices import components, device, use_statement
from shared_models.exports.fhir_events import adverse_event
from shared_models.exports.fhir_people import patient, practitioner, staff_named, subject, who
from shared_models.exports.fhir_proofs import paper_reference, provenance
from shared_models.exports.fhir_readings import entry_resource, entry_type
from shared_models.exports.fhir_terms import FITTING, filled, identifier, reference, resource_id
from shared_models.quantities.moments import moment_from
from shared_models.wording.states import VERDICT

FIRST = "fitting and tuning of a hydraulic stance-and-swing knee"
VISIT = "visit after the fitting of a hydraulic stance-and-swing knee"


def fitting_bundle(
    view: FittingView, verdict: Verdict, sheet: bytes | None = None, record: bytes | None = None,
    others: Iterable[FittingView] = (),
) -> dict[str, Any]:
    """Return a fitting as a Bundle of type ``collection``.

    ``sheet`` and ``record``: the person's sheet and the record of the fitting as
    PDF, carried where they are given.  ``others``: further fittings and visits of
    the person, where an event may have been followed up.  Amounts are Decimals, every digit as
    recorded: whoever writes the JSON writes them as numbers (FHIR's
    ``decimal``).  The same record makes the same bundle.
    """
    entries = view.entries()
    latest = max((e.recorded_at for e in entries), key=moment_from, default="1970-01-01T00:00:00.000+00:00")
    parts, events = components(view), events_of(view, others)
    carried = {part.entry.digest for part in parts if not part.wrong}
    named = {e.recorded_by for e in (*(p.entry for p in parts), *(event.entry for event in events))}
    resources = [r for r in (patient(view),) if r]
    resources += [practitioner(view, staff) for staff in sorted({*staff_named(view), *named})]
    for part in parts:
        resources += [device(view, part), use_statement(view, part)]
    resources.append(_procedure(view, verdict, entries))
    resources += [adverse_event(view, event, carried) for event in events]
    resources += _entries_and_signatures(view, entries)
    for paper, pdf in (("sheet", sheet), ("record", record)):
        if pdf is not None:
            resources.append(paper_reference(view, paper, pdf, not verdict.is_complete, latest))
    return {
        "resourceType": "Bundle", "id": resource_id("Bundle", view.id), "type": "collection",
        "identifier": identifier(FITTING, view.id), "timestamp": latest,
        "entry": [
            {"fullUrl": f"urn:uuid:{r['id']}", "resource": r} for r in map(filled, resources)
        ],
    }


def _entries_and_signatures(view: FittingView, entries: list[Entry]) -> list[dict[str, Any]]:
    stands = {
        e.digest for slot in view.record.slots(view.subject).values() for e in slot.history()
    }
    found = []
    for entry in entries:
        resource = entry_resource(view, entry, stands)
        if resource is None:
            continue
        found.append(resource)
        found += [
            provenance(view, entry, entry_type(resource), s)
            for s in view.record.signatures_over(entry.digest) if s.signer_type == "staff"
        ]
    return found


def _procedure(view: FittingView, verdict: Verdict, entries: list[Entry]) -> dict[str, Any]:
    """The fitting itself: who worked at it, from when to when, with which parts, and how it stands."""
    moments = sorted((e.happened_at for e in entries), key=moment_from)
    return {
        "resourceType": "Procedure", "id": resource_id("Procedure", view.id),
        "identifier": [identifier(FITTING, view.id)],
        "status": "completed" if verdict.is_complete else "in-progress",
        "code": {"text": VISIT if view.after else FIRST},
        "subject": subject(view),
        "performedPeriod": {"start": moments[0], "end": moments[-1]} if moments else {},
        "performer": [{"actor": who(view, view.prosthetist)}] if view.prosthetist else [],
        "bodySite": [{"text": f"{view.value('opened', 'side')} lower limb"}] if view.value("opened", "side") else [],
        "outcome": {"text": VERDICT.get(verdict.state, verdict.state)},
        "usedReference": [reference("Device", part.entry.digest) for part in components(view) if part.built_in],
        "note": ([{"text": f"a later visit, after {view.after}"}] if view.after else []) + [{"text": f"SHA-256 of the verdict of {verdict.day}: {verdict.digest}"}],
    }
