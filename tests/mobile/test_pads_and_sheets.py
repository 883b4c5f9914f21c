"""The pad for the personal number, the sheet over the page, notices, lists and progress."""

import pytest

from mobile.device.finding import NotOnScreen
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import FootBar, MainButton, PlainButton
from mobile.widgets.figure_field import AmountField
from mobile.widgets.header_bar import HeaderBar
from mobile.widgets.key_ring import KeyRing
from mobile.widgets.keypad import Keypad
from mobile.widgets.listing import LastSettings, ListRow, ProgressLine
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.sheet import Sheet
from mobile.widgets.theme import theme


@pytest.fixture
def pin_pad(show):
    pad = PinPad(test_name="pin_pad", label="Number of A. Nwosu", enter_words="unlock")
    show(pad=pad)
    return pad


def test_a_personal_number_is_handed_on_and_forgotten(finger, pin_pad, heard):
    numbers = heard(pin_pad, "on_pin")
    for digit in "40917":
        finger.tap(f"pin:{digit}")
    finger.tap("pin:rub_out")
    assert pin_pad.count == 4
    finger.tap("pin:enter")
    assert numbers == ["4091"] and pin_pad.count == 0


def test_a_personal_number_can_be_typed_on_a_keyboard(finger, pin_pad, heard):
    numbers = heard(pin_pad, "on_pin")
    finger.type("12x34")
    finger.key("enter")
    assert numbers == ["1234"]


def test_a_scanned_code_is_no_personal_number_and_is_not_tried(finger, pin_pad, heard):
    numbers = heard(pin_pad, "on_pin")
    finger.type("40")
    finger.scan("4006381333931")
    finger.scan("493817")
    assert numbers == [] and pin_pad.count == 2 and "scanned code" in pin_pad.message
    finger.type("91")
    finger.key("enter")
    assert numbers == ["4091"]


def test_the_enter_of_a_scanner_presses_no_button_that_the_keyboard_stands_on(show, finger, heard):
    button = MainButton(text="Record")
    pressed, ring = heard(button, "on_release"), KeyRing()
    show(button)
    try:
        finger.key("tab")
        finger.scan("4006381333931")
        assert ring.at is button and pressed == []
        finger.key("enter")
        assert len(pressed) == 1
    finally:
        ring.close()


def test_the_digits_of_a_personal_number_never_show(finger, pin_pad):
    before = finger.window.children[0]
    finger.type("4091")
    from mobile.device.finding import words_on

    assert "4091" not in words_on(before) and pin_pad.count == 4


def test_a_number_too_short_can_not_be_entered(finger, pin_pad):
    finger.type("409")
    with pytest.raises(NotOnScreen, match="disabled"):
        finger.tap("pin:enter")


@pytest.fixture
def sheet(window, finger):
    sheet = Sheet(test_name="sheet", title="Correct", main_words="Correct it", plain_words="Leave it")
    pad = Keypad()
    sheet.content.add_widget(AmountField(test_name="sheet:mass", label="Body mass", keypad=pad))
    sheet.below.add_widget(pad)
    window.add_widget(PlainButton(text="Under", test_name="under", size_hint=(None, None), width=99))
    sheet.open()
    finger.settle()
    return sheet


def test_a_correction_is_typed_and_confirmed_on_the_sheet(finger, sheet, heard):
    confirmed = heard(sheet, "on_confirm")
    finger.tap("sheet:mass")
    finger.tap("key:8")
    finger.tap("sheet:confirm")
    assert finger.find("sheet:mass").text == "8" and len(confirmed) == 1
    assert finger.is_there("sheet:mass")  # the screen decides whether it closes


def test_what_lies_under_the_sheet_can_not_be_pressed(finger, sheet):
    with pytest.raises(NotOnScreen, match="under an open sheet"):
        finger.tap("under")


def test_a_press_beside_the_sheet_loses_nothing_typed(finger, sheet):
    finger.press_at((5, 5))
    assert finger.is_there("sheet:mass")


def test_withdrawing_closes_the_sheet(finger, sheet, heard):
    withdrawn = heard(sheet, "on_withdraw")
    finger.tap("sheet:withdraw")
    assert len(withdrawn) == 1 and not finger.is_there("sheet:mass")
    finger.tap("under")


def test_a_sheet_lies_in_the_middle_in_landscape_and_at_the_foot_in_portrait(window, finger, sheet):
    assert sheet.center_y == pytest.approx(400, abs=1)
    window.turn()
    finger.pump(4)
    assert sheet.y == 0 and sheet.width == 800


def test_a_banner_leads_in_bold_and_offers_a_way_out(show, finger, heard):
    banner = Banner(
        kind="doubt", lead="12 mm [off].", text="Жанна & co.", button_words="Keep it", test_name="doubt"
    )
    pressed = heard(banner, "on_act")
    show(banner)
    assert finger.sees("12 mm [off]. Жанна & co.")
    finger.tap("doubt:act")
    assert len(pressed) == 1


def test_a_row_that_only_shows_can_not_be_pressed(show, finger, heard):
    row = ListRow(test_name="row", title="Cap", pressable=False)
    pressed = heard(row, "on_release")
    show(row)
    finger.tap("row")
    row.pressable = True
    finger.tap("row")
    assert len(pressed) == 1


def test_work_can_be_cancelled(show, finger, heard):
    line = ProgressLine(test_name="sending", share=0.4, words="50 of 124", cancel_words="Stop sending")
    cancelled = heard(line, "on_cancel")
    show(line)
    finger.tap("sending:cancel")
    assert len(cancelled) == 1


def test_the_last_settings_are_all_shown_in_a_narrow_strip(show, finger):
    strip = LastSettings(
        label="Last confirmed",
        settings=[("threshold", "3 of 24"), ("swing flexion", "9"), ("damping", "8")],
    )
    show(strip, width=240)
    cells = strip.ids.cells.children
    assert len(cells) == 3 and all(strip.y <= cell.y and cell.right <= 241 for cell in cells)


def test_the_header_leads_back_and_to_what_is_unsent(show, finger, heard):
    header = HeaderBar(who="M. Okoro", unsent="11 not yet sent", leave_words="Fittings")
    left, looked = heard(header, "on_leave"), heard(header, "on_see_unsent")
    show(header)
    finger.tap("header:leave")
    finger.tap("header:unsent")
    assert (len(left), len(looked)) == (1, 1)
    header.leave_words = ""
    assert not finger.is_there("header:leave")


def test_a_name_of_two_hundred_letters_leaves_the_page_its_room(show, finger):
    header = HeaderBar(who="M. Okoro", detail="left side", unsent="11 not yet sent")
    show(header, width=700)
    plain = header.height
    header.who = ("Maximiliane von und zu Beispielhausen " * 6)[:200]
    finger.settle()
    name = next(w for w in header.walk() if getattr(w, "whole", "") == header.who)
    one_line = name.font_size * 1.5
    assert name.text.endswith("…") and header.who.startswith(name.text[:-1].rstrip())
    assert 2 * name.font_size < name.height <= 3 * one_line and header.height < plain + 2 * one_line
    header.who = "M. Okoro"
    finger.settle()
    assert name.text == "M. Okoro" and header.height == plain


def test_the_main_button_lies_in_the_outer_corner_of_either_hand(show, finger):
    again, record = PlainButton(text="Again", fit=True), MainButton(text="Record", fit=True)
    foot = FootBar()
    foot.add_widget(again)
    foot.add_widget(record)
    show(foot)
    assert record.x > again.x
    theme.left_handed = True
    finger.settle()
    assert record.x < again.x
