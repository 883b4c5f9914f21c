"""The look over a page finds each fault that is planted, and nothing on a page without one."""

import pytest
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout

from mobile.gallery.findings import BOXES, BROKEN, CUT, FAINT, OUTSIDE, OVERLAP, SMALL, WIDE
from mobile.gallery.looking import look_over
from mobile.widgets.buttons import PlainButton
from mobile.widgets.drawing import DrawingView
from mobile.widgets.marks import StateMark
from mobile.widgets.surface import Column, Page, Surface, Words
from shared_models.drawings.scene import Disc, Label, Scene, Spot


@pytest.fixture
def found(window, finger):
    """Show widgets on the ground of a page, and return what is found, by sort."""
    def showing(*widgets, around=None):
        ground = Surface(ground_tone="ground", corner=0, orientation="vertical")
        inside = around or FloatLayout()
        for widget in widgets:
            inside.add_widget(widget)
        ground.add_widget(inside)
        window.add_widget(ground)
        finger.settle()
        finger.pump(4)
        return [finding.what for finding in look_over(window)]

    return showing


def placed(widget, x, y, wide, high):
    widget.size_hint, widget.pos_hint = (None, None), {}
    widget.pos, widget.size = (x, y), (wide, high)
    return widget


def words(text, x=100, y=100, wide=300, high=40, **more):
    label = Words(text=text, **more)
    label.size_hint, label.pos_hint = (None, None), {}
    label.pos, label.width = (x, y), wide
    label.fbind("texture_size", lambda *_: setattr(label, "height", high))
    label.height = high
    return label


def test_a_page_without_a_fault_is_left_alone(found):
    assert found(words("Socket screw"), placed(PlainButton(text="Back"), 100, 200, 200, 60)) == []


def test_text_higher_than_its_box_is_cut_off(found):
    assert CUT in found(words("The heel rises higher on every third step " * 4, high=30))


def test_text_that_ends_in_dots_is_cut_off_unless_it_may(found):
    label = words("The heel rises higher on every third step", shorten=True, max_lines=1)
    label.text_size = (120, None)
    assert CUT in found(label)


def test_text_that_runs_out_of_its_panel_is_cut_off(found):
    panel = placed(FloatLayout(), 100, 100, 120, 50)
    panel.add_widget(words("Half of this stands outside", x=180, y=105))
    assert CUT in found(panel)


def test_two_buttons_over_each_other_are_found(found):
    assert OVERLAP in found(
        placed(PlainButton(text="Save"), 100, 100, 200, 60), placed(PlainButton(text="Stop"), 250, 130, 200, 60),
    )


def test_buttons_side_by_side_share_nothing(found):
    assert found(placed(PlainButton(text="Save"), 100, 100, 200, 60), placed(PlainButton(text="Back"), 300, 100, 200, 60)) == []


@pytest.mark.parametrize("size", [(40, 60), (200, 40)])
def test_a_button_too_small_for_a_finger_is_found(found, size):
    button = PlainButton(text="·", padding=[1, 1])
    button.least_height = 0
    assert SMALL in found(placed(button, 100, 100, *size))


def test_a_pane_too_low_to_press_what_it_holds_is_found(found):
    page, column = placed(Page(), 100, 100, 400, 50), Column()
    column.add_widget(PlainButton(text="Save"))
    page.add_widget(column)
    assert SMALL in found(page)


def test_faint_text_is_found(found):
    assert FAINT in found(words("hardly to be read", tone="hairline"))


def test_text_in_the_colour_of_doubts_can_be_read(found):
    assert found(words("36", tone="doubt", high=60)) == []


def test_a_figure_needs_more_contrast_than_other_text(found):
    assert FAINT in found(words("36", tone="doubt", role="figure", high=60))


def test_disabled_text_is_judged_too(found):
    label = words("later")
    label.disabled, label.disabled_color = True, (0.8, 0.8, 0.78, 1)
    assert FAINT in found(label)


def test_a_faint_mark_is_found(found):
    mark = placed(StateMark(state="open", tone="hairline"), 100, 100, 30, 30)
    assert FAINT in found(mark)


def test_a_widget_outside_the_window_is_found(found):
    assert OUTSIDE in found(placed(PlainButton(text="Save"), 1200, 100, 200, 60))


def test_letters_that_the_font_lacks_are_found(found):
    label = words("ดอกไม้")
    label.font_name = "B612"
    assert BOXES in found(label)


def test_a_page_wider_than_the_window_is_found(found):
    assert WIDE in found(placed(BoxLayout(), 0, 0, 1500, 300))


def test_what_is_wider_than_the_pane_it_scrolls_in_is_found(found):
    page, column = placed(Page(), 100, 100, 300, 300), Column()
    column.add_widget(placed(PlainButton(text="Save"), 0, 0, 500, 60))
    page.add_widget(column)
    assert WIDE in found(page)


def test_a_word_broken_in_its_middle_is_found(found):
    assert BROKEN in found(words("Belastungslinie vor dem Kniemittelpunkt", wide=90, high=300))


def test_a_long_number_may_be_broken(found):
    assert found(words("D-" + "7" * 40, wide=120, high=400)) == []


def drawn(*shapes):
    view = DrawingView(scene=Scene(0, 0, 1000, 1000, shapes))
    return placed(view, 100, 100, 400, 400)


RING = (Disc((500, 500), 80, "field"), Spot("cap/one", (500, 500), "the cap"))


def test_words_on_the_ring_of_a_cap_are_found(found):
    assert OVERLAP in found(drawn(*RING, Label((520, 540), "Cap of the flexion valve")))


def test_words_above_the_ring_and_a_sign_within_it_are_left_alone(found):
    assert found(drawn(*RING, Label((500, 500), "!"), Label((500, 900), "Cap of the flexion valve"))) == []


def test_words_on_other_words_of_a_drawing_are_found(found):
    assert OVERLAP in found(drawn(Label((500, 500), "in front"), Label((520, 510), "behind")))


def test_a_ring_that_reaches_out_of_its_drawing_is_found(found):
    assert CUT in found(drawn(Disc((500, 990), 80, "field"), Spot("cap/one", (500, 990), "the cap")))


def test_words_wider_than_their_drawing_are_set_smaller(found):
    assert found(drawn(Label((500, 500), "not yet read off, and said at more length than there is room"))) == []


@pytest.mark.parametrize(("most_wide", "is_there"), [(0, True), (600, True), (20, False)])
def test_words_of_a_small_dial_are_set_smaller_and_left_out_where_nobody_could_read_them(found, most_wide, is_there):
    label = Label((500, 500), "graduations", most_wide=most_wide)
    view = drawn(label)
    assert found(view) == []
    kept = view.placed_label(label)
    assert (kept is not None) == is_there
    assert not most_wide or kept is None or kept[0].width <= most_wide * 400 / 1000
