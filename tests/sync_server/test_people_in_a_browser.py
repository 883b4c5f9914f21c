"""The page of tablets and people in a real browser, with everything on it that can wait."""

from __future__ import annotations

import pytest

from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import JoinedDesk
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
