"""Long words of a language such as German stay whole in large type, where a button or a column holds them."""

import gc

import pytest

from mobile.screens.alignment_picture import PlaneView
from mobile.screens.trial_walk import WalkHead
from mobile.widgets.buttons import Answers, FootBar, MainButton, PlainButton
from mobile.widgets.choices import FindingGrades, WordBeside
from mobile.widgets.figure_field import AmountField
from mobile.widgets.fonts import longest_word_width
from mobile.widgets.keypad import Keypad
from mobile.widgets.listing import Heading, LastSettings, ListRow
from mobile.widgets.page_frame import PageFrame
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.step_rail import StepRail
from mobile.widgets.surface import Column, Words
from mobile.widgets.theme import theme
from shared_models.drawings.alignment import Picture
from shared_models.drawings.scene import Scene

LONG = "Schwungphasenextension"


@pytest.fixture
def large_type(window):
    theme.font_scale = 1.5
    yield
    theme.font_scale = 1.0


def whole(label) -> bool:
    """Whether no word of a label is broken."""
    room = label.width - label.padding[0] - label.padding[2]
    return longest_word_width(label.text, label.font_size, bold=label.bold) <= room


def shown(window, finger, widget, width):
    around = Column(size_hint=(None, None), width=width)
    around.add_widget(widget)
    window.add_widget(around)
    finger.settle()


@pytest.mark.parametrize("direction", ["down", "across"])
def test_the_rail_breaks_no_long_word_of_a_step(window, finger, large_type, direction):
    steps = [{"key": str(n), "title": LONG, "state": "open", "state_word": "offen"} for n in range(3)]
    rail = StepRail(direction=direction, steps=steps, current="1")
    window.add_widget(rail)
    finger.settle()
    titles = [w for w in rail.walk() if isinstance(w, Words) and w.text == LONG]
    assert len(titles) == 3 and all(map(whole, titles))


@pytest.mark.parametrize("direction", ["down", "across"])
def test_the_rail_breaks_no_long_word_of_how_a_step_stands(window, finger, large_type, direction):
    said = "21 Arbeitsschritte fehlen"
    rail = StepRail(direction=direction, steps=[{"key": "1", "title": "Ende", "state": "open", "state_word": said}], current="1")
    window.add_widget(rail)
    finger.settle()
    assert [whole(w) for w in rail.walk() if isinstance(w, Words) and w.text == said] == [True]


def test_the_key_to_sign_keeps_its_word_whole(window, finger, large_type):
    pad = PinPad(label="PIN", enter_words="unterschreiben", test_name="pin_pad")
    shown(window, finger, pad, 512)
    keys = [finger.find(f"pin:{key}") for key in ("rub_out", "0", "enter")]
    assert all(map(whole, keys)) and min(key.width for key in keys) >= theme.touch
    assert keys[-1].right <= pad.right


@pytest.mark.parametrize("width", [420, 900])
def test_answers_that_do_not_fit_side_by_side_stand_one_beneath_the_other(window, finger, large_type, width):
    no, yes = PlainButton(text="Nicht eingesetzt", fit=True), MainButton(text="Eingesetzt", fit=True)
    answers = Answers(no, yes)
    shown(window, finger, answers, width)
    assert whole(no) and whole(yes)
    assert answers.x <= no.x and yes.right <= answers.right
    assert (no.y == yes.y or no.center_y == yes.center_y) == (width == 900)


GERMAN_KEYS = {"rub_out": "löschen", "clear": "leeren", "next": "weiter", "unit": "Einheit", "sign": "+ / −", "point": ","}


def page_with_keypad(window, finger, **frame):
    page = PageFrame(has_side=True, **frame)
    pad, field = Keypad(key_words=GERMAN_KEYS, test_name="keypad"), AmountField(label=LONG, steps=["-5", "-1", "36", "+1", "+5"], test_name="field")
    field.keypad = pad
    page.side.add_widget(pad)
    page.body.add_widget(field)
    window.add_widget(page)
    finger.settle()
    field.focus = True
    finger.settle()
    return page, pad


def test_the_keypad_takes_the_width_that_its_words_need_beside_a_drawing(window, finger, large_type):
    page, pad = page_with_keypad(window, finger, has_picture=True, side_share=0.2)
    keys = [finger.find(f"key:{key}") for key in ("rub_out", "clear", "next", "unit")]
    steps = [finger.find(f"step:{step}") for step in ("-5", "36", "+5")]
    assert all(map(whole, (*keys, *steps))) and min(key.width for key in keys) >= theme.touch
    assert max(key.right for key in keys) <= page.side.right


def test_the_keypad_stays_within_a_pane_that_is_too_low_for_its_full_height(window, finger, large_type):
    window.set_size(1280, 520)
    page, pad = page_with_keypad(window, finger)
    wanted = pad.height_of(pad.line_height_px, pad.ids.steps.height, 0)
    assert page.side.height < wanted, "else there is nothing to see here"
    assert pad.height <= page.side.height
    # What shares out the height asks for what the keypad wants, not for what it got of it:
    # or the two follow each other for ever, and the page never comes to rest under a finger.
    lower = page.side.wanted_height
    window.set_size(1280, 1200)
    finger.settle()
    assert pad.height == pytest.approx(wanted) and page.side.wanted_height == pytest.approx(lower)
    assert min(finger.find(f"key:{key}").height for key in ("1", "5", "9", "0")) >= theme.touch


def test_the_name_of_a_figure_stands_above_it_where_a_word_would_be_broken_beside(window, finger, large_type):
    field = AmountField(label=LONG, text="64", unit="mm", test_name="field")
    shown(window, finger, field, 380)
    label = next(w for w in field.walk() if isinstance(w, Words) and w.text == LONG)
    figure = next(w for w in field.walk() if isinstance(w, Words) and w.text == "64")
    assert whole(label) and label.y >= figure.top


def test_what_trails_in_a_narrow_row_stands_beneath_rather_than_break_a_word(window, finger, large_type):
    row = ListRow(title="Kalibrierung", trailing="noch nicht bekannt", row_state="open", test_name="row")
    shown(window, finger, row, 300)
    title, trailing = (next(w for w in row.walk() if isinstance(w, Words) and w.text == text) for text in (row.title, row.trailing))
    assert whole(title) and whole(trailing) and trailing.top <= title.y + 1


def test_a_setting_with_a_long_name_has_its_figure_beneath_in_a_narrow_strip(window, finger, large_type):
    strip = LastSettings(label="Zuletzt bestätigt", settings=[(LONG, "noch nicht")])
    shown(window, finger, strip, 300)
    name = next(w for w in strip.walk() if isinstance(w, Words) and w.text == LONG)
    figure = next(w for w in strip.walk() if isinstance(w, Words) and w.text == "noch nicht")
    assert whole(name) and figure.top <= name.y + 1 and figure.right <= strip.right


def test_the_longest_name_takes_no_more_than_a_good_quarter_of_a_low_page(window, finger, large_type):
    page = PageFrame(has_rail=False)
    page.header.leave_words = "Versorgungen"
    page.header.who = "Maximiliane-Theodora von und zu Beispielhausen-Musterlingen " * 3
    page.header.detail = "links, über dem Knie (transfemoral) · geboren 2. Apr. 1988 · Akte D-" + "7" * 30
    page.header.unsent = "227 noch nicht gesendet"
    window.add_widget(page)
    finger.settle()
    assert page.header.height <= 0.28 * page.height
    assert any(getattr(w, "text", "") == page.header.detail for w in page.header.walk()), "who it is is never left out"


def test_the_words_before_the_grades_of_a_finding_stay_whole(window, finger, large_type):
    grades = FindingGrades(label="Ferse geht zu hoch", ways=[("seen", "Gesehen", ""), ("felt", "Gespürt", "")], test_name="grades")
    pain = WordBeside("Schmerz\n0–10", PlainButton(text="0"))
    shown(window, finger, grades, 760)
    shown(window, finger, pain, 760)
    before = [w for widget in (grades, pain) for w in widget.walk() if getattr(w, "text", "") in ("Gesehen", "Gespürt", "Schmerz\n0–10")]
    assert len(before) == 3 and all(map(whole, before))


def test_a_double_name_in_an_upright_header_is_broken_at_its_hyphen_only(window, finger, large_type):
    window.set_size(800, 1280)
    page = PageFrame(has_rail=False)
    page.header.leave_words, page.header.unsent = "Versorgungen", "227 noch nicht gesendet"
    page.header.who = "Juniper Example-Lark"
    window.add_widget(page)
    finger.settle()
    name = next(w for w in page.header.walk() if isinstance(w, Words) and "Juniper" in w.text)
    assert whole(name)
    page.header.who = "Maximiliane-Theodora-" + "Beispielhausen-" * 2 + "Musterling"
    finger.settle()
    assert whole(name) and all(line.endswith("-") for line in name.text.split("\n")[:-1])


def test_an_upright_header_in_large_type_says_side_birthday_and_file_number_whole(window, finger, large_type):
    window.set_size(800, 1280)
    page = PageFrame(has_rail=False)
    page.header.leave_words, page.header.unsent, page.header.saved = "Versorgungen", "227 noch nicht gesendet", "gespeichert 02:16"
    page.header.who = "Juniper Example-Lark"
    page.header.detail = "links, über dem Knie (transfemoral) · geboren 2. Apr. 1988 · Akte D-2042"
    window.add_widget(page)
    finger.settle()
    detail = next(w for w in page.header.walk() if getattr(w, "whole", "") == page.header.detail)
    assert detail.text == detail.whole and page.header.height < 0.2 * page.height
    assert finger.find("header:leave").right <= finger.find("header:unsent").x <= finger.find("header:look").x
    assert detail.to_window(0, detail.top)[1] <= finger.find("header:leave").to_window(0, finger.find("header:leave").y)[1] + 1


@pytest.mark.parametrize("words", ["Von vorn gesehen, maßstäblich.", "Von der Mitte her gesehen, maßstäblich; was nicht abgelesen ist, steht gestrichelt da. " * 3])
def test_words_beneath_a_drawing_leave_it_most_of_the_height(window, finger, large_type, words):
    view = PlaneView("side", lambda _plane, _room: Picture(Scene(0, 0, 100, 100, ()), words), size_hint=(None, None), size=(330, 460))
    window.add_widget(view)
    finger.settle()
    assert view.drawing.height >= 0.6 * view.height
    assert (view.caption.text == words) == (len(words) < 50)


@pytest.mark.parametrize(("who", "lines"), [("Juniper Example-Wren", 4), ("Maximiliane-Theodora von und zu Beispielhausen-Musterlingen " * 3, 3)])
def test_a_short_name_leaves_the_last_settings_a_line_more_and_none_takes_more_than_it_may(window, finger, large_type, who, lines):
    page = PageFrame(has_rail=False)
    page.header.leave_words, page.header.unsent, page.header.who = "Zurück", "264 noch nicht gesendet", who
    page.header.detail = "Schwelle der Standphase 0 von 24 · Schwungphasenflexion noch nicht · Schwungphasenextension noch nicht · Standphasendämpfung noch nicht"
    window.add_widget(page)
    finger.settle()
    name, detail = (next(w for w in page.header.walk() if getattr(w, "whole", "") == whole_text) for whole_text in (who, page.header.detail))
    assert detail.most_lines == lines
    assert name.height <= 2 * 1.5 * name.font_size and detail.height <= lines * 1.5 * detail.font_size
    assert detail.text == detail.whole


def test_a_button_in_a_narrow_foot_is_as_wide_as_its_longest_word(window, finger, large_type):
    foot, button = FootBar(), MainButton(text="Meinen Wiederherstellungscode machen", fit=True)
    foot.add_widget(button)
    shown(window, finger, foot, 600)
    assert whole(button) and button.right <= foot.right


def test_the_parts_of_a_header_outlive_being_arranged_anew(window, finger, large_type):
    page = PageFrame(has_rail=False)
    window.add_widget(page)
    for size, unsent in (((800, 1280), "227 noch nicht gesendet"), ((1280, 800), ""), ((800, 1280), "1 noch nicht gesendet")):
        window.set_size(*size)
        page.header.leave_words, page.header.unsent = ("Versorgungen" if unsent else ""), unsent
        gc.collect()
        finger.settle()
        assert finger.find("header:look").height >= theme.touch and finger.find("header:unsent").width >= theme.touch


@pytest.mark.parametrize(("width", "lines"), [(760, 2), (1100, 1)])
def test_two_ways_of_noticing_lie_side_by_side_only_where_their_grades_stay_on_one_line(window, finger, width, lines):
    grades = FindingGrades(label="Ferse geht zu hoch", ways=[("seen", "Gesehen", ""), ("felt", "Gespürt", "")], test_name="grades")
    for row in grades.rows.values():
        row.options = [("none", "keine"), ("slight", "leicht"), ("marked", "deutlich")]
    grades._share_out()
    shown(window, finger, grades, width)
    assert len({round(row.y) for row in grades.rows.values()}) == lines
    assert all(len({cell.y for cell in row.ids.cells.children}) == 1 for row in grades.rows.values())


@pytest.mark.parametrize("width", [390, 760])
def test_the_doors_to_timing_a_walk_keep_their_words_whole(window, finger, large_type, width):
    doors = [PlainButton(text=text, bold=True) for text in ("Bodenkontakte antippen", "Stoppuhr")]
    head = WalkHead("Gangprobe 1", "Steht auf 8.", doors)
    shown(window, finger, head, width)
    assert all(map(whole, doors)) and (doors[0].center_y == doors[1].center_y) == (width == 760)


def test_a_heading_in_a_narrow_page_is_set_smaller_rather_than_broken(window, finger, large_type):
    heading = Heading(title="Gangprobe Schwungphasenflexion")
    shown(window, finger, heading, 448)
    assert whole(next(w for w in heading.walk() if isinstance(w, Words) and w.text == heading.title))
