"""A page that has been left is let go, and a page that stays follows the theme."""

import gc
import subprocess
import sys
import weakref
from pathlib import Path

import pytest

from mobile.widgets.buttons import PlainButton, keep_within
from mobile.widgets.gallery import PAGES
from mobile.widgets.surface import Column, Words
from mobile.widgets.theme import theme


ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", PAGES)
def test_a_page_that_was_left_is_let_go(name):
    told = subprocess.run(
        [sys.executable, "-m", "tests.mobile.leaving", name], cwd=ROOT,
        capture_output=True, text=True, timeout=60,
    )
    assert told.returncode == 0, told.stdout + told.stderr


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


def test_a_page_that_was_left_may_be_taken_away_at_any_moment_while_the_theme_changes(window, finger, monkeypatch):
    colour = type(theme).colour

    def colour_and_search(*given):
        # What Python may do by itself wherever an object is made, for as long as it is allowed to.
        if gc.isenabled() and left() is not None:
            gc.collect()
        return colour(*given)

    page = Column()
    for number in range(3):
        page.add_widget(Words(text=f"Line {number}"))
    left = weakref.ref(page)
    del page
    assert left() is not None, "nothing has looked for garbage yet"
    monkeypatch.setattr(type(theme), "colour", colour_and_search)
    theme.font_scale, theme.name, theme.left_handed = 1.5, "dim", True
    finger.pump(2)
    gc.collect()
    assert left() is None


def test_a_theme_that_is_refused_leaves_the_search_for_garbage_as_it_was():
    with pytest.raises(ValueError):
        theme.name = "pink"
    assert gc.isenabled()


def test_a_column_does_not_keep_the_buttons_that_were_taken_out_of_it(window, finger):
    column = Column(size_hint_x=None, width=600)
    window.add_widget(column)
    button = keep_within(PlainButton(text="Attach a file", fit=True), column)
    column.add_widget(button)
    finger.pump(4)
    column.width = 120
    assert button.width <= 120
    taken_out = weakref.ref(button)
    column.remove_widget(button)
    finger.pump(4)
    del button
    gc.collect()
    assert taken_out() is None
    column.width = 200
