"""The plain grounds everything lies on, and the wrapped words that lie on them."""

from kivy.effects.scroll import ScrollEffect
from kivy.metrics import dp
from kivy.properties import (
    BooleanProperty,
    NumericProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView

from mobile.widgets import kv_beside
from mobile.widgets.fonts import one_line_width
from mobile.widgets.theme import TYPE_SCALE_SP, theme
from mobile.widgets.writing import InOrder


class Named:
    """A widget that tests and the rehearsal can find: ``test_name`` is unique on its screen."""

    test_name = StringProperty("")


class Surface(Named, BoxLayout):
    """A box with a ground, and where wanted an edge, a bar at its left and a line under it.

    ``ground_tone``, ``edge_tone``, ``bar_tone`` and ``under_tone`` name colours of the theme; an
    empty one is not drawn.
    """

    ground_tone = StringProperty("")
    edge_tone = StringProperty("")
    edge_width = NumericProperty(dp(1.5))
    bar_tone = StringProperty("")
    bar_width = NumericProperty(dp(6))
    under_tone = StringProperty("")
    under_width = NumericProperty(dp(3))
    corner = NumericProperty(dp(4))


class Column(Surface):
    """Children one below the other, as high as they need (``least_height`` at least)."""

    least_height = NumericProperty(0)


class Row(Surface):
    """Children side by side, as high as the highest of them (``least_height`` at least)."""

    least_height = NumericProperty(0)


class SteadyScroll:
    """Mixed in before a ScrollView: a press that trembles in place stays a press.

    Kivy adds up every little movement of a finger, so a gloved fingertip that wanders on the spot
    soon counts as a drag, and the press is lost. What counts here is how far it is from where it
    was put down.
    """

    def on_scroll_move(self, touch):
        known = touch.ud.get(self._get_uid())
        if known and known["mode"] == "unknown":
            # What Kivy is about to add makes it the distance from where the finger was put down.
            known["dx"] = abs(touch.x - touch.ox) - abs(touch.dx)
            known["dy"] = abs(touch.y - touch.oy) - abs(touch.dy)
        return super().on_scroll_move(touch)


class Page(SteadyScroll, Named, ScrollView):
    """A pane that scrolls up and down; put one :class:`Column` in it.

    It stops at its ends. The springing effect that Kivy takes by default would go on pulling for
    some frames after the content has been exchanged, and carry the new page away.
    """

    def __init__(self, **kwargs):
        kwargs.setdefault("effect_cls", ScrollEffect)
        super().__init__(**kwargs)

    def to_top(self) -> None:
        """Show the content from its beginning, and end whatever movement was under way."""
        self.effect_y.velocity = 0
        self.scroll_y = 1


class Words(Named, InOrder):
    """Text that wraps within the width it is given and is as high as it then needs.

    ``role`` gives the size of type, ``tone`` the colour; the font follows the text. With ``fit`` it
    takes the width of its longest line, but never more than ``most_width`` pixels (when above 0).
    An empty text takes no height.
    """

    role = OptionProperty("body", options=list(TYPE_SCALE_SP))
    tone = StringProperty("ink")
    fit = BooleanProperty(False)
    most_width = NumericProperty(0)
    least_height = NumericProperty(0)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("text", "font_size", "bold", "fit", "most_width", "padding"):
            self.fbind(name, self._fit)
        self._fit()

    @property
    def natural_width(self) -> float:
        """The width in pixels at which the text needs no wrapping, padding included."""
        sides = self.padding[0] + self.padding[2]
        if not self.text:
            return sides
        # Kivy rounds while it wraps; a pixel of room keeps the last word on its line.
        return one_line_width(self.text, self.font_size, bold=self.bold) + sides + 2

    def _fit(self, *_args):
        if not self.fit:
            return
        self.size_hint_x = None
        width = self.natural_width
        self.width = min(width, self.most_width) if self.most_width > 0 else width


kv_beside.load(__file__)

__all__ = ["Column", "Named", "Page", "Row", "SteadyScroll", "Surface", "Words", "theme"]
