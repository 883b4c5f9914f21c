"""A later visit as the lead clinician reads it in a real browser, at both widths."""

from __future__ import annotations

import pytest

from tests.sync_server.looked_over import findings_on
from tests.sync_server.test_in_a_browser import address, browser, log_in, picture, watched  # noqa: F401


@pytest.mark.browser
def test_a_later_visit_reads_well_on_a_desk_and_on_a_phone(house, tablet, address, browser):  # noqa: F811
    desk = tablet.desk
    desk.event(injury="care", knee_involved="perhaps")
    desk.event("e2", what="near_fall", during="stairs")
    desk.visit().asked(falls="1").compared()
    desk.found(swing_flexion="10")
    desk.turn("swing_flexion", "8")
    desk.walk("swing_flexion")
    sheet = next(e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "foot")
    desk.note("part_out", {"place": "foot", "serial": "none marked", "reason": "worn", "condition": "worn", "goes_to": "maker"})
    desk.component("foot", sheet, "F-200")
    desk.follow_up("e2", what="talked through stairs")
    desk.ready_again()
    desk.leave()
    desk.correct(desk.head("outcome"), timed_up_and_go_s="14.0")
    assert tablet.push().status_code == 200

    page, complaints = watched(browser)
    log_in(page, address)
    page.goto(f"{address}/fittings/visit-1")
    page.get_by_text("Later visit, after the one of").wait_for()
    picture(page, "later-visit")
    assert findings_on(page) == []
    page.set_viewport_size({"width": 390, "height": 844})
    assert findings_on(page) == []
    said = page.inner_text("main")
    # What nobody touched is no gap; what belongs to the new foot is.
    assert said.count("not touched at this visit; last") == 5
    assert "Timed up and go, band: ± 3.6 s" in said and "Resnik L, Borgia M." in said
    assert "talked through stairs" in said and "Interim torque" not in said
    assert complaints == []
