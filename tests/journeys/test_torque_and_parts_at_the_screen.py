"""At the screen: a scanned part, and a torque behind an extension or in another unit."""

from __future__ import annotations

from datetime import timedelta

import pytest

from shared_models.quantities.moments import now_here
from tests.journeys.at_work import alone, open_fitting, own, record
from tests.journeys.test_at_the_screen import hands_of

#: FDA, UDI formats by issuing agency (2017), with a later expiry.
SCANNED = "0151022222233336" "17491231" "10A213B1{gs}" "211234"
KNEE = "component/knee"


@pytest.fixture
def clinic(tmp_path):
    tablet, session = alone(tmp_path)
    yield tablet, session
    tablet.close()


@pytest.fixture
def at_knee(clinic, on_screen, finger):
    """The empty form of the knee, with its code in hand."""
    tablet, session = clinic
    fitting = open_fitting(session, "D-8101")
    stage = on_screen(tablet, session)
    stage.go_fitting(fitting, "components", KNEE)
    finger.settle()
    finger.tap("field:part_code")
    return session, fitting, stage


def typed(finger) -> dict[str, str]:
    return {key: finger.find(f"field:{key}").text for key in ("serial", "lot")}


def test_a_scanned_code_fills_in_what_it_says_and_all_of_it_is_saved(at_knee, finger):
    session, fitting, _stage = at_knee
    finger.type(SCANNED.format(gs="<GS>"))
    assert typed(finger) == {"serial": "", "lot": ""}, "half a code is no code"
    finger.key("enter")
    assert typed(finger) == {"serial": "1234", "lot": "A213B1"}
    assert "expiry 31 Dec 2049" in finger.find("code:read").text
    finger.tap("save")
    body = session.fitting(fitting).head(KNEE).body
    assert body["part_code"] == SCANNED.format(gs="<GS>")
    assert (body["serial"], body["device_identifier"], body["expires_on"]) == ("1234", "51022222233336", "2049-12-31")
    assert session.verdict(fitting).step("components").remarks[-1].slot != KNEE


def test_a_swallowed_separator_is_asked_about_and_nothing_is_filled_in_before(at_knee, finger):
    session, fitting, _stage = at_knee
    finger.type(SCANNED.format(gs=""))
    finger.key("enter")
    assert typed(finger) == {"serial": "", "lot": ""}
    choices = [cell.words for cell in finger.find_all("code:reading=")]
    assert "serial 1234, lot A213B1" in choices and len(choices) == 3
    finger.tap("save")
    assert finger.find("field:part_code").message == "Choose which reading is right, or empty this field."
    assert session.fitting(fitting).head(KNEE) is None
    finger.tap(f"code:reading={choices.index('serial 1234, lot A213B1')}")
    assert typed(finger) == {"serial": "1234", "lot": "A213B1"}
    finger.tap("save")
    assert session.fitting(fitting).head(KNEE).body["serial"] == "1234"


def test_a_wrong_check_digit_is_refused_beside_the_code_which_stays_as_typed(at_knee, finger):
    session, fitting, _stage = at_knee
    before = own(session)
    finger.type("(01)51022222233335(21)1234")
    finger.key("enter")
    field = finger.find("field:part_code")
    assert field.message_kind == "refusal" and "it should be 6" in field.message
    assert field.text == "(01)51022222233335(21)1234" and typed(finger)["serial"] == ""
    finger.tap("save")
    assert own(session) == before
    # The next scan takes the place of the refused one.
    finger.tap("field:part_code")
    finger.key("enter")
    finger.type("(01)51022222233336(21)1234")
    finger.key("enter")
    assert (field.text, field.message) == ("(01)51022222233336(21)1234", "")
    assert typed(finger)["serial"] == "1234"


def test_a_serial_typed_by_hand_is_never_overwritten_without_asking(at_knee, finger):
    session, fitting, _stage = at_knee
    finger.tap("field:serial")
    finger.type("KN-77")
    finger.tap("field:part_code")
    finger.type(SCANNED.format(gs="~"))
    finger.key("enter")
    assert typed(finger) == {"serial": "KN-77", "lot": "A213B1"}
    assert finger.find("field:serial").message_kind == "doubt"
    finger.tap("save")
    assert session.fitting(fitting).head(KNEE).body["serial"] == "KN-77"
    remarks = session.verdict(fitting).step("components").remarks
    assert [r.code for r in remarks if r.slot == KNEE] == ["serial_differs"]


def test_what_the_code_says_is_taken_when_a_person_presses_it(at_knee, finger):
    finger.tap("field:serial")
    finger.type("KN-77")
    finger.tap("field:part_code")
    finger.type(SCANNED.format(gs="~"))
    finger.key("enter")
    finger.tap("code:differs:serial:act")
    assert typed(finger)["serial"] == "1234"
    assert finger.find("field:serial").message == "" and not finger.is_there("code:differs:serial")


def test_the_second_half_of_a_code_is_scanned_behind_the_first(at_knee, finger):
    """HIBC: the primary code printed by its council, with a secondary one linked to it."""
    finger.type("+A123BJC5D6E71G")
    finger.key("enter")
    assert "device identifier A123BJC5D6E71" in finger.find("code:read").text
    finger.type("+$$52001510X3GD")
    finger.key("enter")
    assert typed(finger)["lot"] == "10X3"
    finger.type("+$$52001510X3GD")
    finger.key("enter")
    assert "first half" in finger.find("field:part_code").message
    assert typed(finger)["lot"] == "", "what an earlier code filled in goes with it"


# Torque ----------------------------------------------------------------------------


@pytest.fixture
def at_screw(clinic, on_screen, finger):
    """The empty form of the final torque of the knee's front screw: 11 N·m within 5 %."""
    tablet, session = clinic
    fitting = open_fitting(session, "D-8102")
    for place in ("socket", "upper_adapter", "knee", "tube", "foot"):
        record(session, fitting, f"component/{place}")
    stage = on_screen(tablet, session)
    stage.go_fitting(fitting, "torque", "torque_final/knee.top_front")
    finger.settle()
    return session, fitting, stage


def said(finger, kind: str = "line") -> str:
    return finger.find(f"torque:{kind}").text if finger.is_there(f"torque:{kind}") else ""


def test_the_usual_torque_asks_for_nothing_more_and_says_how_far_it_is_off(at_screw, finger):
    hands = hands_of(finger)
    assert finger.is_there("fold:1") and not finger.is_there("field:extension_mm")
    hands.fill({"reading_nm": "11.7"})
    assert "0.15 N·m too high" in said(finger, "doubt")
    hands.fill({"reading_nm": "11"})
    assert said(finger, "doubt") == "" and "at the screw" not in said(finger)


def test_an_extension_shows_what_the_wrench_should_show(at_screw, finger):
    session, fitting, _stage = at_screw
    hands = hands_of(finger)
    finger.tap("fold:1")
    hands.fill({"wrench": "W9", "wrench_calibrated_on": "2026-08-01", "extension_mm": "50"})
    finger.tap("save")
    assert finger.find("field:grip_mm").message_kind == "refusal", "without the wrench's length it can't be told"
    hands.fill({"grip_mm": "250"})
    assert "Set the wrench to 9.2 N·m for 11 N·m at the screw." in said(finger)
    assert "9.2 N·m on the wrench; at the screw asked 11 N·m" in finger.find("field:reading_nm").hint
    hands.fill({"reading_nm": "9.2"})
    assert "11.04 N·m at the screw, within the window." in said(finger)
    finger.tap("save")
    assert session.fitting(fitting).head("torque_final/knee.top_front").body["extension_mm"] == "50"


def test_a_wrench_in_inch_pounds_is_read_as_it_stands_and_remembered_by_its_name(at_screw, finger):
    session, fitting, stage = at_screw
    hands = hands_of(finger)
    finger.tap("fold:1")
    finger.tap("field:reading_unit=lbf_in")
    assert not finger.is_there("field:reading_nm")
    assert "97.4 lbf·in" in finger.find("field:reading_as_typed").hint
    hands.fill({"reading_as_typed": "97.5", "wrench": "Inch wrench", "wrench_calibrated_on": "2026-08-01", "wrench_highest": "200"})
    assert "That is 11.02 N·m, within the window." in said(finger)
    finger.tap("save")
    body = session.fitting(fitting).head("torque_final/knee.top_front").body
    assert (body["reading_as_typed"], body["reading_unit"], body["reading_nm"]) == ("97.5", "lbf_in", "11.016")
    # At the next screw the same wrench brings its unit and its marks, another name takes them away.
    stage.go_fitting(fitting, "torque", "torque_final/knee.top_back")
    finger.settle()
    assert finger.find("field:reading_as_typed").unit == "lbf·in"
    assert finger.find("field:wrench_highest").text == "200"
    finger.tap("wrench:chosen")
    finger.tap("wrench:other")
    hands.enter("wrench", "Other wrench")
    assert finger.is_there("field:reading_nm") and finger.find("field:wrench_highest").text == ""


def test_a_second_turn_after_the_compound_has_set_is_warned_of_before_it_is_saved(at_screw, finger, monkeypatch):
    session, fitting, stage = at_screw
    slot = "torque_final/knee.top_front"
    record(session, fitting, slot)
    from mobile.flows import torque_form

    monkeypatch.setattr(torque_form, "now_here", lambda: now_here() + timedelta(minutes=15))
    stage.go_fitting(fitting, "torque", slot)
    finger.settle()
    finger.tap("anew")
    assert "its compound sets in 10 min" in said(finger, "doubt")
    finger.tap("field:cleaned_and_renewed=yes")
    assert "compound" not in said(finger, "doubt")


def test_before_the_final_walk_it_is_said_until_when_the_compound_cures(at_screw, finger, monkeypatch):
    from mobile.flows import curing

    session, fitting, stage = at_screw
    record(session, fitting, "torque_final/knee.top_front")
    stage.go_fitting(fitting, "final_walk")
    finger.settle()
    assert "30 min more (Top screw, front)" in finger.find("curing").text
    monkeypatch.setattr(curing, "now_here", lambda: now_here() + timedelta(minutes=31))
    stage.go_fitting(fitting, "final_walk")
    finger.settle()
    assert not finger.is_there("curing")
