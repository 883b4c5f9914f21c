"""A fitting as other systems read it: HL7 FHIR R4, checked by what others publish."""

from __future__ import annotations

import base64
import copy
import hashlib
import json
import os
import random
from collections import Counter
from decimal import Decimal

import pytest
import simplejson

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.checks.verdict import judge
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_bundle import fitting_bundle
from shared_models.quantities.moments import now_here
from tests.fitting_desk import Desk
from tests.shared_models.exports.fhir_checks import classes, consistency, schema, troubles
from tests.shared_models.exports.generated_fittings import grown, views_of

#: More of them: STANCEBOOK_FITTINGS=200.
FITTINGS = int(os.environ.get("STANCEBOOK_FITTINGS", "") or 25)


def read(bundle) -> dict:
    """The bundle as another system reads it from JSON."""
    return json.loads(simplejson.dumps(bundle, use_decimal=True))


def of_type(bundle, type_: str) -> list[dict]:
    return [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type_]


@pytest.fixture(scope="module")
def whole() -> Desk:
    desk = Desk.finished()
    desk.correct(desk.head("body"), body_mass_kg="83.50")
    return desk


@pytest.fixture(scope="module")
def exported(whole) -> dict:
    return read(fitting_bundle(whole.view, whole.verdict(), b"%PDF-1.4 a sheet", b"%PDF-1.4 a record"))


def visited() -> Desk:
    """A visit after the fitting: a fall still open, a foot exchanged, measures taken again."""
    desk = Desk.finished()
    desk.event(injury="care", knee_involved="perhaps")
    desk.visit().asked(falls="1").compared()
    desk.found(swing_flexion="10")
    sheet = next(e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "foot")
    desk.note("part_out", {"place": "foot", "serial": "none marked", "reason": "worn", "condition": "worn", "goes_to": "maker"})
    desk.component("foot", sheet, "F-200")
    desk.ready_again()
    desk.leave()
    desk.sign_off()
    return desk


def exported_visit(desk: Desk) -> dict:
    return read(fitting_bundle(desk.view, desk.verdict(), b"%PDF-1.4 a sheet", b"%PDF-1.4 a record"))


@pytest.fixture(scope="module")
def visit() -> dict:
    return exported_visit(visited())


def test_the_export_of_every_fitting_and_visit_meets_the_published_definitions():
    chance, types = random.Random(20), set()
    for _ in range(FITTINGS):
        desk = grown(chance)[0]
        views = views_of(desk)
        for view in views:
            bundle = read(fitting_bundle(view, judge(view, now_here().date()), others=views))
            assert troubles(bundle) == []
            named = json.dumps(bundle)
            assert [e.kind for e in view.entries() if e.digest not in named and e.kind != "withdrawn"] == []
            types |= {e["resource"]["resourceType"] for e in bundle["entry"]}
    assert {"AdverseEvent", "DeviceUseStatement", "Observation", "QuestionnaireResponse", "Provenance"} <= types


def test_a_fall_is_an_adverse_event_open_until_a_follow_up_closes_it():
    desk = visited()
    bundle = exported_visit(desk)
    assert troubles(bundle) == []
    event, = of_type(bundle, "AdverseEvent")
    assert (event["actuality"], event["event"]["text"], event["seriousness"]["text"]) == ("actual", "fall: wet kerb", "needed care")
    assert event["outcome"]["coding"][0]["code"] == "ongoing" and "open" in event["outcome"]["text"]
    head = desk.head("component/knee")
    knee, = [d for d in of_type(bundle, "Device") if d["identifier"][0]["value"] == head.digest]
    suspected, = event["suspectEntity"]
    assert suspected["instance"]["reference"] == f"urn:uuid:{knee['id']}"
    assert suspected["causality"] == [{"productRelatedness": "perhaps"}]
    desk.follow_up(what="valve looked at, sound")
    closed = exported_visit(desk)
    assert of_type(closed, "AdverseEvent")[0]["outcome"]["coding"][0]["code"] == "resolved"
    assert of_type(closed, "AdverseEvent")[0]["id"] == event["id"] and "valve looked at, sound" in json.dumps(closed)
    # The fitting in which it happened says the same, where what was followed up later is at hand.
    first = desk.view.former
    told = [
        of_type(read(fitting_bundle(first, judge(first, now_here().date()), others=others)), "AdverseEvent")[0]["outcome"]["coding"][0]["code"]
        for others in ((), (desk.view,))
    ]
    assert told == ["ongoing", "resolved"]


def test_a_part_exchanged_was_in_use_until_the_day_the_next_one_took_its_place(visit):
    today = now_here().date().isoformat()
    feet = {d["id"]: d.get("serialNumber", "") for d in of_type(visit, "Device") if "foot" in d["type"]["text"].lower()}
    uses = {
        feet[u["device"]["reference"].removeprefix("urn:uuid:")]: (u["status"], u["timingPeriod"])
        for u in of_type(visit, "DeviceUseStatement") if u["device"]["reference"].removeprefix("urn:uuid:") in feet
    }
    assert uses == {"": ("completed", {"start": today, "end": today}), "F-200": ("active", {"start": today})}
    assert Counter(d["status"] for d in of_type(visit, "Device")) == {"active": 5, "inactive": 1}


def test_a_part_recorded_wrongly_is_exported_as_entered_in_error():
    desk = Desk.finished()
    desk.correct(desk.head("component/foot"), serial="F-9")
    bundle = read(fitting_bundle(desk.view, desk.verdict()))
    assert troubles(bundle) == []
    feet = [(d["status"], d.get("serialNumber", "")) for d in of_type(bundle, "Device") if "foot" in d["type"]["text"].lower()]
    assert feet == [("active", "F-9"), ("entered-in-error", "")]


def test_a_mass_typed_in_pounds_is_a_metric_quantity_with_what_was_typed_as_a_note():
    """180 lb = 81.6466266 kg (NIST SP 811)."""
    desk = Desk.finished()
    desk.correct(desk.head("body"), body_mass_kg="81.6", as_typed={"body_mass_kg": "180 lb"})
    bundle = read(fitting_bundle(desk.view, desk.verdict()))
    assert troubles(bundle) == []
    (found,) = [r for r in of_type(bundle, "Observation") if r["code"]["coding"][0]["code"] == "body" and r["status"] == "corrected"]
    assert (found["component"][0]["valueQuantity"]["value"], found["component"][0]["valueQuantity"]["code"]) == (81.6, "kg")
    assert "Body mass, without prosthesis (typed as 180 lb)" in [note["text"] for note in found["note"]]


def test_a_persons_telephone_travels_as_it_was_written_and_an_unknown_one_is_left_out():
    desk = Desk.finished()
    assert "telecom" not in _first(exported_visit(desk), "Patient")
    desk.correct(desk.head("identity"), telephone="+44 1632 960123 ext. 4")
    bundle = exported_visit(desk)
    assert _first(bundle, "Patient")["telecom"] == [{"system": "phone", "value": "+44 1632 960123 ext. 4"}]
    assert troubles(bundle) == []


def test_every_entry_of_the_fitting_is_in_the_export_with_its_digest(whole, exported):
    named = json.dumps(exported)
    left_out = [e.kind for e in whole.view.entries() if e.digest not in named]
    assert left_out == []


def test_a_corrected_figure_stands_as_corrected_and_the_wrong_one_as_entered_in_error(exported):
    masses = {
        r["status"]: r["component"][0]["valueQuantity"] for r in of_type(exported, "Observation")
        if r["code"]["coding"][0]["code"] == "body"
    }
    assert {status: (q["value"], q["code"]) for status, q in masses.items()} == {
        "entered-in-error": (82.5, "kg"), "corrected": (83.5, "kg"),
    }


def test_an_amount_keeps_every_digit_that_was_recorded(whole):
    bundle = fitting_bundle(whole.view, whole.verdict())
    text = simplejson.dumps(bundle, use_decimal=True)
    assert '"value": 83.50' in text
    values = [c["valueQuantity"]["value"] for r in of_type(bundle, "Observation") for c in r["component"] if "valueQuantity" in c]
    assert values and all(isinstance(v, Decimal) for v in values)


def test_torques_travel_in_newton_metres_and_settings_in_what_the_sheet_counts(whole, exported):
    units = {
        c["code"]["coding"][0]["code"]: c["valueQuantity"]["code"]
        for r in of_type(exported, "Observation") for c in r["component"] if "valueQuantity" in c
    }
    assert units["torque_final.reading_nm"] == "N.m"
    counted = {
        r["component"][0]["valueString"]: c["valueQuantity"]["unit"]
        for r in of_type(exported, "Observation") for c in r["component"]
        if c["code"]["coding"][0]["code"] == "setting.position"
    }
    adjusters = [whole.view.adjuster(f) for f in FUNCTIONS]
    assert sorted(counted.values()) == sorted(a.unit for a in adjusters if a)
    assert units["outcome_measures.ten_metre_walk_s"] == "s"


def test_each_part_built_in_is_a_device_in_use_on_the_side_of_the_prosthesis(whole, exported):
    assert len(of_type(exported, "Device")) == len(whole.view.sheets())
    uses = of_type(exported, "DeviceUseStatement")
    assert Counter((u["status"], u["bodySite"]["text"]) for u in uses) == {("active", "left lower limb"): len(uses)}


def test_the_technicians_signature_travels_with_its_name_time_meaning_and_bytes(whole, exported):
    signed = whole.record.has_signed(whole.head("sign_off"), "signs_off")
    found = [p for p in of_type(exported, "Provenance") if p["signature"][0]["data"] == signed.value]
    provenance, = found
    assert provenance["recorded"] == signed.signed_at
    assert provenance["signature"][0]["who"]["display"] == signed.printed_name
    assert provenance["activity"]["text"] == "signs off"
    target = provenance["target"][0]["reference"]
    assert target in {e["fullUrl"] for e in exported["entry"]}


def test_the_same_record_makes_the_same_export(whole):
    first, second = (fitting_bundle(whole.view, whole.verdict()) for _ in range(2))
    assert first == second


def test_both_papers_travel_as_documents_with_their_bytes(exported):
    documents = of_type(exported, "DocumentReference")
    assert len({d["id"] for d in documents}) == 2
    attached = {d["type"]["text"]: d["content"][0]["attachment"] for d in documents}
    for words, pdf in (("sheet for the person fitted", b"%PDF-1.4 a sheet"), ("record of the fitting", b"%PDF-1.4 a record")):
        assert base64.b64decode(attached[words]["data"]) == pdf
        assert attached[words]["size"] == len(pdf)
        assert base64.b64decode(attached[words]["hash"]) == hashlib.sha1(pdf).digest()


def test_a_fitting_whose_person_is_in_dispute_is_exported_without_naming_anybody():
    desk = Desk.finished()
    bundle = read(fitting_bundle(FittingView(desk.record, "another"), judge(FittingView(desk.record, "another"), now_here().date())))
    assert of_type(bundle, "Patient") == []
    assert of_type(bundle, "Procedure")[0]["subject"] == {"display": "not settled who this is"}
    assert troubles(bundle) == []


def _first(bundle, type_):
    return of_type(bundle, type_)[0]


def _amount(bundle):
    return next(
        c["valueQuantity"] for r in of_type(bundle, "Observation") for c in r["component"] if "valueQuantity" in c
    )


MISTAKES = {
    "an observation without status": lambda b: _first(b, "Observation").pop("status"),
    "an observation without code": lambda b: _first(b, "Observation").pop("code"),
    "a status that FHIR has not": lambda b: _first(b, "Observation").update(status="done"),
    "a form with a status that FHIR has not": lambda b: _first(b, "QuestionnaireResponse").update(status="final"),
    "two values at once": lambda b: next(
        c for r in of_type(b, "Observation") for c in r["component"] if "valueQuantity" in c
    ).update(valueString="also"),
    "an amount as text": lambda b: _amount(b).update(value="0.62"),
    "newton metres written as people do": lambda b: _amount(b).update(code="Nm"),
    "a telephone of no known system": lambda b: _first(b, "Patient").update(telecom=[{"system": "telephone", "value": "1"}]),
    "an empty list": lambda b: _first(b, "Patient").update(telecom=[]),
    "an empty text": lambda b: _first(b, "Device").update(lotNumber=""),
    "a field that FHIR has not": lambda b: _first(b, "Device").update(colour="grey"),
    "a reference to nothing": lambda b: _first(b, "Procedure")["subject"].update(reference="urn:uuid:nobody"),
    "a reference to another sort of thing": lambda b: _first(b, "Procedure")["subject"].update(type="Device"),
    "a day that is none": lambda b: _first(b, "Patient").update(birthDate="1988-13-41"),
    "an answer without its question": lambda b: _first(b, "QuestionnaireResponse")["item"][0].pop("linkId"),
    "a signature by nobody": lambda b: _first(b, "Provenance").pop("agent"),
    "a use without its device": lambda b: _first(b, "DeviceUseStatement").pop("device"),
    "a fitting without a person": lambda b: _first(b, "Procedure").pop("subject"),
    "a document without content": lambda b: _first(b, "DocumentReference").pop("content"),
    "a yes as text": lambda b: _first(b, "QuestionnaireResponse")["item"][0]["item"][0].update(answer=[{"valueBoolean": "yes"}]),
    "an address that is not the resource's": lambda b: b["entry"][0].update(fullUrl="urn:uuid:else"),
    "a resource twice": lambda b: b["entry"].append(copy.deepcopy(b["entry"][0])),
    "an event that is neither actual nor potential": lambda b: _first(b, "AdverseEvent").update(actuality="perhaps"),
    "an event of nobody": lambda b: _first(b, "AdverseEvent").pop("subject"),
    "an event without saying whether it came about": lambda b: _first(b, "AdverseEvent").pop("actuality"),
    "a suspicion of nothing": lambda b: _first(b, "AdverseEvent")["suspectEntity"][0].pop("instance"),
    "an outcome that FHIR has not": lambda b: _first(b, "AdverseEvent")["outcome"]["coding"][0].update(code="closed"),
    "a day of an event in words": lambda b: _first(b, "AdverseEvent").update(date="last Tuesday"),
    "a use that ends before it begins": lambda b: _first(b, "DeviceUseStatement").update(timingPeriod={"start": "2026-05-02", "end": "2026-05-01"}),
    "a use from a day that is none": lambda b: _first(b, "DeviceUseStatement").update(timingPeriod={"start": "2026-02-30"}),
    "a use with a day where a period belongs": lambda b: _first(b, "DeviceUseStatement").update(timingPeriod="2026-05-02"),
    "a use of a device that is not in it": lambda b: _first(b, "DeviceUseStatement")["device"].update(reference="urn:uuid:another"),
    "a resource of no type": lambda b: _first(b, "Patient").update(resourceType="Person2"),
    "an id longer than FHIR takes": lambda b: _first(b, "Patient").update(id="x" * 65),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_put_into_the_export_is_found(visit, mistake):
    assert troubles(visit) == []
    bundle = copy.deepcopy(visit)
    MISTAKES[mistake](bundle)
    assert bundle != visit
    assert schema(bundle) or classes(bundle) or consistency(bundle)
