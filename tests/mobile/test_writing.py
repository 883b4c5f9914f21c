"""Names in other writings stand on the screen as they are read, and are kept as they were typed."""

import pytest

from mobile.widgets.banner import Banner, in_fitting_font
from mobile.widgets.long_list import ShortLabel
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField
from mobile.widgets.writing import cant_draw, drawn

HEBREW, ARABIC = "שירה דוגמה", "محمد"
LONG = "ליאורה בת הדוגמאות הארוכות מאוד מן העיר הרחוקה שאין לה שם"


def test_a_hebrew_name_is_drawn_from_its_right_and_kept_as_typed(show):
    words = Words(text=HEBREW)
    show(words)
    assert words._label.text == HEBREW[::-1] and words.text == HEBREW


def test_an_arabic_name_is_drawn_joined(show):
    words = Words(text=ARABIC)
    show(words)
    # Dal at its end, meem and hah in the middle, meem at the beginning, as they stand from the left.
    assert words._label.text == "\ufeaa\ufee4\ufea4\ufee3" and words.text == ARABIC


def test_a_name_within_a_sentence_leaves_the_sentence_and_its_figures_alone():
    assert drawn(f"Signed by {HEBREW} at 10:42") == f"Signed by {HEBREW[::-1]} at 10:42"
    assert drawn("Load line 38.0 mm, Müller") == "Load line 38.0 mm, Müller"


@pytest.mark.parametrize("width", [260, 400])
def test_a_name_that_needs_more_lines_begins_on_the_first(show, width):
    words = Words(text=LONG, role="unit")
    show(words, width=width)
    lines = words._label.text.split("\n")
    assert len(lines) > 1 and " ".join(line[::-1] for line in lines) == LONG
    assert words.texture_size[0] <= width and words.height >= len(lines) * words.font_size


def test_a_name_follows_when_the_tablet_is_turned(show, finger):
    words = Words(text=LONG, role="unit")
    page = show(words, width=300)
    before = words._label.text.count("\n")
    page.width = 900
    finger.settle()
    finger.pump(3)
    assert words._label.text.count("\n") < before


def test_where_the_room_is_short_the_end_of_a_name_is_left_out_not_its_beginning(show):
    hebrew, latin = ShortLabel(text=LONG), ShortLabel(text="Liora of the very long examples from a far town")
    show(hebrew, latin, width=300)
    assert (hebrew._label.options["shorten_from"], latin._label.options["shorten_from"]) == ("left", "right")
    hebrew.text = "Liora of the very long examples from a far town"
    hebrew.texture_update()
    assert hebrew._label.options["shorten_from"] == "right"


def test_a_banner_names_somebody_in_their_own_writing(show):
    banner = Banner(kind="info", lead=f"Open: {HEBREW}", text="is next")
    show(banner)
    assert HEBREW[::-1].split()[0] in in_fitting_font(banner.lead)


def test_a_name_is_typed_and_kept_in_the_order_of_typing(show, finger, heard):
    field = TextField(test_name="field:name", label="Name")
    show(field)
    edits = heard(field, "on_edit")
    finger.tap("field:name")
    finger.type(HEBREW)
    entry = field.touch_part
    assert field.text == HEBREW and edits[-1] == HEBREW
    assert entry.cursor_offset() == 0, "behind the last letter, which stands at the left"
    finger.key("home")
    assert entry.cursor_offset() == pytest.approx(entry._width_of(drawn(HEBREW)))
    finger.type("ה")
    assert field.text == "ה" + HEBREW


def test_a_touch_in_a_hebrew_name_puts_the_cursor_where_it_is(show, finger):
    field = TextField(test_name="field:name", label="Name", text=HEBREW)
    show(field)
    entry = field.touch_part
    left, width = entry.x + entry.padding[0], entry._width_of(drawn(HEBREW))
    assert entry.get_cursor_from_xy(left + width - 1, entry.center_y)[0] == 0
    assert entry.get_cursor_from_xy(left - 3, entry.center_y)[0] == len(HEBREW)


@pytest.mark.parametrize(("name", "writing"), [("निर्मला", "Devanagari"), ("مُحمد", "Arabic"), ("李雷", "Chinese")])
def test_what_cant_be_drawn_is_kept_and_said_beside_the_field(show, name, writing):
    field = TextField(test_name="field:name", label="Name", text=name)
    show(field)
    said = [w.text for w in field.walk() if isinstance(w, Words)]
    assert cant_draw(name) in said and writing in cant_draw(name) and field.text == name
    field.text = "Okoro"
    assert cant_draw(name) not in [w.text for w in field.walk() if isinstance(w, Words)]


@pytest.mark.parametrize("name", ["Okoro", "Müller", "Жанна", "Nguyễn", HEBREW, ARABIC, "ดอกไม้ ตัวอย่าง", "Zoë 12 mm ± 5"])
def test_nothing_is_said_where_a_name_can_be_drawn(name):
    assert cant_draw(name) == ""
