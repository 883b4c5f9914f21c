"""A page that has been left is let go, and a page that stays follows the theme."""

import gc
import time
import weakref

import pytest

from mobile.widgets.gallery import PAGES
from mobile.widgets.theme import theme


# Kivy 2.3.1 never lets go of a TextInput, not even of a bare one, so pages with one are left out.
@pytest.mark.parametrize("name", ["figures", "notices", "unlock"])
def test_a_page_that_was_left_is_let_go(window, finger, name):
    page = PAGES[name]()
    window.add_widget(page)
    finger.pump(6)
    window.remove_widget(page)
    finger.type("1")
    left = weakref.ref(page)
    del page
    assert let_go(left, finger), f"held by {[type(r).__name__ for r in gc.get_referrers(left())]}"


def let_go(left, finger) -> bool:
    """Whether it is let go once what the clock still holds of it has run out.

    Scrolling, presses and keys leave timers of up to a second behind.
    """
    end = time.monotonic() + 3
    while left() is not None and time.monotonic() < end:
        finger.pump(6)
        gc.collect()
    return left() is None


def test_what_is_typed_after_leaving_reaches_nothing_on_the_page_left(window, finger):
    page = PAGES["figures"]()
    window.add_widget(page)
    finger.tap("field:body_mass_kg")
    field = finger.find("field:body_mass_kg")
    before = field.text
    window.remove_widget(page)
    finger.type("7")
    finger.key("backspace")
    assert field.text == before and not field.focus


def test_a_page_follows_the_theme_and_the_size_of_type(window, finger):
    page = PAGES["figures"]()
    window.add_widget(page)
    finger.pump(4)
    label = page.body.children[-1].children[-1]
    bright, small = tuple(label.color), label.font_size
    theme.name, theme.font_scale = "dim", 1.5
    finger.pump(2)
    assert tuple(label.color) == theme.colour("ink", "dim") != bright
    assert label.font_size == pytest.approx(1.5 * small)
