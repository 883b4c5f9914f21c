"""What holds for every widget, held against the whole gallery in both ways up and in large type."""

import pytest
from kivy.uix.behaviors import ButtonBehavior

from mobile.device.finding import every, find_all, parents_of, window_box
from mobile.device.finger import must_be_large_enough
from mobile.widgets.gallery import PAGES, correction_sheet
from mobile.widgets.palettes import FIGURE_PAIRS, TEXT_PAIRS
from mobile.widgets.buttons import StopButton
from mobile.widgets.surface import Words
from mobile.widgets.theme import theme

SIZES = {"landscape": (1280, 800), "portrait": (800, 1280)}


@pytest.fixture(params=[1.0, 1.5], ids=["usual-type", "largest-type"])
def font_scale(request):
    return request.param


@pytest.fixture(params=SIZES)
def way_up(request):
    return request.param


@pytest.fixture(params=[*PAGES, "sheet"])
def page(request, window, finger, way_up, font_scale):
    window.set_size(*SIZES[way_up])
    theme.font_scale = font_scale
    if request.param == "sheet":
        shown = correction_sheet()
        shown.open()
    else:
        shown = PAGES[request.param]()
        window.add_widget(shown)
    finger.settle()
    for field in [w for w in every(window) if hasattr(w, "keypad")][:1]:
        finger.tap(field)
    finger.pump(20)
    return shown


def test_all_words_fit_where_they_stand(page):
    for words in [w for w in every(page) if isinstance(w, Words) and w.text]:
        wide, high = words.texture_size
        assert high <= words.height + 1, f"{words.text!r} is {high} high in {words.height}"
        assert wide <= words.width + 1, f"{words.text!r} is {wide} wide in {words.width}"


def test_nothing_reaches_out_over_the_sides_of_the_page(page, window):
    inside_rail = set(every(page.rail)) if hasattr(page, "rail") else set()
    for widget in every(page):
        if widget in inside_rail or not (widget.width and widget.height):
            continue
        left, _bottom, right, _top = window_box(widget)
        assert left >= -1 and right <= window.width + 1, f"{widget} from {left} to {right}"


def test_every_button_is_large_enough_for_a_finger(page):
    buttons = [w for w in every(page) if isinstance(w, ButtonBehavior)]
    assert buttons
    for button in buttons:
        must_be_large_enough(button)


def test_every_text_stands_on_a_ground_it_contrasts_with(page):
    for words in [w for w in every(page) if isinstance(w, Words) and w.text]:
        pair = (words.tone, _ground_under(words))
        assert pair in TEXT_PAIRS, f"{words.text!r} in {pair}"
        if words.role == "figure":
            assert pair in FIGURE_PAIRS


def test_the_stop_colour_is_used_for_stopping_only(page):
    for widget in every(page):
        if getattr(widget, "ground_tone", "") == "stop":
            assert isinstance(widget, StopButton)


def test_test_names_are_unique_on_a_page(page):
    names = [widget.test_name for widget in find_all(page)]
    assert len(names) == len(set(names))


def _ground_under(widget):
    for around in [widget, *parents_of(widget)]:
        tone = getattr(around, "ground_tone", "")
        if tone:
            return tone
    return "ground"
