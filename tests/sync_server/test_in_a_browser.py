"""The lead clinician at a real browser: look, return with a remark, accept."""

from __future__ import annotations

import os
import shutil
import socket
import threading
from pathlib import Path

import pytest
import uvicorn

from sync_server.services.staffing import demo_lead

pytestmark = pytest.mark.browser
_CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
_ARGUMENTS = [
    "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-sandbox",
]
#: What reaches beyond the right edge; skipped: what is parked far to the left.
_WIDEST = """
[...document.querySelectorAll('body *')]
  .filter(e => Math.max(e.getBoundingClientRect().right, e.getBoundingClientRect().left + e.scrollWidth) > window.innerWidth + 1)
  .map(e => e.tagName + '.' + e.getAttribute('class') + ' ' + e.textContent.trim().slice(0, 40)).slice(0, 5)
"""
WIDTHS = {"wide": (1280, 900), "middle": (910, 1200), "narrow": (390, 844)}


@pytest.fixture
def address(house):
    """A real uvicorn on loopback over the house's application."""
    listener = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(house.app, log_level="warning", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    server.should_exit = True
    thread.join(timeout=10)


@pytest.fixture
def browser():
    if _CHROMIUM is None:
        pytest.skip("no Chromium is installed on this machine")
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=_CHROMIUM, args=_ARGUMENTS)
        yield found
        found.close()


def picture(page, name: str) -> None:
    """Save pictures at both widths where STANCEBOOK_PICTURES names a folder."""
    folder = os.environ.get("STANCEBOOK_PICTURES")
    page.wait_for_load_state()
    for width, (across, down) in WIDTHS.items():
        page.set_viewport_size({"width": across, "height": down})
        if folder:
            Path(folder).mkdir(parents=True, exist_ok=True)
            page.screenshot(path=str(Path(folder) / f"{name}-{width}.png"), full_page=True)
        beyond = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        wide = page.evaluate(_WIDEST) if beyond > 0 else []
        assert wide == [], f"{name} at {across} px: {wide} reach beyond the edge"
    page.set_viewport_size({"width": 1280, "height": 900})


def watched(browser):
    """Return a page of a browser without scripts, and the list of what it complains of."""
    context = browser.new_context(java_script_enabled=True)
    page, complaints = context.new_page(), []
    page.on("console", lambda m: complaints.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    # What the browser itself let go of, because the page went on, is no failure.
    page.on("requestfailed", lambda r: complaints.append(r.url) if r.failure != "net::ERR_ABORTED" else None)
    return page, complaints


def log_in(page, address: str) -> None:
    page.goto(address)
    page.get_by_label("Login").fill(demo_lead()["login"])
    page.get_by_label("Password").fill(demo_lead()["password"])
    page.get_by_role("button", name="Log in").click()


def open_fitting(page) -> None:
    page.get_by_role("link", name="Ash Example").first.click()
    page.get_by_role("heading", name="Ash Example").wait_for()


def remark(page, step: str, text: str) -> None:
    page.locator("summary", has_text=step).first.click()
    page.get_by_label(f"What is to be mended: {step}").fill(text)


def sign(page, choice: str) -> None:
    page.get_by_label(choice).check()
    page.get_by_label("Your password again").fill(demo_lead()["password"])
    page.get_by_role("button", name="Sign and send").click()


def test_the_lead_returns_a_fitting_with_a_remark_and_then_accepts_it(
    house, tablet, address, browser
):
    busy_course(tablet.desk)
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    page.goto(address)
    picture(page, "log-in")
    log_in(page, address)
    page.get_by_role("heading", name="Morning list").wait_for()
    picture(page, "list")
    open_fitting(page)
    picture(page, "fitting-waiting")

    remark(page, "Swing flexion", "Heel rise at the faster pace is not said. Please add a trial.")
    picture(page, "fitting-remark-typed")
    sign(page, "Return it with the remarks above")
    page.get_by_text("Returned with remarks").first.wait_for()
    picture(page, "fitting-returned")

    tablet.take_all()
    tablet.desk.walk("swing_flexion", note="also at the faster pace")
    tablet.desk.walk("swing_extension")
    tablet.desk.recheck()
    tablet.desk.request_review()
    assert tablet.push().status_code == 200
    page.reload()
    sign(page, "Accept the fitting")
    page.get_by_text("This fitting is decided").wait_for()
    picture(page, "fitting-accepted")
    tablet.take_all()

    assert tablet.desk.verdict().review == "accepted"
    assert complaints == []


def test_a_fitting_with_gaps_says_each_gap_and_cannot_be_accepted(
    house, tablet, address, browser
):
    busy_course(tablet.desk)
    desk = tablet.desk
    desk.turn("swing_flexion", "10")
    desk.note("screw_moved", {"screw": "foot.front", "what": "slackened", "why": "foot turned out"})
    other = desk.beside("tablet-b")
    desk.stand("37")
    other.stand("41")
    second = house.tablet(other)
    assert tablet.push().status_code == 200
    assert second.push().status_code == 200
    page, complaints = watched(browser)
    log_in(page, address)
    page.get_by_role("heading", name="Morning list").wait_for()
    picture(page, "list-gaps")
    open_fitting(page)
    picture(page, "fitting-gaps")

    assert page.get_by_label("Accept the fitting").is_disabled()
    assert page.locator(".gaps li").count() >= 5
    assert complaints == []


def test_the_reviewer_reads_what_a_finding_may_mean_and_at_which_pace_it_was_found(
    house, tablet, address, browser,
):
    desk = tablet.desk
    desk.walk("swing_flexion", "change", findings=[
        {"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen", "pace": "fast"},
        {"finding": "heel_rise_too_low", "grade": "slight", "perceived": "felt", "pace": "slow"},
    ])
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    log_in(page, address)
    open_fitting(page)
    assert page.locator(".course").get_by_text("shank comes back late: marked, seen, fast pace").first.is_visible()
    assert not page.get_by_text("Nothing here is certain").is_visible()

    page.get_by_text("Why? What else it could be").click()
    picture(page, "fitting-why")

    assert page.get_by_text("Nothing here is certain").is_visible()
    assert page.get_by_text("the resistance may fit one cadence only").is_visible()
    assert complaints == []


def busy_course(desk) -> None:
    """A course with findings, a stop, a correction and a withdrawal, closed again."""
    finding = {"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen"}
    desk.walk("swing_flexion", "change", findings=[finding])
    desk.turn("swing_flexion", "9")
    desk.walk("swing_flexion", "stopped", stop_reason="pain", pain_0_10="4",
              findings=[finding, {"finding": "trunk_leans", "grade": "slight", "perceived": "felt"}])
    stopped = desk.head("trial/swing_flexion")
    desk.note("stop_answered", {"stopped": stopped.digest, "restored": True})
    desk.turn("swing_flexion", "8", "restored")
    desk.walk("swing_flexion")
    desk.walk("swing_extension")
    desk.recheck()
    desk.correct(desk.head("alignment/static"), height_difference_mm="-3")
    desk.caps()
    desk.walk("final_walk")
    desk.request_review()


def test_on_the_day_of_a_recall_the_lead_finds_who_carries_the_part_and_saves_the_call_list(
    house, tablet, address, browser
):
    desk = tablet.desk
    desk.correct(desk.head("component/foot"), serial="F-1", lot="L-77")
    desk.note("component", {**desk.head("component/foot").body, "serial": "F-2", "lot": "L-77"})
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    log_in(page, address)
    page.get_by_role("link", name="Find by part").click()
    picture(page, "parts-empty")
    page.get_by_label("Part").fill("L-77")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Carries it now").wait_for()
    picture(page, "parts-found")
    with page.expect_download() as coming:
        page.get_by_role("link", name="call list").click()
    lines = Path(coming.value.path()).read_text("utf-8-sig").splitlines()
    assert [line.split(",")[0] for line in lines] == ["Carries", "carries it now", "carried it before"]
    page.get_by_role("link", name="Ash Example").first.click()
    page.get_by_role("heading", name="Ash Example").wait_for()
    picture(page, "fitting-take-away")
    with page.expect_download() as coming:
        page.get_by_role("link", name="record of the fitting").click()
    assert Path(coming.value.path()).read_bytes().startswith(b"%PDF")
    page.get_by_role("link", name="Find by part").click()
    page.get_by_label("Part").fill("nobody's")
    page.keyboard.press("Enter")
    page.get_by_text("Nobody of this clinic").wait_for()
    assert complaints == []
