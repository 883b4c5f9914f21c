"""The finger presses only where a person could, and says plainly why not."""

import os
import subprocess
import sys

import pytest
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.widget import Widget

from mobile.device.finding import NotOnScreen
from mobile.widgets.buttons import PlainButton
from mobile.widgets.surface import Named, Words


class _SmallButton(ButtonBehavior, Named, Widget):
    pass


def test_it_scrolls_a_button_into_sight_before_it_presses(show, finger, heard):
    buttons = [PlainButton(text=f"Screw {n}", test_name=f"screw:{n}") for n in range(30)]
    show(*buttons)
    pressed = heard(buttons[29], "on_release")
    finger.tap("screw:29")
    assert len(pressed) == 1


def test_a_drag_scrolls_the_page_and_presses_nothing(show, finger, heard):
    buttons = [PlainButton(text=f"Screw {n}", test_name=f"screw:{n}") for n in range(30)]
    page = show(*buttons)
    pressed = [heard(button, "on_release") for button in buttons]
    finger.drag([(640, 200 + 30 * n) for n in range(12)])
    assert page.scroll_y < 1 and not any(pressed)


def test_a_missing_name_is_answered_with_what_is_there(show, finger):
    show(PlainButton(text="Record", test_name="record"))
    with pytest.raises(NotOnScreen, match="nothing called 'recrod'.*there are: record"):
        finger.tap("recrod")


def test_a_doubled_name_is_refused(show, finger):
    show(PlainButton(test_name="record"), PlainButton(test_name="record"))
    with pytest.raises(NotOnScreen, match="2 widgets"):
        finger.find("record")


def test_a_button_too_small_for_a_finger_is_refused(show, finger):
    show(_SmallButton(test_name="small", size_hint=(None, None), size=(56, 40)))
    with pytest.raises(NotOnScreen, match="56 by 40 px"):
        finger.tap("small")


def test_a_button_outside_the_window_is_refused(window, finger):
    window.add_widget(PlainButton(test_name="far", size_hint=(None, None), width=200, pos=(1400, 10)))
    with pytest.raises(NotOnScreen, match="outside the window"):
        finger.tap("far")


def test_it_reads_what_is_on_the_screen(show, finger):
    show(Words(text="threshold 3 of 24"))
    assert finger.sees("3 of 24") and not finger.sees("4 of 24")


def test_what_never_comes_is_an_error_that_shows_the_screen(show, finger):
    show(Words(text="Sending"))
    with pytest.raises(NotOnScreen, match="the receipt did not come(.|\n)*Sending"):
        finger.wait_for(lambda: False, most_s=0.05, what="the receipt")


def test_settings_come_before_kivy(tmp_path):
    good = (
        "from mobile.device import kivy_settings as k; k.apply(%r); "
        "import os; print(os.environ['KIVY_HOME'])"
    )
    late = "import kivy; from mobile.device import kivy_settings as k; k.apply(%r)"
    home = tmp_path / "new" / "kivy"
    done = _python(good % str(home))
    assert (done.returncode, done.stdout.strip()) == (0, str(home))
    assert not list(home.glob("*.ini"))
    done = _python(late % str(home))
    assert done.returncode != 0 and "KivyAlreadyImported" in done.stderr


def test_a_fault_is_still_told_when_kivy_is_silenced(tmp_path):
    done = _python(
        "from mobile.device import kivy_settings as k; "
        f"k.apply({str(tmp_path)!r}, console_log=False); raise ValueError('a fault')"
    )
    assert "ValueError: a fault" in done.stderr


def _python(code):
    plain = {name: value for name, value in os.environ.items() if not name.startswith("KIVY_")}
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=plain, check=False
    )
