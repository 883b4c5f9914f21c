"""What is built in: Device with its UDI, and DeviceUseStatement on which side it is worn."""

from __future__ import annotations

from typing import Any

from shared_models.catalogue.sheets import PLACES
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_people import subject, who
from shared_models.exports.fhir_terms import ENTRY_DIGEST, identifier, reference, resource_id
from shared_models.wording.sentences import place_words

#: What is recorded where a part bears no number.
NONE_MARKED = "none marked"


def components(view: FittingView) -> list[tuple[str, Entry, bool]]:
    """Return every part that was built in, by place, and whether it still is."""
    found = []
    for place in PLACES:
        slot = view.slot(f"component/{place}")
        now = {e.digest for e in slot.heads()}
        found += [(place, e, e.digest in now) for e in slot.history() if e.kind == "component"]
    return found


def device(view: FittingView, place: str, entry: Entry, built_in: bool) -> dict[str, Any]:
    """Return one part as a Device; its numbers as they are marked on it."""
    body, sheet = entry.body, view.sheet_of(entry)
    marked = {key: _marked(body.get(key)) for key in ("lot", "serial", "device_identifier", "part_code")}
    return {
        "resourceType": "Device", "id": resource_id("Device", entry.digest),
        "identifier": [identifier(ENTRY_DIGEST, entry.digest)],
        "udiCarrier": [{"deviceIdentifier": marked["device_identifier"], "carrierHRF": marked["part_code"]}],
        "status": "active" if built_in else "inactive",
        "manufacturer": sheet.maker if sheet else "",
        "manufactureDate": str(body.get("manufactured_on") or ""),
        "expirationDate": str(body.get("expires_on") or ""),
        "lotNumber": marked["lot"], "serialNumber": marked["serial"],
        "deviceName": [{"name": sheet.name, "type": "user-friendly-name"}] if sheet else [],
        "type": {"text": place_words(f"component/{place}", view)},
        "version": [{"value": f"component sheet {sheet.sheet}, version {sheet.version}"}] if sheet else [],
        "patient": subject(view) if built_in else {},
        "note": [{"text": str(body.get("kept_because") or "")}] if body.get("kept_because") else [],
    }


def use_statement(view: FittingView, entry: Entry, built_in: bool) -> dict[str, Any]:
    """Return that the person wears, or wore, a part, and on which side."""
    side = str(view.value("opened", "side") or "")
    return {
        "resourceType": "DeviceUseStatement", "id": resource_id("DeviceUseStatement", entry.digest),
        "status": "active" if built_in else "completed",
        "subject": subject(view), "device": reference("Device", entry.digest),
        "recordedOn": entry.recorded_at, "source": who(view, entry.recorded_by),
        "bodySite": {"text": f"{side} lower limb".strip()} if side else {},
    }


def _marked(value: Any) -> str:
    text = str(value or "").strip()
    return "" if text.lower() == NONE_MARKED else text
