"""One display-less window for all tests of the tablet, and a finger to press it with.

Pytest reads this before it imports any test beside it, so the window is there before Kivy looks
for a real one.
"""

import tempfile

import pytest

from mobile.device import headless_window, kivy_settings
from tests.tidy_window import tidied

_KIVY_HOME = tempfile.TemporaryDirectory(prefix="stancebook-kivy-")
kivy_settings.apply(_KIVY_HOME.name, console_log=False)
_WINDOW = headless_window.install(1280, 800)


@pytest.fixture
def window():
    """The tablet's window in landscape, empty, with the plain theme; empty again afterwards."""
    from kivy.base import EventLoop

    from mobile.widgets.theme import theme

    _WINDOW.create_window()
    if EventLoop.status != "started":
        EventLoop.start()
    with tidied(_WINDOW):
        _WINDOW.set_size(1280, 800)
        yield _WINDOW
    theme.name, theme.font_scale, theme.left_handed = "sun", 1.0, False
    for _ in range(3):
        EventLoop.idle()


@pytest.fixture
def finger(window):
    """A finger and a keyboard on that window."""
    from mobile.device.finger import Finger

    return Finger(window)


@pytest.fixture
def show(window, finger):
    """Show widgets one below the other in a scrolling pane, with a pad under it where given.

    ``width`` in pixels; the whole window when not given.
    """
    from kivy.uix.boxlayout import BoxLayout

    from mobile.widgets.surface import Column, Page

    def showing(*widgets, pad=None, width=None):
        around = BoxLayout(orientation="vertical")
        page, column = Page(), Column(spacing=12)
        for widget in widgets:
            column.add_widget(widget)
        page.add_widget(column)
        if width is not None:
            page.size_hint_x, page.width = None, width
        around.add_widget(page)
        if pad is not None:
            around.add_widget(pad)
        window.add_widget(around)
        finger.settle()
        finger.pump(6)
        return page

    return showing


@pytest.fixture
def heard():
    """A list of what a widget dispatches, filled as it does: ``heard(widget, 'on_edit')``."""

    def hearing(widget, event):
        values = []
        widget.fbind(event, lambda _widget, *given: values.append(given[0] if given else None))
        return values

    return hearing
