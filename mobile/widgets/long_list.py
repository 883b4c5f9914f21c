"""A list of thousands of lines of which only those in sight are made."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.effects.scroll import ScrollEffect
from kivy.metrics import dp
from kivy.properties import ListProperty, OptionProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.recycleboxlayout import RecycleBoxLayout  # noqa: F401 (used by the kv file)
from kivy.uix.recycleview import RecycleView
from kivy.uix.recycleview.views import RecycleDataViewBehavior

from mobile.widgets import kv_beside
from mobile.widgets.marks import STATES
from mobile.widgets.surface import Named, SteadyScroll, Surface
from mobile.widgets.theme import theme
from mobile.widgets.writing import InOrder

#: Heights in dp: of a line at the usual size of type, and what its frame takes of it.
_LINE_DP, _HEAD_DP, _FRAME_DP = 76, 48, 22


class ShortLabel(InOrder):
    """One line of a list, which ends in dots where the room is short."""


class LongListHead(Surface):
    """The heading of a group."""

    title = StringProperty("")


class LongListLine(ButtonBehavior, RecycleDataViewBehavior, Surface):
    """One line; pressing it tells the list its key."""

    key = StringProperty("")
    title = StringProperty("")
    subtitle = StringProperty("")
    trailing = StringProperty("")
    row_state = OptionProperty("", options=["", *STATES])

    def on_release(self):
        parent = self.parent
        while parent is not None and not isinstance(parent, LongList):
            parent = parent.parent
        if parent is not None:
            parent.dispatch("on_choose", self.key)


class LongList(SteadyScroll, Named, RecycleView):
    """Shows ``lines``, dicts with ``title`` and for a pressable line ``key``, ``subtitle``,
    ``trailing``, ``row_state``, ``test_name``.  A press dispatches ``on_choose(key)``.
    """

    __events__ = ("on_choose",)
    lines = ListProperty([])

    def __init__(self, **kwargs):
        kwargs.setdefault("effect_cls", ScrollEffect)
        super().__init__(**kwargs)
        self.fbind("lines", self._show)
        theme.bind(font_scale=self._show)
        self._show()

    def on_choose(self, key: str) -> None:
        """A line was pressed."""

    def _show(self, *_args):
        scale = theme.font_scale
        line = dp(_FRAME_DP + (_LINE_DP - _FRAME_DP) * scale)
        head = dp(_HEAD_DP * scale)
        self.data = [
            {**said, "viewclass": "LongListLine" if said.get("key") else "LongListHead",
             "height": line if said.get("key") else head}
            for said in self.lines
        ]
        # A list that was replaced by another begins at its beginning.
        Clock.schedule_once(lambda _dt: setattr(self, "scroll_y", 1), 0)


class LongListColumn(BoxLayout):
    """Where a page keeps what stands above its long list."""


kv_beside.load(__file__)
