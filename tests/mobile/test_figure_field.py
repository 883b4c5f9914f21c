"""Figures are typed on the pad, on a keyboard, and kept as they were typed; a scanner types none."""

import pytest

from mobile.device import typing_pace
from mobile.device.finding import NotOnScreen
from mobile.widgets.date_field import DateField
from mobile.widgets.figure_field import AmountField
from mobile.widgets.keypad import Keypad
from shared_models.language import SOURCE, choose_language


@pytest.fixture
def pad():
    return Keypad(test_name="keypad")


@pytest.fixture
def mass(pad):
    return AmountField(
        test_name="field:body_mass_kg", label="Body mass", unit="kg", keypad=pad, steps=["-0.5", "+1"]
    )


@pytest.fixture
def height(pad):
    return AmountField(test_name="field:build_height_mm", label="Build height", unit="mm", keypad=pad)


@pytest.fixture
def shown(show, finger, mass, height, pad):
    show(mass, height, pad=pad)
    return finger


def test_a_press_takes_the_reading_in_hand(shown, mass, pad):
    shown.tap("field:body_mass_kg")
    assert mass.focus and pad.target is mass


def test_the_pad_types_into_the_field_in_hand(shown, mass):
    shown.tap("field:body_mass_kg")
    for key in ("8", "4", "point", "0"):
        shown.tap(f"key:{key}")
    assert mass.text == "84.0" and mass.focus


@pytest.fixture
def in_german():
    choose_language("de")
    yield
    choose_language(SOURCE)


def test_a_german_pad_shows_and_types_a_comma_and_hands_on_a_point(in_german, shown, mass, pad):
    shown.tap("field:body_mass_kg")
    assert pad._keys["point"].text == ","
    handed_on, stood = [], []
    mass.fbind("on_edit", lambda _field, text: handed_on.append(text))
    for key in ("1", "2", "point", "5", "0", "0"):
        shown.tap(f"key:{key}")
        stood.append(mass.ids.figure.text)
    assert stood == ["1", "12", "12,", "12,5", "12,50", "12,500"]
    assert handed_on[-1] == mass.text == "12.500"
    assert mass.step_words("-0.5") == "\N{MINUS SIGN}0,5" and mass.step_words("=38.0") == "= 38,0"


def test_a_comma_typed_on_a_keyboard_stays_and_can_be_stepped_on(in_german, shown, mass):
    shown.tap("field:body_mass_kg")
    shown.type("81,5")
    assert mass.text == "81,5" and mass.ids.figure.text == "81,5"
    shown.tap("step:-0.5")
    assert mass.text == "81.0" and mass.ids.figure.text == "81,0"


def test_the_point_of_a_unit_that_was_typed_stays(in_german, mass):
    assert mass.shown("180.5 lb.") == "180,5 lb." and mass.shown("11 in.") == "11 in."


def test_the_pad_is_disabled_while_nothing_is_in_hand(shown):
    with pytest.raises(NotOnScreen, match="disabled"):
        shown.tap("key:1")


def test_a_figure_is_typed_on_a_keyboard_into_the_field_in_hand(shown, mass):
    shown.tap("field:body_mass_kg")
    shown.type("81.50")
    assert mass.text == "81.50"


@pytest.mark.parametrize("raw_keys", [False, True])
@pytest.mark.parametrize("code", ["4006381333931", "0104006381333931", "12345"])
def test_a_scanned_code_becomes_no_figure_and_its_enter_does_not_go_on(shown, mass, code, raw_keys):
    mass.raw_keys = raw_keys
    shown.tap("field:body_mass_kg")
    shown.type("81.5")
    shown.scan(code)
    assert mass.text == "81.5" and mass.focus
    assert mass.message_kind == "refusal" and "scanned code" in mass.message
    shown.type("0")
    shown.key("enter")
    assert mass.text == "81.50" and not mass.focus


def test_two_keys_under_one_stroke_are_still_a_persons(shown, mass):
    shown.tap("field:body_mass_kg")
    shown.type("8")
    shown._type("4.", 0.005)
    assert mass.text == "84."


def test_keys_that_waited_for_a_busy_screen_are_a_persons(shown, mass, monkeypatch):
    shown.tap("field:body_mass_kg")
    monkeypatch.setattr(typing_pace.moments, "waited_s", lambda: 0.5)
    shown._type("81.5", 0.0)
    assert mass.text == "81.5"


def test_what_is_no_figure_is_kept_as_typed(shown, mass):
    shown.tap("field:body_mass_kg")
    shown.type("8o")
    shown.tap("step:+1")
    assert mass.text == "8o"


def test_rub_out_and_clear_take_typing_back(shown, mass):
    shown.tap("field:body_mass_kg")
    shown.type("845")
    shown.tap("key:rub_out")
    shown.key("backspace")
    assert mass.text == "8"
    shown.tap("key:clear")
    assert mass.text == ""


@pytest.mark.parametrize(
    "typed, step, becomes",
    [("38.0", "+1", "39.0"), ("38", "-0.5", "37.5"), ("", "+1", "1"), ("1000000", "+1", "1000001")],
)
def test_a_step_keeps_the_decimal_places(shown, mass, typed, step, becomes):
    mass.text = typed
    shown.tap("field:body_mass_kg")
    shown.tap(f"step:{step}")
    assert mass.text == becomes


def test_steps_from_an_empty_field_count_from_the_likely_figure(shown, mass):
    mass.step_from = "80"
    shown.tap("field:body_mass_kg")
    shown.tap("step:-0.5")
    assert mass.text == "79.5"


def test_the_sign_key_is_only_there_for_what_can_be_negative(shown, mass):
    shown.tap("field:body_mass_kg")
    assert shown.find("key:sign").disabled
    mass.focus = False
    mass.signed = True
    shown.tap("field:body_mass_kg")
    shown.type("12")
    shown.tap("key:sign")
    assert mass.text == "-12"
    shown.tap("key:sign")
    assert mass.text == "12"


@pytest.mark.parametrize("way_on", ["key:next", "enter", "tab"])
def test_next_enter_and_tab_move_on_to_the_next_reading(shown, mass, height, way_on):
    shown.tap("field:body_mass_kg")
    if way_on.startswith("key:"):
        shown.tap(way_on)
    else:
        shown.key(way_on)
    assert height.focus and not mass.focus
    shown.type("442")
    assert (mass.text, height.text) == ("", "442")


def test_next_in_the_last_reading_lets_go_instead_of_starting_over(shown, mass, height):
    shown.tap("field:build_height_mm")
    shown.key("enter")
    assert not mass.focus and not height.focus


def test_only_what_a_person_changes_is_an_edit(shown, mass, heard):
    edits = heard(mass, "on_edit")
    mass.text = "80"
    assert edits == []
    shown.tap("field:body_mass_kg")
    shown.type("5")
    shown.key("backspace")
    shown.tap("step:+1")
    shown.tap("key:clear")
    shown.tap("key:clear")
    assert edits == ["805", "80", "81", ""]


def test_the_steps_on_the_pad_follow_the_field_in_hand(shown, mass, height):
    height.steps = ["-5", "+5"]
    shown.tap("field:body_mass_kg")
    assert shown.is_there("step:-0.5")
    shown.tap("key:next")
    assert shown.is_there("step:+5") and not shown.is_there("step:-0.5")


def test_a_refusal_and_a_doubt_stand_under_the_figure(shown, mass):
    mass.message, mass.message_kind = "A body mass lies between 20 and 250 kg.", "refusal"
    shown.settle()
    assert shown.sees("A body mass lies between 20 and 250 kg.")


def test_on_a_tablet_keys_are_taken_without_the_keyboard_of_the_system(shown, mass, height):
    mass.raw_keys = height.raw_keys = True
    shown.tap("field:body_mass_kg")
    shown.type("77")
    shown.key("backspace")
    shown.key("enter")
    shown.type("4")
    assert (mass.text, height.text) == ("7", "4")
    height.focus = False
    shown.type("9")
    assert height.text == "4"


@pytest.fixture
def review(show, pad):
    field = DateField(test_name="field:review_on", label="Review on", keypad=pad, today="2026-02-27")
    show(field, pad=pad)
    return field


def test_the_hyphens_of_a_date_come_by_themselves(finger, review):
    finger.tap("field:review_on")
    for digit in "20261209":
        finger.tap(f"key:{digit}")
    assert review.text == "2026-12-09"


def test_a_date_typed_with_hyphens_is_the_same(finger, review):
    finger.tap("field:review_on")
    finger.type("2026-12-09")
    assert review.text == "2026-12-09"


def test_rubbing_out_a_date_takes_the_hyphen_with_the_digit(finger, review):
    review.text = "2026-1"
    finger.tap("field:review_on")
    finger.tap("key:rub_out")
    assert review.text == "2026"


def test_days_are_counted_from_today_over_the_end_of_a_month(finger, review):
    finger.tap("field:review_on")
    finger.tap("step:7")
    assert review.text == "2026-03-06"
    finger.tap("step:7")
    assert review.text == "2026-03-13"
    finger.tap("step:0")
    assert review.text == "2026-02-27"


def test_a_day_that_does_not_exist_is_kept_as_typed(finger, review):
    review.text = "2026-02-31"
    finger.tap("field:review_on")
    finger.tap("step:1")
    assert review.text == "2026-02-31"
