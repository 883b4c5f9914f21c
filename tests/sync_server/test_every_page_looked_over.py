"""Every page of the server, gathered by itself: nothing that keeps anybody out, nothing beyond the edge; by keys alone."""

from __future__ import annotations

import pytest

from sync_server.services.staffing import demo_lead
from tests.fitting_desk import CLINIC
from tests.sync_server.looked_over import findings_on
from tests.sync_server.test_component_sheets import KNEE, versions
from tests.sync_server.test_every_route import filled, routes_of
from tests.sync_server.test_in_a_browser import address, browser, log_in, picture, watched  # noqa: F401
from tests.sync_server.test_ways_about_the_page import gappy

pytestmark = pytest.mark.browser


def pages_of(house, lead) -> list[str]:
    """Every path that shows a page to a lead clinician, with a fitting and a sheet in it."""
    found = []
    for method, pattern in routes_of(house.app):
        if method == "GET" and not pattern.startswith("/exchange/"):
            answer = lead.client.get(filled(pattern))
            if answer.status_code == 200 and answer.headers["content-type"].startswith("text/html"):
                found.append(filled(pattern))
    return sorted(set(found))


@pytest.mark.parametrize("across", [1280, 390])
def test_the_checker_finds_nothing_on_any_page_with_its_folded_parts_open(house, tablet, address, browser, across):  # noqa: F811
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    paths = pages_of(house, house.lead())
    assert {"/fittings", "/people", "/parts", "/sheets", f"/sheets/{KNEE}", f"/sheets/{KNEE}/enter"} <= set(paths)
    page, complaints = watched(browser)
    log_in(page, address)
    page.set_viewport_size({"width": across, "height": 900})
    found = []
    for path in paths:
        page.goto(address + path)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        found += [f"{path}: {one}" for one in findings_on(page)]
    assert found == [] and complaints == []


def pressed_to(page, wanted: str) -> None:
    """Tab on until the focus is on what a selector names; fails after a whole round."""
    for _ in range(400):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", wanted):
            outline = page.evaluate(
                "(() => { const s = getComputedStyle(document.activeElement);"
                " return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) > 0 })()")
            assert outline, f"the focus on {wanted} can't be seen"
            return
    raise AssertionError(f"{wanted} is not reached by Tab")


def entered(page, link: str, path: str) -> None:
    """Follow a link by Tab and Enter, and be there."""
    pressed_to(page, link)
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{path}")


def test_a_sheet_is_refused_mended_and_published_with_keys_alone(house, tablet, address, browser):  # noqa: F811
    page, complaints = watched(browser)
    log_in(page, address)
    page.goto(f"{address}/fittings")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip", "the way past the bar comes first"
    entered(page, "a[href='/sheets']", "/sheets")
    entered(page, f"a[href='/sheets/{KNEE}']", f"/sheets/{KNEE}")
    picture(page, "sheet-one-version")
    entered(page, f"a[href='/sheets/{KNEE}/enter']", f"/sheets/{KNEE}/enter")
    pressed_to(page, "#version")
    page.keyboard.type("1.3")
    pressed_to(page, "#adjusters-1-largest_step")
    page.keyboard.press("Control+a")
    page.keyboard.type("40")
    pressed_to(page, "#password")
    page.keyboard.type(demo_lead()["password"])
    page.keyboard.press("Enter")
    page.locator("#wrong-adjusters-1-largest_step").wait_for()
    assert page.locator("#version").input_value() == "1.3" and len(versions(house)) == 1
    assert findings_on(page) == []
    picture(page, "sheet-refused")
    pressed_to(page, "#adjusters-1-largest_step")
    page.keyboard.press("Control+a")
    page.keyboard.type("2")
    pressed_to(page, "#password")
    page.keyboard.type(demo_lead()["password"])
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Versions side by side").wait_for()
    assert [v.body["version"] for v in versions(house)] == ["1.2", "1.3"]
    picture(page, "sheet-two-versions")
    page.goto(f"{address}/sheets")
    picture(page, "sheets")
    assert [c for c in complaints if "422" not in c] == []


@pytest.mark.parametrize("choice, said", [("#return", "rejected"), ("#accept", "accepted")])
def test_a_fitting_is_decided_with_keys_alone(house, tablet, address, browser, choice, said):  # noqa: F811
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    log_in(page, address)
    page.goto(f"{address}/fittings")
    entered(page, "a[href='/fittings/fitting-1']", "/fittings/fitting-1")
    if choice == "#return":
        pressed_to(page, ".decide details:first-of-type summary")
        page.keyboard.press("Enter")
        pressed_to(page, ".decide textarea")
        page.keyboard.type("Look at this once more.")
    decided(page, choice)
    with house.station.reading(CLINIC) as reading:
        assert [e.body["decision"] for e in reading.of_kinds("review_decision")] == [said]
    assert complaints == []


def decided(page, choice: str) -> None:
    """Choose with the keys, and sign with the password."""
    pressed_to(page, "#accept, #return")
    page.keyboard.press("Space")
    if not page.locator(choice).is_checked():
        page.keyboard.press("ArrowDown")
    assert page.locator(choice).is_checked()
    pressed_to(page, "#password")
    page.keyboard.type(demo_lead()["password"])
    with page.expect_navigation():
        page.keyboard.press("Enter")
