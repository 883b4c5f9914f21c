"""The striped band under the header: told by stripes and words that nobody is being fitted."""

from typing import Callable

from kivy.graphics import Mesh, Rectangle
from kivy.metrics import dp
from kivy.properties import StringProperty

from mobile.widgets import kv_beside
from mobile.widgets.buttons import PlainButton
from mobile.widgets.marks import Mark
from mobile.widgets.surface import Row


class Stripes(Mark):
    """Slanting stripes over its whole place."""

    def draw(self, x: float, y: float, r: float) -> None:
        """Stripes as wide as the gaps between them, leaning by half a right angle."""
        self.use("field")
        Rectangle(pos=self.pos, size=self.size)
        self.use("doubt")
        wide, high = dp(14), self.height
        left = self.x
        while left + high + wide <= self.right:
            corners = (
                (left, self.y), (left + wide, self.y), (left + wide + high, self.top), (left + high, self.top),
            )
            Mesh(
                vertices=[n for cx, cy in corners for n in (cx, cy, 0, 0)], indices=[0, 1, 2, 3],
                mode="triangle_fan",
            )
            left += 2 * wide


class PracticeBand(Row):
    """``words`` between stripes, and one button that dispatches ``on_leave()``; before it another where one is put."""

    __events__ = ("on_leave",)
    words = StringProperty("")
    leave_words = StringProperty("")

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._button = PlainButton(fit=True, test_name="practice:leave", pos_hint={"center_y": 0.5})
        self.fbind("leave_words", self._name_button)
        self._button.fbind("on_release", lambda _button: self.dispatch("on_leave"))
        self.add_widget(self._button)
        self._door: PlainButton | None = None
        self._name_button()

    def door(self, text: str, act: Callable[[], None], test_name: str) -> None:
        """Put a button before the one that leaves, for a page without room beneath."""
        self.clear_door()
        self._door = PlainButton(text=text, fit=True, test_name=test_name, pos_hint={"center_y": 0.5})
        self._door.fbind("on_release", lambda *_: act())
        self.add_widget(self._door, index=1)

    @property
    def has_door(self) -> bool:
        """Whether such a button is there."""
        return self._door is not None

    def clear_door(self) -> None:
        """Take that button away."""
        if self._door is not None:
            self.remove_widget(self._door)
            self._door = None

    def _name_button(self, *_args):
        self._button.text = self.leave_words

    def on_leave(self) -> None:
        """A person wants to go back to the record of people."""


kv_beside.load(__file__)
