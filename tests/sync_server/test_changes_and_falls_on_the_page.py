"""The review page says what the tablet says of two changes before one walk, and of a fall that is no event yet."""

from __future__ import annotations

import html
import re


def _opened(house, tablet) -> str:
    assert tablet.push().status_code == 200
    page = house.lead().open()
    assert page.status_code == 200
    return html.unescape(page.text)


def test_why_two_things_were_changed_before_one_walk_stands_among_the_steps_and_in_the_course(house, tablet):
    desk, why = tablet.desk, "the person can't come again this week"
    desk.turn("swing_flexion", "9")
    desk.note("footwear", {"shoe_heel_height_mm": "10", "shoe": "boot", "besides_because": why})
    text = _opened(house, tablet)
    assert f"Footwear: changed before the same walk as swing flexion, because: {why}" in text
    course = text.partition('id="course"')[2].partition("</section>")[0]
    assert f"A second change before the next walk, because: {why}" in course
    names = re.findall(r'\bid="([^"]+)"', text)
    assert len(names) == len(set(names)), "every place on the page has a name of its own"
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(names), "every way on the page leads somewhere"


def test_a_fall_that_is_no_event_stands_on_the_page_until_it_is_recorded(house, tablet):
    desk = tablet.desk
    stop = desk.walk("swing_flexion", "stopped", stop_reason="fall")
    desk.note("stop_answered", {"stopped": stop.digest, "restored": True})
    desk.walk("swing_flexion")
    assert "the fall is not recorded as an event" in _opened(house, tablet)
    desk.event()
    assert "the fall is not recorded as an event" not in _opened(house, tablet)
