"""A page that has been left is let go, and a page that stays follows the theme."""

import subprocess
import sys
from pathlib import Path

import pytest

from mobile.widgets.gallery import PAGES
from mobile.widgets.theme import theme


ROOT = Path(__file__).resolve().parents[2]


# Kivy 2.3.1 never lets go of a TextInput, not even of a bare one, so pages with one are left out.
@pytest.mark.parametrize("name", ["figures", "notices", "unlock"])
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
