"""The buttons. One main button a screen; the stop button is the only thing in the stop colour.

All dispatch ``on_press`` and ``on_release``, wrap their words, and are never smaller than a finger
needs.
"""

from kivy.metrics import dp
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from mobile.widgets import kv_beside
from mobile.widgets.fonts import longest_word_width
from mobile.widgets.surface import Column, Row, Surface, Words
from mobile.widgets.theme import theme


# Least width of the words beside the buttons of a foot, in pixels at a font scale of 1.
LEAST_SAID = dp(250)


class PressButton(ButtonBehavior, Words):
    """What all buttons with words share; use one of the classes below.

    ``fit`` makes it as wide as its words, ``least_width`` (pixels) at least so wide.
    """

    ground_tone = StringProperty("field")
    edge_tone = StringProperty("ink")
    text_tone = StringProperty("ink")
    edge_width = NumericProperty(dp(2))
    least_width = NumericProperty(0)

    @property
    def whole_width(self) -> float:
        """Pixels at which no word on it is broken."""
        return longest_word_width(self.text, self.font_size, bold=self.bold) + self.padding[0] + self.padding[2] + 2

    def _fit(self, *_args):
        super()._fit()
        if self.fit:
            self.width = max(self.width, self.least_width, theme.touch)

    def _stay_within(self, column, *_args):
        self.most_width = max(theme.touch, column.width - column.padding[0] - column.padding[2])


class MainButton(PressButton):
    """The one thing to do next, in the working colour; bottom right (see :class:`FootBar`)."""


class PlainButton(PressButton):
    """Anything else that can be done."""


class QuietButton(PressButton):
    """Something seldom done, in words without an edge, such as going back."""


class StopButton(PressButton):
    """Stops a trial. Nothing else uses this colour."""


def keep_within(button: PressButton, column) -> PressButton:
    """Let a button that fits its words be no wider than the column it lies in; returns it."""
    # Bound weakly: a page's column outlives the buttons that lie in it.
    column.bind(width=button._stay_within)
    button._stay_within(column)
    return button


class Answers(Column):
    """Answers in a column: at the two ends of a line where all fit on it, else one beneath the other.

    Give the main one last.
    """

    def __init__(self, *buttons: PressButton, **kwargs):
        self._buttons, self._is_beside = buttons, None
        super().__init__(spacing=dp(12), **kwargs)
        for button in buttons:
            for name in ("text", "font_size"):
                button.fbind(name, self._arrange)
        self.fbind("width", self._arrange)
        self._arrange()

    def _arrange(self, *_args) -> None:
        needed = sum(max(b.natural_width, b.least_width) for b in self._buttons) + self.spacing * len(self._buttons)
        beside = needed <= self.width
        if beside == self._is_beside:
            return
        self._is_beside = beside
        self.clear_widgets()
        for button in self._buttons:
            if button.parent is not None:
                button.parent.remove_widget(button)
            button.fit, button.size_hint_x = beside, None if beside else 1
        if not beside:
            for button in self._buttons:
                self.add_widget(button)
            return
        line = Row(spacing=self.spacing)
        *others, last = self._buttons
        for widget in (*others, Widget(size_hint_y=None, height=1), last):
            line.add_widget(widget)
        self.add_widget(line)


class FootRow(BoxLayout):
    """The line of buttons in a foot."""


class FootBar(Surface):
    """The foot of a screen: what is said at one side, the buttons at the other.

    Add the buttons in order of weight, the main one last; it comes to lie in the outer corner, at
    the right, or at the left when the theme is left-handed. Anything that is not a button takes the
    room that is left. When the words and the buttons do not fit side by side the words come to lie
    above.
    """

    def __init__(self, **kwargs):
        self._ordered = []
        self._arranged = None
        self._rows: list[FootRow] = []
        super().__init__(**kwargs)
        theme.bind(left_handed=self._arrange)
        self.fbind("width", self._arrange)
        self._arrange()

    def add_widget(self, widget, *args, **kwargs):
        self._ordered.append(widget)
        for name in ("width", "size_hint_x"):
            if isinstance(widget, PressButton):
                widget.fbind(name, self._arrange)
        self._arrange()

    def remove_widget(self, widget, *args, **kwargs):
        if widget in self._ordered:
            self._ordered.remove(widget)
            self._take_out(widget)
        self._arranged = None
        self._arrange()

    @property
    def shown(self) -> list:
        """What the foot holds, in the order it was added."""
        return list(self._ordered)

    def _take_out(self, widget):
        if isinstance(widget.parent, FootRow):
            widget.parent.remove_widget(widget)
        elif widget.parent is not None:
            super().remove_widget(widget)

    def _arrange(self, *_args):
        buttons = [w for w in self._ordered if isinstance(w, PressButton)]
        said = [w for w in self._ordered if w not in buttons]
        for button in buttons:
            button.most_width = max(theme.touch, (self.width - 2 * self.padding[0]) / 2.2, button.whole_width)
        lines = self._lines(buttons)
        # Settings with long names ask for more than words that can wrap anywhere.
        needed = max([LEAST_SAID * theme.font_scale, *(getattr(widget, "least_width", 0) for widget in said)])
        beside = said if len(lines) == 1 and self._left_over(buttons) >= needed else []
        above = [] if beside else said
        wanted = (above, beside, lines, theme.left_handed)
        if wanted == self._arranged:
            return
        self._arranged = wanted
        for widget in self._ordered:
            self._take_out(widget)
        for row in self._rows:
            super().remove_widget(row)
        self._rows = [self._row(line, beside) for line in lines]
        for widget in (*above, *self._rows):
            super().add_widget(widget)

    def _row(self, line, beside) -> FootRow:
        """A line of buttons in its corner, kept there by the words or by the room left over."""
        row = FootRow()
        filling = beside or [Widget(size_hint_y=None, height=1)]
        for widget in [*reversed(line), *filling] if theme.left_handed else [*filling, *line]:
            row.add_widget(widget)
        return row

    def _lines(self, buttons) -> list[list]:
        """Share the buttons out over as many lines as they need, the main one on the last."""
        lines: list[list] = [[]]
        for button in reversed(buttons):
            if lines[0] and self._left_over([button, *lines[0]]) < 0:
                lines.insert(0, [])
            lines[0].insert(0, button)
        return lines

    def _left_over(self, buttons) -> float:
        """Pixels of a line that these buttons leave."""
        taken = sum(b.width for b in buttons) + theme.gap * len(buttons)
        return self.width - self.padding[0] - self.padding[2] - taken


kv_beside.load(__file__)
