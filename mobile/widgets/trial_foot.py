"""The foot of every page while somebody walks: Stop in the same corner, the last settings above."""

from kivy.metrics import dp
from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.widget import Widget

from mobile.widgets.buttons import PressButton, StopButton
from mobile.widgets.surface import Column, Words
from mobile.widgets.theme import theme
from shared_models.language import spoken


#: Words between Stop and the other buttons need this much.
_SAID_DP = 150


class SettingsLine(Words):
    """The last confirmed settings in one line; ``settings`` are the (name, figure) that it says."""

    settings = ListProperty([])


class TrialFoot(Column):
    """Stop in the outer corner away from the main button, whatever else stands beside it.

    Add buttons in order of weight, the main one last. Where they don't fit beside Stop the lesser
    ones get a line of their own above. ``has_stop`` leaves Stop out where the walk is stopped already.
    ``on_stop()`` at a press; a left-handed theme mirrors it.
    """

    __events__ = ("on_stop",)
    def __init__(self, line: str = "", settings=(), has_stop: bool = True, **kwargs):
        super().__init__(spacing=dp(6), **kwargs)
        self._has_stop = has_stop
        #: Words between Stop and the other buttons.
        self.between = Words(pos_hint={"center_y": 0.5})
        self.line = SettingsLine(text=line, settings=list(settings), test_name="last_confirmed")
        self.stop = StopButton(text=spoken("Stop"), fit=True, test_name="stop")
        self.stop.fbind("on_release", lambda *_: self.dispatch("on_stop"))
        self.buttons: list[PressButton] = []
        self._arranged = None
        self.fbind("width", self._arrange)
        self.between.fbind("text", self._arrange)
        theme.bind(left_handed=self._arrange, font_scale=self._arrange)
        self._arrange()

    def on_stop(self) -> None:
        """The walk is to be stopped."""

    def take(self, button: PressButton) -> None:
        """Add a button."""
        button.fbind("width", self._arrange)
        self.buttons.append(button)
        self._arrange()

    def _arrange(self, *_args):
        for button in self.buttons:  # first: a button that grows or shrinks calls this again
            button.most_width = max(theme.touch, self.width / 2.1, button.whole_width)
        last = self._last_line()
        wanted = (tuple(self.buttons), len(last), theme.left_handed, bool(self.line.text))
        if wanted == self._arranged:
            return
        self._arranged = wanted
        for row in [r for r in self.children if isinstance(r, BoxLayout)]:
            row.clear_widgets()
        if self.between.parent is not None:
            self.between.parent.remove_widget(self.between)
        self.clear_widgets()
        if self.line.text:
            self.add_widget(self.line)
        above = [b for b in self.buttons if b not in last]
        if above:
            self.add_widget(self._row([], above))
        self.add_widget(self._row([self.stop] if self._has_stop else [], last, self.between))

    def _last_line(self) -> list[PressButton]:
        """The weightiest buttons that fit beside Stop."""
        said = dp(_SAID_DP) * theme.font_scale if self.between.text else 0
        left, found = self.width - self.stop.width - said, []
        for button in reversed(self.buttons):
            left -= button.width + theme.gap
            if found and left < theme.gap:
                break
            found.insert(0, button)
        return found

    @staticmethod
    def _row(first: list, last: list, between=None) -> BoxLayout:
        row = BoxLayout(spacing=theme.gap, size_hint_y=None)
        row.bind(minimum_height=row.setter("height"))
        widgets = [*first, between or Widget(size_hint_y=None, height=1), *last]
        for widget in reversed(widgets) if theme.left_handed else widgets:
            row.add_widget(widget)
        return row
