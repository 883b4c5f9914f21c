"""The page of tablets and people in a real browser, with everything on it that can wait."""

from __future__ import annotations

import io
import os
import re
import sys
from pathlib import Path

import pytest
from PIL import Image

from sync_server.services.staffing import demo_lead
from tests.fitting_desk import CLINIC, TECHNICIAN
from tests.sync_server.conftest import JoinedDesk, hidden
from tests.sync_server.looked_over import findings_on
from tests.sync_server.test_every_page_looked_over import pressed_to
from tests.sync_server.test_in_a_browser import address, browser, log_in, picture, watched  # noqa: F401

pytestmark = pytest.mark.browser


def test_the_lead_takes_in_what_was_held_back_at_every_width(house, tablet, address, browser):  # noqa: F811
    own = tablet.own()
    tablet.push(own[:20])
    other = house.tablet(JoinedDesk("tablet-without-a-name"), enrolled=False)
    other.enrol(house.server.gate.new_code(CLINIC))
    other.take_all()
    other.desk.staff()
    other.push()
    house.server.gate.revoke(tablet.name, "left in a taxi at the harbour")
    tablet.push(own[20:])
    page, complaints = watched(browser)
    log_in(page, address)
    picture(page, "fittings-with-waiting")
    page.click("text=under Tablets and people")
    picture(page, "people")
    page.fill("#reason-1", "I know this work")
    page.get_by_role("button", name="Take in").click()
    page.wait_for_load_state()
    assert page.get_by_role("heading", name="Held back").count() == 0
    assert len(house.station.entries.chain(CLINIC, tablet.name)) == len(own)
    assert complaints == []


def read_off(picture_bytes: bytes) -> list[str]:
    """What another program than the one that drew them (ZXing-C++) reads off a picture's squares."""
    import zxingcpp  # of the extra `tests`; everything else in this file runs without it

    found = zxingcpp.read_barcodes(Image.open(io.BytesIO(picture_bytes)))
    return [one.text for one in found if one.format == zxingcpp.BarcodeFormat.QRCode]


@pytest.mark.parametrize("across", [1280, 390])
def test_a_scanner_reads_the_one_time_code_off_the_screen_and_off_the_paper(house, tablet, address, browser, across):  # noqa: F811
    page, complaints = watched(browser)
    log_in(page, address)
    page.set_viewport_size({"width": across, "height": 844})
    page.goto(f"{address}/people")
    page.locator("form[action='/people/code'] button").click()
    once = page.locator(".shown-once")
    code = re.search(r"shown once:\s+([A-Z2-9-]{19})", once.inner_text())[1]
    assert read_off(page.screenshot()) == [code], "in sight at once, without scrolling"
    assert page.get_by_role("img", name=code).count() == 1, "and in words for who can't see it"
    assert findings_on(page) == [] and complaints == []
    picture(page, "people-code")
    page.emulate_media(media="print")
    paper = page.screenshot(full_page=True)
    if folder := os.environ.get("STANCEBOOK_PICTURES"):
        (Path(folder) / "people-code-paper.png").write_bytes(paper)
    assert read_off(paper) == [code]
    shown = page.locator("main").inner_text()
    assert code in shown and "No longer works here" not in shown, "nothing else of the clinic is on that paper"
    joining = house.tablet(JoinedDesk("tablet-scanned"), enrolled=False)
    assert joining.enrol(read_off(paper)[0]).status_code == 200


@pytest.mark.parametrize("dark", ["light", "dark"])
def test_the_square_stays_black_on_white_where_colours_are_forced(house, tablet, address, browser, dark):  # noqa: F811
    page, _ = watched(browser)
    log_in(page, address)
    page.goto(f"{address}/people")
    page.emulate_media(forced_colors="active", color_scheme=dark)
    page.locator("form[action='/people/code'] button").click()
    assert len(read_off(page.locator(".scanned").screenshot())) == 1


def test_without_the_drawing_library_the_letters_stand_alone(house, tablet, monkeypatch):
    monkeypatch.setitem(sys.modules, "segno", None)
    lead = house.lead()
    answer = lead.client.post("/people/code", data={"csrf": hidden(lead.client.get("/people"), "csrf")})
    assert answer.status_code == 200 and "shown once: " in answer.text and 'class="scanned"' not in answer.text


def test_on_paper_stands_nothing_to_press_or_fill_in_but_every_key_that_waits(house, tablet, address, browser):  # noqa: F811
    other = house.tablet(JoinedDesk("tablet-without-a-name"), enrolled=False)
    other.enrol(house.server.gate.new_code(CLINIC))
    other.take_all()
    other.desk.staff()
    other.push()
    page, _ = watched(browser)
    log_in(page, address)
    page.goto(f"{address}/people")
    assert page.locator("main button:visible, main input:visible").count() > 0
    marks = page.locator("form[action='/people/vouch'] .figure").all_inner_texts()
    page.emulate_media(media="print")
    assert page.locator("button:visible, input:visible, select:visible").count() == 0
    shown = page.locator("main").inner_text()
    assert marks and all(mark in shown for mark in marks)
    assert "A new tablet" not in shown and other.name in shown
    for path in ("/fittings", "/parts?search=Elm+demo+foot+(invented)", "/sheets"):
        page.goto(address + path)
        assert page.locator("button:visible, input:visible").count() == 0, path


def test_roles_are_refused_mended_and_changed_with_keys_alone(house, tablet, address, browser):  # noqa: F811
    page, complaints = watched(browser)
    log_in(page, address)
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"{address}/people")
    form = f"details:has(form[action='/people/roles'] input[value='{TECHNICIAN}'])"
    pressed_to(page, f"{form} summary")
    page.keyboard.press("Enter")
    pressed_to(page, f"{form} input[name='role-technician']")
    page.keyboard.press("Space")
    pressed_to(page, f"{form} input[name='reason']")
    page.keyboard.type("moves to the bench")
    pressed_to(page, f"{form} input[name='password']")
    page.keyboard.type("not the password, no")
    page.keyboard.press("Enter")
    page.get_by_role("alert").wait_for()
    assert page.locator(f"{form}[open] fieldset .doubt-note").is_visible(), "no role is ticked: said beside the roles"
    assert findings_on(page) == []
    picture(page, "people-roles-refused")
    pressed_to(page, f"{form} input[name='role-prosthetist']")
    page.keyboard.press("Space")
    pressed_to(page, f"{form} input[name='password']")
    page.keyboard.type(demo_lead()["password"])
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.get_by_text("moves to the bench").wait_for()
    assert findings_on(page) == []
    picture(page, "people-roles-changed")
    with house.station.reading(CLINIC) as reading:
        assert reading.staff_record().staff_body(TECHNICIAN)["roles"] == ["prosthetist"]
    assert [c for c in complaints if "422" not in c] == []
