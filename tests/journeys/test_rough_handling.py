"""A day with a tablet that is turned, mashed, pressed twice and spelt at."""

from __future__ import annotations

import random
from datetime import datetime, timedelta, timezone

import pytest

from shared_models.entries.envelope import Subject
from shared_models.ledger.key_slots import MOST_WRONG_TRIES
from mobile.rehearsal import person
from tests.journeys.at_work import PINS, PROSTHETIST, alone, must_be_sound, open_fitting, own
from tests.journeys.ways import LANDSCAPE, PORTRAIT

NAMES = {
    "Arabic": ("مثال", "مخترع"),
    "Thai": ("ตัวอย่าง", "สมมติ"),
    "Hebrew": ("דוגמה", "בדויה"),
    "Cyrillic": ("Примерова", "Вымышлена"),
    "Devanagari": ("उदाहरण", "काल्पनिक"),
    "Vietnamese": ("Vídụ", "Tưởng Tượng"),
    "200 characters": ("Lang" * 25 + "name" * 25, "Ex"),
}


@pytest.fixture
def clinic(tmp_path):
    """A tablet with the demo clinic, its prosthetist at work."""
    tablet, session = alone(tmp_path)
    yield tablet, session
    tablet.close()


def hands_of(finger):
    """Return hands that type by this finger; imported late, after the window is there."""
    from mobile.rehearsal.hands import Hands

    return Hands(finger)


def turn(window, finger, size):
    """Turn the tablet."""
    window.set_size(*size)
    finger.settle()
    finger.pump(4)


def test_a_tablet_turned_in_the_middle_of_a_reading_keeps_what_is_typed_and_where_one_is(
    clinic, on_screen, finger, window
):
    tablet, session = clinic
    fitting = open_fitting(session, "D-6101")
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "person", "body")
    hands.enter("body_mass_kg", "82")
    for size in (PORTRAIT, LANDSCAPE, PORTRAIT):
        turn(window, finger, size)
        assert finger.find("field:body_mass_kg").text == "82"
    finger.tap("key:point")
    finger.tap("key:5")
    hands.enter("carried_load_kg", "6")
    turn(window, finger, LANDSCAPE)
    finger.tap("save")
    assert session.fitting(fitting).head("body").body["body_mass_kg"] == "82.5"


def test_a_tablet_turned_while_one_chooses_what_was_wrong_still_saves_the_correction(
    clinic, on_screen, finger, window
):
    tablet, session = clinic
    fitting = open_fitting(session, "D-6102")
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "person", "body")
    hands.fill({"body_mass_kg": "28", "carried_load_kg": "6"})
    finger.tap("save")
    stage.go_fitting(fitting, "person", "body")
    finger.settle()
    finger.tap("correct")
    hands.enter("body_mass_kg", "82")
    finger.tap("save:another")
    finger.tap("field:reason=mistyped")
    turn(window, finger, PORTRAIT)
    turn(window, finger, LANDSCAPE)
    finger.tap("correction:confirm")
    slot = session.fitting(fitting).slot("body")
    assert session.fitting(fitting).head("body").body["body_mass_kg"] == "82"
    assert len(slot.entries) == 2, "the figure that was wrong stays readable"


def test_a_mashed_pin_pad_lets_nobody_in_and_ends_nothing(clinic, on_screen, finger):
    tablet, _session = clinic
    stage = on_screen(tablet)
    finger.tap(f"person:{PROSTHETIST}")
    mashing = random.Random(4)
    for _ in range(120):
        finger.tap(mashing.choice([f"pin:{n}" for n in range(10)] + ["pin:rub_out"]))
    assert stage.session is None and finger.is_there("pin_pad")
    # However much was typed, it takes no more digits than a PIN has, and it can be rubbed out.
    for _ in range(20):
        finger.tap("pin:rub_out")
    hands_of(finger).pin(PINS[PROSTHETIST])
    finger.wait_for(lambda: stage.session, what="the session")
    assert stage.session.staff == PROSTHETIST


def test_mashing_the_enter_key_counts_no_more_tries_than_pins_were_tried(clinic, on_screen, finger):
    tablet, _session = clinic
    on_screen(tablet)
    finger.tap(f"person:{PROSTHETIST}")
    for digit in "739154":
        finger.tap(f"pin:{digit}")
    finger.tap("pin:enter")
    finger.wait_for(lambda: finger.find("pin_pad").message.startswith("That is not"), what="the answer")
    assert finger.find("pin_pad").message == f"That is not the PIN. Tries left: {MOST_WRONG_TRIES - 1}."
    # An empty pad has nothing to try, wherever the key is pressed.
    enter = finger.find("pin:enter")
    for _ in range(6):
        finger.press_at(enter.to_window(*enter.center))
    finger.settle()
    hands_of(finger).pin(PINS[PROSTHETIST])
    assert not finger.is_there("pin_pad") or finger.wait_for(lambda: not finger.is_there("pin_pad"), what="the way in")


def test_save_pressed_twice_in_a_hurry_saves_once(clinic, on_screen, finger):
    tablet, session = clinic
    fitting = open_fitting(session, "D-6103")
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "person", "body")
    hands.fill({"body_mass_kg": "82.5", "carried_load_kg": "6"})
    before = len(own(session))
    save = finger.find("save")
    place = save.to_window(*save.center)
    finger.press_at(place)
    finger.press_at(place)
    assert [e.kind for e in session.fitting(fitting).entries()].count("body") <= 1
    assert len(session.fitting(fitting).slot("body").entries) == 1
    assert len(own(session)) == before + 1, "the second press saved something else"
    must_be_sound(session)


@pytest.mark.parametrize("moment", ["while the record is written", "right behind the press"])
def test_back_pressed_while_a_reading_is_saved_neither_loses_nor_doubles_it(clinic, on_screen, finger, moment):
    from sqlalchemy import event

    tablet, session = clinic
    fitting = open_fitting(session, "D-6104")
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "person", "body")
    hands.fill({"body_mass_kg": "82.5", "carried_load_kg": "6"})
    before, pressed = len(own(session)), []

    def back(*_args):
        if not pressed:
            pressed.append(moment)
            finger.window.dispatch("on_key_down", 27, 0, None, [])

    if moment == "while the record is written":
        event.listen(tablet.store.engine, "commit", back)
    finger.tap("save")
    if moment == "right behind the press":
        back()
    finger.settle()
    assert pressed == [moment]
    assert len(session.fitting(fitting).slot("body").entries) == 1 and len(own(session)) == before + 1
    assert session.fitting(fitting).head("body").body["body_mass_kg"] == "82.5"
    # It is there on the screen too, and once more back and in again asks for nothing twice.
    finger.key("escape")
    stage.go_fitting(fitting, "person", "body")
    finger.settle()
    assert len(own(session)) == before + 1 and not finger.is_there("save")
    must_be_sound(session)


def test_a_tablet_whose_date_fell_back_to_1970_still_saves_in_order_and_says_the_record_as_it_was(
    clinic, on_screen, finger, monkeypatch
):
    from shared_models.entries import composing
    from mobile.keeping import session as session_module
    from mobile.keeping import tablet as tablet_module

    tablet, session = clinic
    fitting = open_fitting(session, "D-6104")
    stage, hands = on_screen(tablet, session), hands_of(finger)
    long_ago = datetime(1970, 1, 1, 0, 3, tzinfo=timezone(timedelta(hours=1)))
    for module in (composing, session_module):
        monkeypatch.setattr(module, "now_here", lambda: long_ago)
    monkeypatch.setattr(tablet_module, "_wall_ms", lambda: 180_000)
    stage.go_fitting(fitting, "person", "body")
    hands.fill({"body_mass_kg": "82.5", "carried_load_kg": "6"})
    finger.tap("save")
    finger.settle()
    view = session.fitting(fitting)
    assert view.head("body").body["body_mass_kg"] == "82.5"
    assert view.entries()[-1].kind == "body", "the clock of the tablet decides no order"
    must_be_sound(session)
    stage.go_home()
    finger.settle()
    assert finger.is_there(f"fitting:{fitting}")


@pytest.mark.parametrize("script", NAMES)
def test_a_name_in_any_script_is_kept_letter_by_letter_and_its_page_can_be_used(
    clinic, on_screen, finger, script
):
    tablet, session = clinic
    stage, hands = on_screen(tablet, session), hands_of(finger)
    family, given = NAMES[script]
    stage.go_new()
    finger.settle()
    hands.fill({**person.NEW_FITTING, "family_name": family, "given_name": given, "file_number": "D-6105"})
    finger.tap("save")
    known, = session.record.subjects("person")
    identity = session.record.head(Subject("person", known), "identity")
    assert (identity.body["family_name"], identity.body["given_name"]) == (family, given)
    fitting, = session.fittings()
    stage.go_fitting(fitting, "person", "body")
    hands.fill({"body_mass_kg": "82.5", "carried_load_kg": "6"})
    finger.tap("save")
    assert session.fitting(fitting).head("body").body["body_mass_kg"] == "82.5"
    stage.go_home()
    finger.settle()
    hands.enter("search", family[:6])
    finger.tap(f"fitting:{fitting}")
    assert stage.page.fitting == fitting
