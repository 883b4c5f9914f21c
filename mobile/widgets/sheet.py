"""A sheet over the page, for a correction or a question that must be answered first."""

from kivy.core.window import Window
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty
from kivy.uix.modalview import ModalView

from mobile.widgets import kv_beside
from mobile.widgets import listing  # noqa: F401 (used by the kv file)
from mobile.widgets.surface import Named
from mobile.widgets.theme import theme


class Sheet(Named, ModalView):
    """``title``, ``lead``, what was added to ``content``, and two buttons.

    In landscape it lies in the middle, in portrait at the foot; when its content is higher than
    the window it scrolls. ``main_words`` and ``plain_words`` name the buttons; they dispatch
    ``on_confirm()`` and ``on_withdraw()`` and are called ``<test_name>:confirm`` and
    ``<test_name>:withdraw``. Withdrawing closes the sheet; confirming leaves that to the screen,
    which may find that what was typed can't be taken. A press beside the sheet does nothing, so
    nothing typed is lost by a slip. ``can_confirm`` enables the main button.
    """

    __events__ = ("on_confirm", "on_withdraw")
    title = StringProperty("")
    lead = StringProperty("")
    main_words = StringProperty("")
    plain_words = StringProperty("")
    can_confirm = BooleanProperty(True)
    content = ObjectProperty(None)
    """The :class:`~mobile.widgets.surface.Column` to add widgets to; it scrolls when it must."""

    below = ObjectProperty(None)
    """A column under the content that never scrolls away, for a keypad."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.content, self.below = self.ids.content, self.ids.below
        Window.bind(size=self._place)
        for part in ("inside", "below", "actions"):
            self.ids[part].fbind("height", self._place)
        self._place()

    def open(self, *_args, **kwargs):
        """Show the sheet at once, without a movement to wait for."""
        kwargs["animation"] = False
        super().open(*_args, **kwargs)
        self._place()

    def dismiss(self, *_args, **kwargs):
        """Close the sheet at once."""
        kwargs["animation"] = False
        super().dismiss(*_args, **kwargs)

    def on_confirm(self) -> None:
        """A person pressed the main button."""

    def on_withdraw(self) -> None:
        """A person pressed the plain button; the sheet is closing."""

    def withdraw(self) -> None:
        """Close the sheet without its answer."""
        self.dispatch("on_withdraw")
        self.dismiss()

    def _place(self, *_args):
        portrait = Window.height > Window.width
        self.size_hint = (None, None)
        self.width = Window.width if portrait else min(Window.width - 4 * theme.gap, 900)
        needed = sum(self.ids[part].height for part in ("inside", "below", "actions"))
        self.height = min(needed, Window.height - 2 * theme.gap)
        upright = {"y": 0} if portrait else {"center_y": 0.5}
        self.pos_hint = {"center_x": 0.5, **upright}


kv_beside.load(__file__)
