"""Words are typed, wrap, and reach the screen at each change."""

from mobile.widgets.fonts import FALLBACK, MAIN
from mobile.widgets.text_field import TextField


def _two_fields(show, **options):
    first = TextField(test_name="field:name", label="Name", **options)
    second = TextField(test_name="field:serial", label="Serial number")
    show(first, second)
    return first, second


def test_each_change_of_the_words_is_an_edit(show, finger, heard):
    name, _serial = _two_fields(show)
    edits = heard(name, "on_edit")
    name.text = "M"
    finger.tap("field:name")
    finger.key("end")
    finger.type("ar")
    assert name.text == "Mar" and edits == ["Ma", "Mar"]


def test_enter_and_tab_move_on_from_a_single_line(show, finger):
    name, serial = _two_fields(show)
    finger.tap("field:name")
    finger.type("Okoro")
    finger.key("enter")
    finger.type("KN-0042")
    assert (name.text, serial.text) == ("Okoro", "KN-0042")
    finger.tap("field:name")
    finger.key("tab")
    assert serial.focus


def test_a_note_may_have_lines(show, finger):
    note, serial = _two_fields(show, lines_allowed=True)
    finger.tap("field:name")
    finger.type("late")
    finger.key("enter")
    finger.type("soft")
    assert note.text == "late\nsoft" and not serial.focus


def test_a_long_name_makes_the_field_grow_instead_of_scrolling_away(show, finger):
    name, _serial = _two_fields(show)
    one_line = name.ids.entry.height
    name.text = "Marisela Anunciata Okoro-Lindqvist van der Heuvelen " * 4
    finger.pump(6)
    assert name.ids.entry.height > one_line
    assert name.ids.entry.height >= name.ids.entry.minimum_height


def test_a_name_in_another_script_gets_a_face_that_has_it(show, finger):
    name, _serial = _two_fields(show)
    assert name.ids.entry.font_name == MAIN
    finger.tap("field:name")
    finger.type("Жанна")
    assert name.text == "Жанна" and name.ids.entry.font_name == FALLBACK


def test_a_field_for_codes_stays_in_hand_after_the_enter_that_a_scanner_types(show, finger, heard):
    code, serial = _two_fields(show, stays_after_enter=True)
    ended = heard(code, "on_next")
    finger.tap("field:name")
    finger.type("+A123BJC5D6E71G")
    finger.key("enter")
    finger.type("+$")
    assert (code.text, serial.text, len(ended)) == ("+A123BJC5D6E71G+$", "", 1)


def test_a_separator_without_a_face_is_kept_in_words(show, finger):
    code, _serial = _two_fields(show, keeps_separators=True)
    finger.tap("field:name")
    finger.type("10A1\x1d211")
    assert code.text == "10A1<GS>211"
    entry = code.touch_part
    entry.keyboard_on_key_down(None, (93, "]"), "]", ["ctrl"])
    assert code.text == "10A1<GS>211<GS>"
