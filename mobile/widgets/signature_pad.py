"""A paper to sign on by hand, with what takes a stroke back."""

from __future__ import annotations

from kivy.graphics import Color, Line
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty, StringProperty

from mobile.widgets import buttons, kv_beside, message_line  # noqa: F401 (used by the kv file)
from mobile.widgets.drawing_pad import DrawingPad
from mobile.widgets.surface import Column
from mobile.widgets.theme import theme

#: The paper is so many times as wide as it is high, at any size, and at least so large.
PAPER_WIDE, LEAST_HEIGHT_DP = 2.5, 120
#: Where the line to sign on lies, as a share of the paper's height, and how far from its sides.
_LINE_AT, _LINE_IN = 0.22, 0.032


class SignaturePaper(DrawingPad):
    """The paper with its line."""

    def draw_ground(self, left, bottom, wide, high):
        Color(*theme.colour("ink_soft"))
        at = bottom + high * _LINE_AT
        Line(points=[left + wide * _LINE_IN, at, left + wide * (1 - _LINE_IN), at], width=dp(1))
        cross = dp(6)
        x, y = left + wide * _LINE_IN + cross, at + 2 * cross
        for sign in (1, -1):
            Line(points=[x - cross, y - sign * cross, x + cross, y + sign * cross], width=dp(1.2))


class SignaturePad(Column):
    """``label`` above a paper of at least 300 by 120 dp, ``name`` and ``message`` beneath it.

    ``strokes`` is what is drawn; ``on_edit(strokes)`` follows each change that a person made. The
    paper is called ``<test_name>:paper``, the buttons ``<test_name>:undo`` and
    ``<test_name>:clear``. With ``only_shows`` nothing can be drawn.
    """

    __events__ = ("on_edit",)
    label = StringProperty("")
    name = StringProperty("")
    message = StringProperty("")
    message_kind = StringProperty("")
    strokes = ObjectProperty(())
    only_shows = BooleanProperty(False)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.paper = self.ids.paper
        self.paper.fbind("on_drawn", self._drawn)
        self.fbind("strokes", self._show)
        self.fbind("only_shows", self._show_buttons)
        self._show_buttons()
        self._show()

    def on_edit(self, strokes) -> None:
        """A person drew, or took something back."""

    def _show(self, *_args):
        if self.paper.strokes != self.strokes:
            self.paper.strokes = self.strokes

    def _show_buttons(self, *_args):
        """What was signed is only shown: there is nothing to take back."""
        buttons = self.ids.buttons
        if self.only_shows and buttons.parent is self:
            self.remove_widget(buttons)
        elif not self.only_shows and buttons.parent is None:
            self.add_widget(buttons)

    def _drawn(self, _paper):
        self.strokes = self.paper.strokes
        self.message = ""
        self.dispatch("on_edit", self.strokes)


kv_beside.load(__file__)
