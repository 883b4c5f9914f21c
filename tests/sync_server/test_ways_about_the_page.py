"""The page of a fitting leads on: each gap to its place, each signature to what it stands over; by keyboard and on paper."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from shared_models.wording.course_lines import anchor_of
from tests.sync_server.test_in_a_browser import address, browser, busy_course, log_in, watched  # noqa: F401
from tests.sync_server.looked_over import findings_on
from tests.sync_server.test_timings_on_the_page import contacts, timing, words_of


def links_within(answer) -> list[str]:
    return re.findall(r'href="#([^"]+)"', answer.text)


def gaps(answer) -> dict[str, str]:
    """Each sentence of what is missing, with the name of its place."""
    found = re.findall(r'<li class="[^"]*"><a href="#([^"]+)">(.*?)</a></li>', answer.text, re.S)
    return {sentence: place for place, sentence in found}


def gappy(desk) -> None:
    """A fitting with a gap of every sort: nothing recorded, outside, stale, disputed, a stop."""
    busy_course(desk)
    desk.note("screw_moved", {"screw": "foot.front", "what": "slackened", "why": "foot turned out"})
    desk.final_torque(desk.view.screws()[0].key, "20")
    desk.turn("swing_flexion", "12")
    desk.withdraw(desk.head(f"cap/{desk.view.caps()[0].key}"))
    walk = desk.walk("final_walk")
    desk.note("walk_timing", timing(walk, "one", contacts(24, 0.1)))


def test_every_link_within_the_page_has_a_place_and_no_place_two_names(house, tablet):
    gappy(tablet.desk)
    other = tablet.desk.beside("tablet-b")
    tablet.desk.stand("37")
    other.stand("41")
    second = house.tablet(other)
    assert tablet.push().status_code == 200 and second.push().status_code == 200
    page = house.lead().open()
    names = Counter(re.findall(r'\sid="([^"]+)"', page.text))
    assert [name for name, count in names.items() if count > 1] == []
    assert [link for link in links_within(page) if link not in names] == []
    assert len(gaps(page)) >= 5


def test_a_gap_leads_beside_its_figures(house, tablet):
    desk = tablet.desk
    gappy(desk)
    assert tablet.push().status_code == 200
    page = house.lead().open()
    places = gaps(page)
    screw, cap = desk.view.screws()[0], desk.view.caps()[0]
    outside = next(p for s, p in places.items() if screw.screw.name in s and "20" in s)
    assert outside == "in-" + anchor_of(f"torque_final/{screw.key}")
    missing = next(p for s, p in places.items() if cap.cap.name in s)
    assert missing == "in-" + anchor_of(f"cap/{cap.key}")
    row = re.search(rf'<tr id="{outside}">.*?</tr>', page.text, re.S)[0]
    assert "20 N·m" in row and "outside" in row
    assert any(p.startswith("entry-") for p in places.values()), "a trial leads to its line of the course"


def test_the_verdict_says_how_much_is_missing(house, tablet):
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    said = words_of(house.lead().open())
    count = re.search(r"(\d+) things are missing : each is a sentence below", said)
    assert count and f"What is missing {count[1]} " in said


def test_a_signature_says_over_which_entries_it_stands_with_the_way_to_each(house, tablet):
    desk = tablet.desk
    assert tablet.push().status_code == 200
    page = house.lead().open()
    entry = desk.head("sign_off")
    row, listed = re.search(r"Technician&#39;s sign-off, .*?</tr>", page.text, re.S)[0], re.search(r'id="covers-1">.*?</details>', page.text, re.S)[0]
    assert f"and {len(entry.rests_on)} entries beneath it" in row
    for digest in entry.rests_on:
        assert f'<a href="#e-{digest[:16]}">' in listed and f'id="e-{digest[:16]}"' in page.text
    assert "Final torque, " in listed


def test_a_torque_says_whether_its_wrench_was_in_calibration(house, tablet):
    desk = tablet.desk
    first, second = desk.view.screws()[:2]
    desk.final_torque(second.key, str(second.screw.final_nm), wrench_calibrated_on="2020-01-01")
    assert tablet.push().status_code == 200
    page = house.lead().open()
    rows = {s.key: re.search(rf'<tr id="in-{anchor_of(f"torque_final/{s.key}")}">.*?</tr>', page.text, re.S)[0] for s in (first, second)}
    assert "in date" in rows[first.key] and "out of date" in rows[second.key] and "1 Jan 2020" in rows[second.key]


@pytest.mark.browser
def test_the_page_is_walked_by_keyboard_from_the_skip_link_to_the_open_table(house, tablet, address, browser):  # noqa: F811
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    log_in(page, address)
    page.goto(f"{address}/fittings/fitting-1")
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="To the content")
    assert skip.evaluate("e => e === document.activeElement") and skip.bounding_box()["x"] >= 0
    assert skip.evaluate("e => getComputedStyle(e).outlineWidth") == "3px"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")

    table = page.locator("summary", has_text="The same as a table").first
    table.focus()
    page.keyboard.press("Enter")
    assert page.get_by_role("table", name="Stance threshold, position over its trials (clicks)").is_visible()
    assert complaints == []


@pytest.mark.browser
def test_on_paper_everything_folded_stands_open_and_nothing_to_press_is_left(house, tablet, address, browser):  # noqa: F811
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    log_in(page, address)
    page.goto(f"{address}/fittings/fitting-1")
    table = page.get_by_role("table", name="Stance threshold, position over its trials (clicks)")
    assert not table.is_visible()
    page.emulate_media(media="print")
    assert table.is_visible()
    assert page.locator("#covers-1 li").first.is_visible()
    for gone in (".bar", ".places", ".decide", ".take"):
        assert not page.locator(gone).first.is_visible()
    drawing = page.locator(".scene").first.bounding_box()
    assert drawing["width"] > 100 and drawing["height"] > 50
    assert page.pdf(format="A4").startswith(b"%PDF")
    assert complaints == []


@pytest.mark.browser
@pytest.mark.parametrize("across", [1280, 390])
def test_an_independent_checker_finds_nothing_that_keeps_anybody_out(house, tablet, address, browser, across):  # noqa: F811
    gappy(tablet.desk)
    assert tablet.push().status_code == 200
    page, _ = watched(browser)
    log_in(page, address)
    page.set_viewport_size({"width": across, "height": 900})
    page.goto(f"{address}/fittings/fitting-1")
    assert findings_on(page) == []
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
    assert findings_on(page) == []


@pytest.mark.browser
def test_the_checker_would_find_a_picture_without_words(house, tablet, address, browser):  # noqa: F811
    page, _ = watched(browser)
    page.goto(f"{address}/log-in")
    page.evaluate("document.querySelector('main').append(document.createElement('img'))")
    assert any("alternative text" in found for found in findings_on(page))
