"""A photo in a list: a small picture of it, what it shows, and what is said of it."""

from __future__ import annotations

from kivy.properties import ObjectProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from mobile.widgets import drawing_pad, kv_beside  # noqa: F401 (used by the kv file)
from mobile.widgets.surface import Row


class PhotoRow(ButtonBehavior, Row):
    """``title``, ``subtitle``, ``trailing``, and at the left the picture with its marks.

    Until ``pad.show_picture`` is called the place of the picture says ``instead``. Dispatches
    ``on_release()`` when pressed.
    """

    title = StringProperty("")
    subtitle = StringProperty("")
    trailing = StringProperty("")
    instead = StringProperty("")
    pad = ObjectProperty(None)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.pad = self.ids.pad

    def show_picture(self, width: int, height: int, rgb: bytes) -> None:
        """Put the picture into its place."""
        self.instead = ""
        self.pad.show_picture(width, height, rgb)


kv_beside.load(__file__)
