"""The buttons. One main button a screen; the stop button is the only thing in the stop colour.

All dispatch ``on_press`` and ``on_release``, wrap their words, and are never smaller than a finger
needs.
"""

from kivy.metrics import dp
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from mobile.widgets import kv_beside
from mobile.widgets.surface import Surface, Words
from mobile.widgets.theme import theme


class PressButton(ButtonBehavior, Words):
    """What all buttons with words share; use one of the classes below.

    ``fit`` makes it as wide as its words, ``least_width`` (pixels) at least so wide.
    """

    ground_tone = StringProperty("field")
    edge_tone = StringProperty("ink")
    text_tone = StringProperty("ink")
    edge_width = NumericProperty(dp(2))
    least_width = NumericProperty(0)

    def _fit(self, *_args):
        super()._fit()
        if self.fit:
            self.width = max(self.width, self.least_width, theme.touch)


class MainButton(PressButton):
    """The one thing to do next, in the working colour; bottom right (see :class:`FootBar`)."""


class PlainButton(PressButton):
    """Anything else that can be done."""


class QuietButton(PressButton):
    """Something seldom done, in words without an edge, such as going back."""


class StopButton(PressButton):
    """Stops a trial. Nothing else uses this colour."""


class FootBar(Surface):
    """The foot of a screen: what is said at one side, the buttons at the other.

    Add the buttons in order of weight, the main one last; it comes to lie in the outer corner, at
    the right, or at the left when the theme is left-handed. Anything that is not a button takes the
    room that is left. When the words and the buttons do not fit side by side the words come to lie
    above.
    """

    def __init__(self, **kwargs):
        self._ordered = []
        super().__init__(**kwargs)
        theme.bind(left_handed=self._arrange)
        self.fbind("width", self._arrange)
        self._arrange()

    def add_widget(self, widget, *args, **kwargs):
        self._ordered.append(widget)
        for name in ("width", "size_hint_x"):
            if isinstance(widget, PressButton):
                widget.fbind(name, self._arrange)
        super().add_widget(widget, *args, **kwargs)
        self._arrange()

    def remove_widget(self, widget, *args, **kwargs):
        if widget in self._ordered:
            self._ordered.remove(widget)
        super().remove_widget(widget, *args, **kwargs)

    def _arrange(self, *_args):
        buttons = [w for w in self._ordered if isinstance(w, PressButton)]
        said = [w for w in self._ordered if w not in buttons]
        for button in buttons:
            button.most_width = max(theme.touch, (self.width - 2 * self.padding[0]) / 2.2)
        if theme.left_handed:
            wanted = [*reversed(buttons), *said]
        else:
            wanted = [*said, *buttons]
        if list(reversed(self.children)) == wanted:
            return
        for widget in wanted:
            super().remove_widget(widget)
        for widget in wanted:
            super().add_widget(widget)


kv_beside.load(__file__)
