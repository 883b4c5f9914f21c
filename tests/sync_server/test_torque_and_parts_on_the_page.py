"""The reviewer reads what the wrench showed, what that is at the screw, and which part it is."""

from __future__ import annotations

from datetime import timedelta

from shared_models.quantities.moments import now_here
from shared_models.wording.reading_lines import torques_of
from tests.fitting_desk import Desk


def tighten(desk: Desk, **more) -> None:
    calibrated = (now_here().date() - timedelta(days=90)).isoformat()
    desk.note("torque_final", {
        "screw": "knee.top_front", "locking_method": "compound", "wrench": "W1",
        "wrench_calibrated_on": calibrated, **more,
    })


def line_of(desk: Desk):
    return next(line for line in torques_of(desk.view, "final") if line.screw == "Top screw, front")


def test_a_reading_in_another_unit_behind_an_extension_is_shown_as_it_was_and_as_it_counts():
    """97.5 lbf·in is 11.016 N·m; times 300/250 is 13.22 N·m, and the sheet takes 11."""
    desk = Desk.finished()
    tighten(desk, reading_nm="11.016", reading_as_typed="97.5", reading_unit="lbf_in", extension_mm="50", grip_mm="250")
    line = line_of(desk)
    assert line.reading == "97.5 lbf·in = 11.02 N·m; at the screw 13.22 N·m"
    assert line.outside


def test_the_usual_reading_stands_as_it_was_typed():
    desk = Desk.finished()
    tighten(desk, reading_nm="11.0")
    assert (line_of(desk).reading, line_of(desk).outside) == ("11.0 N·m", False)


def test_the_device_identifier_stands_beside_serial_and_lot(house, tablet):
    desk = tablet.desk
    desk.note("component", {**desk.head("component/knee").body, "device_identifier": "51022222233336", "serial": "1234"})
    assert tablet.push().status_code == 200
    page = house.lead().open().text
    assert 'data-label="Device identifier">51022222233336<' in page and ">Device identifier</th>" in page
