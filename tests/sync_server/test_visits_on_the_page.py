"""A later visit on the review page and on paper: what drifted, what was exchanged, what is still open."""

from __future__ import annotations

import html
import re

from shared_models.checks.verdict import judge
from shared_models.exports.fhir_bundle import fitting_bundle
from shared_models.papers.fitting_record import fitting_record
from shared_models.quantities.moments import now_here
from shared_models.wording.visit_lines import visit_tables


def visited(desk) -> None:
    desk.event(injury="care", knee_involved="perhaps")
    desk.visit().asked(falls="1")
    desk.compared()
    desk.found(swing_flexion="10")
    sheet = next(e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "foot")
    desk.note("part_out", {"place": "foot", "serial": "none marked", "reason": "worn", "condition": "worn", "goes_to": "maker"})
    desk.component("foot", sheet, "F-200")


def text_of(page) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", page.text)))


def test_the_page_of_a_visit_says_what_drifted_what_was_exchanged_and_what_is_open(house, tablet):
    visited(tablet.desk)
    tablet.push()
    client = house.lead()
    said = text_of(client.open("visit-1"))
    assert "Later visit, after the one of" in said
    assert "Flexion valve 8 marks 10 marks 2 marks (drifted" in said
    assert "F-200" in said and "why: worn; its state: worn, no damage; where it went: to the maker" in said
    assert "Suggested: the knee is not worn until somebody has looked at it" in said
    # The fitting before shows the event too, and leads to the visit.
    first = client.open("fitting-1")
    assert 'href="/fittings/visit-1"' in first.text and "Falls, pain and faults" in text_of(first)


def test_a_screw_of_a_new_foot_is_marked_neither_as_held_nor_as_drifted(tablet):
    desk = tablet.desk
    visited(desk)
    drift = next(t for t in visit_tables(desk.view, (), now_here().date()) if t.key == "drift")
    marks = {row[0]: mark for row, mark in zip(drift.rows, drift.marks)}
    assert marks["Foot screw, front"] == "not applicable"
    assert marks["Flexion valve"] == "stale" and marks["Top screw, front"] == "met"


def test_the_paper_of_a_visit_holds_the_same_tables_and_the_export_still_goes_out(tablet):
    desk = tablet.desk
    visited(desk)
    record = fitting_record(desk.view, judge(desk.view, now_here().date()))
    headings = {t.heading for t in record.tables}
    assert {"Found now, and left last time", "Falls, pain and faults", "Service", "Parts carried, from when to when"} <= headings
    bundle = fitting_bundle(desk.view, judge(desk.view, now_here().date()))
    devices = [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Device"]
    assert sorted(d["status"] for d in devices) == ["active"] * 5 + ["inactive"] and "F-200" in str(devices)
