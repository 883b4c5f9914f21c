"""A lead clinician's whole morning on the review page, in a real browser, with a tablet that answers."""

from __future__ import annotations

from pathlib import Path

import pytest

from shared_models.language import language_of
from sync_server.services.staffing import demo_lead
from tests.sync_server.looked_over import findings_on
from tests.sync_server.test_component_sheets import KNEE, versions
from tests.sync_server.test_in_a_browser import (
    address,  # noqa: F401
    browser,  # noqa: F401
    busy_course,
    log_in,
    open_fitting,
    picture,
    remark,
    sign,
    watched,
)

pytestmark = pytest.mark.browser


def seen(page, name: str) -> None:
    """Look the page over: the independent checker finds nothing, nothing lies beyond the edge; keep a picture."""
    assert findings_on(page) == [], name
    beyond = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert beyond <= 0, f"{name} is {beyond} px wider than the screen"
    size = page.viewport_size
    picture(page, f"morning-{size['width']}-{name}")
    page.set_viewport_size(size)


@pytest.mark.parametrize("across", [1280, 390])
def test_a_lead_clinician_gets_through_a_whole_morning(house, tablet, address, browser, across):  # noqa: F811
    desk = tablet.desk
    desk.correct(desk.head("component/foot"), serial="F-1", lot="L-77")
    busy_course(desk)
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    page.set_viewport_size({"width": across, "height": 900})

    log_in(page, address)
    page.get_by_role("heading", name="Morning list").wait_for()
    assert page.get_by_role("link", name="Ash Example").first.is_visible()
    seen(page, "list")
    page.get_by_label("Person, file number").fill("nobody of this name")
    page.get_by_role("button", name="Find").click()
    page.get_by_text("No fitting matches.").wait_for()
    page.go_back()

    open_fitting(page)
    assert page.locator("#course").is_visible() and page.locator(".course svg.scene, .charts svg.scene").count() >= 4
    seen(page, "fitting")
    remark(page, "Swing flexion", "Heel rise at the faster pace is not said. Please add a trial.")
    sign(page, "Return it with the remarks above")
    page.get_by_text("Returned with remarks").first.wait_for()
    seen(page, "returned")

    tablet.take_all()
    assert desk.verdict().review_remarks == (("swing_flexion", "Heel rise at the faster pace is not said. Please add a trial."),)
    desk.walk("swing_flexion", note="also at the faster pace")
    desk.walk("swing_extension")
    desk.recheck()
    desk.request_review()
    assert tablet.push().status_code == 200

    page.goto(f"{address}/fittings")
    page.get_by_role("heading", name="Waiting for review").wait_for()
    open_fitting(page)
    sign(page, "Accept the fitting")
    page.get_by_text("This fitting is decided").wait_for()
    seen(page, "accepted")
    tablet.take_all()
    assert desk.verdict().review == "accepted"

    page.goto(f"{address}/parts")
    page.get_by_label("Part").fill("L-77")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Carries it now").wait_for()
    seen(page, "recall")
    with page.expect_download() as coming:
        page.get_by_role("link", name="call list").click()
    assert "L-77" in Path(coming.value.path()).read_text("utf-8-sig")

    page.goto(f"{address}/sheets/{KNEE}/enter")
    page.locator("#version").fill("1.9")
    page.locator("#adjusters-1-largest_step").fill("2")
    page.locator("#password").fill(demo_lead()["password"])
    seen(page, "sheet-form")
    page.get_by_role("button", name="Sign and publish").click()
    page.get_by_role("heading", name="Versions side by side").wait_for()
    seen(page, "sheet")
    assert [v.body["version"] for v in versions(house)][-1] == "1.9"
    tablet.take_all()
    assert any(v.body["version"] == "1.9" for v in desk.record.entries.values() if v.kind == "component_sheet")
    assert complaints == []


@pytest.mark.parametrize("across", [1280, 390])
def test_the_page_speaks_german_once_that_is_chosen_and_nothing_runs_over_its_edge(house, tablet, address, browser, across):  # noqa: F811
    busy_course(tablet.desk)
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    page.set_viewport_size({"width": across, "height": 900})
    log_in(page, address)
    page.get_by_role("link", name=language_of("de").own_name).first.click()
    page.get_by_role("heading", name="Morgenliste").wait_for()
    assert page.locator("html").get_attribute("lang") == "de"
    seen(page, "list-de")
    page.get_by_role("link", name="Ash Example").first.click()
    page.get_by_role("heading", name="Was fehlt").wait_for()
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
    seen(page, "fitting-de")
    assert complaints == []
