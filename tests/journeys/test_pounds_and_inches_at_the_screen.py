"""At the screen: figures in pounds, inches and inch-pounds, by the keypad's unit key and by the tablet's look."""

from __future__ import annotations

import pytest

from shared_models.checks.as_typed import AS_TYPED
from mobile.keeping.look import kept_look
from tests.journeys.at_work import alone, open_fitting, record
from tests.journeys.test_at_the_screen import hands_of


@pytest.fixture
def clinic(tmp_path):
    tablet, session = alone(tmp_path)
    yield tablet, session
    tablet.close()


@pytest.fixture
def metric_again():
    from mobile.widgets.theme import theme

    yield theme
    theme.pounds_first = False


@pytest.fixture
def at_body(clinic, on_screen, finger, metric_again):
    """The empty form of the masses, with the mass in hand."""
    tablet, session = clinic
    fitting = open_fitting(session, "D-8301")
    stage = on_screen(tablet, session)
    stage.go_fitting(fitting, "person", "body")
    finger.settle()
    finger.tap("field:body_mass_kg")
    return session, fitting, stage


def keys(finger, text: str) -> None:
    for key in text:
        finger.tap("key:point" if key == "." else f"key:{key}")


def test_one_key_changes_to_pounds_and_the_record_holds_both(at_body, finger):
    session, fitting, stage = at_body
    field = finger.find("field:body_mass_kg")
    assert field.unit == "kg" and "20 to 250 kg" in field.hint
    finger.tap("key:unit")
    assert field.unit == "lb" and "lb" in field.hint and "kg" not in field.hint
    keys(finger, "180")
    finger.tap("field:carried_load_kg")
    keys(finger, "6")
    # What was typed is a draft at once, with its unit.
    stage.go_fitting(fitting, "person", "body")
    finger.settle()
    field = finger.find("field:body_mass_kg")
    assert (field.text, field.unit) == ("180", "lb")
    finger.tap("save")
    assert session.fitting(fitting).head("body").body == {
        "body_mass_kg": "81.6", "carried_load_kg": "6", AS_TYPED: {"body_mass_kg": "180 lb"},
    }
    stage.go_fitting(fitting, "person", "body")
    finger.settle()
    assert finger.sees("81.6 kg (typed as 180 lb)")


def test_the_unit_key_changes_what_the_digits_say_and_a_limit_is_told_in_that_unit(at_body, finger):
    session, fitting, _stage = at_body
    keys(finger, "400")
    field = finger.find("field:body_mass_kg")
    assert "above what is possible" in field.message
    finger.tap("key:unit")
    assert (field.text, field.unit, field.message_kind) == ("400", "lb", "doubt") and "lb is usual" in field.message
    keys(finger, "0")
    assert "4000 lb is above what is possible" in field.message and "551.1 lb" in field.message


def test_a_tablet_that_shows_pounds_first_offers_them_and_keeps_that(at_body, finger, metric_again):
    session, fitting, stage = at_body
    keys(finger, "82")
    finger.tap("header:look")
    finger.tap("look_units=pounds")
    finger.tap("look:confirm")
    assert kept_look(stage.folder).pounds_first
    assert finger.find("field:body_mass_kg").unit == "kg", "what is typed keeps its unit"
    assert finger.find("field:carried_load_kg").unit == "lb"
    stage.go_fitting(fitting, "person", "footwear")
    finger.settle()
    assert finger.find("field:shoe_heel_height_mm").unit == "in"


def test_the_unit_key_on_a_torque_says_what_the_wrench_shows(clinic, on_screen, finger, metric_again):
    tablet, session = clinic
    fitting = open_fitting(session, "D-8302")
    for place in ("socket", "upper_adapter", "knee", "tube", "foot"):
        record(session, fitting, f"component/{place}")
    stage = on_screen(tablet, session)
    stage.go_fitting(fitting, "torque", "torque_final/knee.top_front")
    finger.settle()
    finger.tap("field:reading_nm")
    finger.tap("key:unit")
    assert not finger.is_there("field:reading_nm") and finger.find("field:reading_as_typed").unit == "lbf·in"
    keys(finger, "97.5")
    hands_of(finger).fill({"wrench": "Inch wrench", "wrench_calibrated_on": "2026-08-01"})
    finger.tap("save")
    body = session.fitting(fitting).head("torque_final/knee.top_front").body
    assert (body["reading_as_typed"], body["reading_unit"], body["reading_nm"]) == ("97.5", "lbf_in", "11.016")


def test_where_pounds_come_first_a_torque_begins_in_inch_pounds(clinic, on_screen, finger, metric_again):
    tablet, session = clinic
    fitting = open_fitting(session, "D-8303")
    for place in ("socket", "upper_adapter", "knee", "tube", "foot"):
        record(session, fitting, f"component/{place}")
    metric_again.pounds_first = True
    stage = on_screen(tablet, session)
    metric_again.pounds_first = True
    stage.go_fitting(fitting, "torque", "torque_final/knee.top_front")
    finger.settle()
    assert finger.find("field:reading_as_typed").unit == "lbf·in"
