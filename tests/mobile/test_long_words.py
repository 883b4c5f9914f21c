"""Long words of a language such as German stay whole in large type, where a button or a column holds them."""

import pytest

from mobile.widgets.buttons import Answers, MainButton, PlainButton
from mobile.widgets.fonts import longest_word_width
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.step_rail import StepRail
from mobile.widgets.surface import Column, Words
from mobile.widgets.theme import theme

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
