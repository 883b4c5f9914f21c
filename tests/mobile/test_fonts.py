"""Every text gets a face that has all its characters, and the faces come with their licence."""

import pytest
from kivy.core.text import LabelBase

from mobile.widgets import fonts


@pytest.mark.parametrize(
    "text", ["Load line 38.0 mm", "Ångström, Müller, Señor Çelik", "34 ± 5 · −1.5° → ✓ ×", "N·m µ", ""]
)
def test_plain_words_figures_arrows_and_ticks_are_in_the_main_face(text):
    assert fonts.font_for(text) == fonts.MAIN


@pytest.mark.parametrize("name", ["Жанна Ковалёва", "Łucja", "Στέλιος", "Nguyễn", "⌫"])
def test_names_the_main_face_lacks_fall_back(name):
    assert fonts.font_for(name) == fonts.FALLBACK


@pytest.mark.parametrize("name", ["ดอกไม้ ตัวอย่าง", "Ash ตัวอย่าง, D-7002"])
def test_thai_names_have_a_face_of_their_own_that_has_latin_letters_too(name):
    assert fonts.font_for(name) == fonts.THAI


def test_the_fallback_has_what_it_is_asked_for():
    from pathlib import Path

    import kivy

    face = Path(kivy.__file__).parent / "data" / "fonts" / "DejaVuSans.ttf"
    covered = fonts.covered_code_points(face)
    assert {ord(c) for c in "ЖаннаКовалёЁŁłαβγ→✓✗⌫ễ"} <= covered


def test_the_faces_are_registered_with_regular_bold_and_italic():
    regular, italic, bold, _bold_italic = LabelBase._fonts[fonts.MAIN]
    assert "Regular" in regular and "Italic" in italic and "Bold" in bold


def test_the_licence_lies_beside_the_faces():
    licence = (fonts.FOLDER / "B612-OFL.txt").read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence and "Copyright 2012" in licence


@pytest.mark.parametrize("face", ["Waree.ttf", "Waree-Bold.ttf"])
def test_the_licence_beside_the_thai_face_is_the_one_that_stands_in_its_file(face):
    from fontTools.ttLib import TTFont

    beside = (fonts.FOLDER / "Waree-LICENCE.txt").read_text(encoding="utf-8").split()
    with TTFont(fonts.FOLDER / face, lazy=True) as font:
        inside = font["name"].getDebugName(13).split()
    assert "Permission" in inside and beside[-len(inside):] == inside


def test_the_longest_line_gives_the_width():
    assert fonts.one_line_width("Record\nMeasure again", 20) == fonts.one_line_width("Measure again", 20)
    assert fonts.one_line_width("Record", 40) > 1.8 * fonts.one_line_width("Record", 20) > 0
