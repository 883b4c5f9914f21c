"""What is and was built in: Device with its UDI, and DeviceUseStatement from when to when and on which side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import zip_longest
from typing import Any

from shared_models.catalogue.sheets import PLACES
from shared_models.checks.parts_over_time import visits_up_to
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_people import subject, who
from shared_models.exports.fhir_terms import ENTRY_DIGEST, identifier, reference, resource_id
from shared_models.quantities.moments import day_of
from shared_models.wording.sentences import place_words

#: What is recorded where a part bears no number.
NONE_MARKED = "none marked"


@dataclass(frozen=True)
class PartExported:
    """One recording of a part: ``built_in`` now; ``until`` the day the next one took its place; ``wrong`` where corrected or withdrawn."""

    place: str
    entry: Entry
    built_in: bool
    until: date | None = None
    wrong: bool = False


def components(view: FittingView) -> list[PartExported]:
    """Return every part carried up to this visit, by place, the first one first, with what was recorded wrongly."""
    found = []
    for place in PLACES:
        name = f"component/{place}"
        now = {e.digest for e in view.heads(name)}
        stood = [e for visit in visits_up_to(view) for e in _recorded(visit, name)]
        for entry, after in zip_longest(stood, stood[1:]):
            ended = after is not None and entry.digest not in now
            until = max(day_of(after.happened_at), day_of(entry.happened_at)) if ended else None
            found.append(PartExported(place, entry, entry.digest in now, until))
        stands = {e.digest for e in stood}
        # What an earlier visit corrected is in the bundle of that visit.
        own = view.record.slot(view.subject, name).entries.values()
        wrong = [e for e in own if e.kind == "component" and e.digest not in stands]
        found += [PartExported(place, e, False, wrong=True) for e in sorted(wrong, key=lambda e: e.order)]
    return found


def _recorded(visit: FittingView, name: str) -> list[Entry]:
    return [e for e in visit.record.slot(visit.subject, name).history() if e.kind == "component"]


def device(view: FittingView, part: PartExported) -> dict[str, Any]:
    """Return one part as a Device; its numbers as they are marked on it."""
    entry, body, sheet = part.entry, part.entry.body, view.sheet_of(part.entry)
    marked = {key: _marked(body.get(key)) for key in ("lot", "serial", "device_identifier", "part_code")}
    return {
        "resourceType": "Device", "id": resource_id("Device", entry.digest),
        "identifier": [identifier(ENTRY_DIGEST, entry.digest)],
        "udiCarrier": [{"deviceIdentifier": marked["device_identifier"], "carrierHRF": marked["part_code"]}],
        "status": "entered-in-error" if part.wrong else "active" if part.built_in else "inactive",
        "manufacturer": sheet.maker if sheet else "",
        "manufactureDate": str(body.get("manufactured_on") or ""),
        "expirationDate": str(body.get("expires_on") or ""),
        "lotNumber": marked["lot"], "serialNumber": marked["serial"],
        "deviceName": [{"name": sheet.name, "type": "user-friendly-name"}] if sheet else [],
        "type": {"text": place_words(f"component/{part.place}", view)},
        "version": [{"value": f"component sheet {sheet.sheet}, version {sheet.version}"}] if sheet else [],
        "patient": subject(view) if part.built_in else {},
        "note": [{"text": str(body.get("kept_because") or "")}] if body.get("kept_because") else [],
    }


def use_statement(view: FittingView, part: PartExported) -> dict[str, Any]:
    """Return that the person wears, or wore, a part: from when to when, and on which side."""
    entry, side = part.entry, str(view.value("opened", "side") or "")
    return {
        "resourceType": "DeviceUseStatement", "id": resource_id("DeviceUseStatement", entry.digest),
        "status": "entered-in-error" if part.wrong else "active" if part.built_in else "completed",
        "subject": subject(view), "device": reference("Device", entry.digest),
        "timingPeriod": {} if part.wrong else {
            "start": day_of(entry.happened_at).isoformat(), "end": part.until.isoformat() if part.until else "",
        },
        "recordedOn": entry.recorded_at, "source": who(view, entry.recorded_by),
        "bodySite": {"text": f"{side} lower limb".strip()} if side else {},
    }


def _marked(value: Any) -> str:
    text = str(value or "").strip()
    return "" if text.lower() == NONE_MARKED else text
