"""Heads, list rows, the strip of last settings and the line of progress."""

from kivy.metrics import dp
from kivy.properties import (
    BooleanProperty,
    BoundedNumericProperty,
    ListProperty,
    NumericProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.stacklayout import StackLayout

from mobile.widgets import kv_beside
from mobile.widgets.buttons import PlainButton
from mobile.widgets.fonts import longest_word_width, one_line_width
from mobile.widgets.marks import STATES
from mobile.widgets.surface import Column, Row
from mobile.widgets.theme import theme


#: A row narrower than this, at a font scale of 1, has no room for two columns of words that wrap.
_NARROW_DP = 300


class Heading(Column):
    """The ``title`` of a page and the one sentence (``lead``) that says what to do."""

    title = StringProperty("")
    lead = StringProperty("")


class ListRow(ButtonBehavior, Row):
    """A person, a fitting, a screw: ``title``, ``subtitle``, and at the right ``trailing`` with the
    mark of ``row_state`` (a state of :data:`~mobile.widgets.marks.STATES`, or ``''`` for no mark).

    Dispatches ``on_release()`` when pressed; with ``pressable: False`` it only shows.
    """

    title = StringProperty("")
    subtitle = StringProperty("")
    subtitle_role = StringProperty("small")
    """Type of the subtitle; ``'body'`` where it must be read while working."""
    trailing = StringProperty("")
    row_state = OptionProperty("", options=["", *STATES])
    pressable = BooleanProperty(True)
    trails_beneath = BooleanProperty(False)

    def breaks_beside(self, trailing_room: float, room: float, title: str, subtitle: str, trailing: str, _font_scale: float) -> bool:
        """Whether a word would be broken with what trails beside the rest, in ``room`` pixels for both."""
        if not trailing:
            return False
        body = theme.type_size("body")
        # A little more than it is: the words at the left take what whole pixels leave.
        beside = min(one_line_width(trailing, body) + 4, trailing_room)
        longest = max(longest_word_width(title, body, bold=True), longest_word_width(subtitle, theme.type_size(self.subtitle_role)))
        wraps = one_line_width(trailing, body) + 2 > trailing_room
        return longest > room - beside or wraps and (
            self.width < dp(_NARROW_DP) * theme.font_scale or longest_word_width(trailing, body) + 2 > trailing_room
        )

    def on_touch_down(self, touch):
        return super().on_touch_down(touch) if self.pressable else False


class ProgressLine(Column):
    """How far some work has got: ``share`` from 0 to 1 and ``words`` that say it.

    With ``cancel_words`` a button dispatches ``on_cancel()``; it is called ``<test_name>:cancel``.
    """

    __events__ = ("on_cancel",)
    share = BoundedNumericProperty(0, min=0, max=1)
    words = StringProperty("")
    cancel_words = StringProperty("")

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._button = PlainButton(fit=True)
        self._button.fbind("on_release", lambda _button: self.dispatch("on_cancel"))
        for name in ("cancel_words", "test_name"):
            self.fbind(name, self._show_button)
        self._show_button()

    def on_cancel(self) -> None:
        """A person wants the work stopped."""

    def _show_button(self, *_args):
        self._button.text = self.cancel_words
        self._button.test_name = f"{self.test_name}:cancel"
        line = self.ids.line
        if self.cancel_words and self._button.parent is None:
            line.add_widget(self._button)
        elif not self.cancel_words and self._button.parent is not None:
            line.remove_widget(self._button)


class Setting(Row):
    """One setting in the strip: its ``name`` and its ``figure`` in bold."""

    name = StringProperty("")
    figure = StringProperty("")
    room = NumericProperty(0)


class SettingCells(StackLayout):
    """Settings one behind the other, on as many lines as they need."""


class LastSettings(Column):
    """What was last confirmed: ``label`` and ``settings``, a list of (name, figure)."""

    label = StringProperty("")
    settings = ListProperty([])

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.fbind("settings", self._show)
        self._show()

    @property
    def least_width(self) -> float:
        """Pixels that the longest name needs with its figure on one line."""
        name, figure = (theme.type_size(role) for role in (("small", "body") if theme.large_type else ("body", "unit")))
        return max((
            one_line_width(said, name) + one_line_width(worth, figure, bold=True) + dp(15) for said, worth in self.settings
        ), default=0)

    def _show(self, *_args):
        cells = self.ids.cells
        cells.clear_widgets()
        for name, figure in self.settings:
            cells.add_widget(Setting(name=name, figure=figure))


kv_beside.load(__file__)
