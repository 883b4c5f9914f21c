"""The drawing of an alignment in the picture pane: two planes by tabs, or both where they have room."""

from __future__ import annotations

from typing import Callable

from kivy.clock import Clock
from kivy.metrics import dp

from shared_models.drawings.alignment import Picture
from shared_models.drawings.plain_shapes import Room
from shared_models.wording.alignment_drawing import PLANES
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.drawing import DrawingView
from mobile.widgets.fonts import one_line_width
from mobile.widgets.surface import Surface, Words
from mobile.widgets.theme import theme

#: Height of a line of body type as a part of its size.
_LINE = 1.3
#: A drawing needs this height, so both planes are shown from twice of it on.
_LEAST_HIGH_DP = 420
#: Below these heights the drawing has the room of the words beneath it, and of the tabs: the field
#: in hand chooses the plane all the same.
_CAPTION_FROM_DP, _TABS_FROM_DP = 300, 300
#: Of a view's height, what words beneath may take; of a line's width, what words of it fill.
_MOST_WORDS, _FILLED = 0.36, 0.85


class PlaneView(Surface):
    """One drawing on white, with the small words beneath it."""

    def __init__(self, plane: str, draw: Callable[[str, Room], Picture], **kwargs):
        super().__init__(orientation="vertical", ground_tone="field", edge_tone="ink", **kwargs)
        self.plane, self._draw = plane, draw
        self.drawing = DrawingView(test_name=f"drawing:{plane}")
        self.caption = Words(role="small", tone="ink_soft", padding=[dp(12), dp(2), dp(12), dp(8)])
        self.add_widget(self.drawing)
        self.add_widget(self.caption)
        self._again = Clock.create_trigger(lambda _dt: self.redraw(), -1)
        self.drawing.fbind("size", lambda *_: self._again())
        # Bound weakly: the theme outlives every drawing.
        theme.bind(font_scale=self._type_grew)
        self.redraw()

    def _type_grew(self, *_args) -> None:
        self._again()

    def redraw(self) -> None:
        """Draw anew what is typed now; the words change only where they differ."""
        high = max(self.drawing.height - self.drawing.margin[1] - self.drawing.margin[3], 1.0)
        wide = max(self.drawing.width - self.drawing.margin[0] - self.drawing.margin[2], 1.0)
        line = theme.type_size("body") * _LINE / high
        picture = self._draw(self.plane, Room(wide / high, line))
        self.drawing.scene = picture.scene
        self.caption.text = picture.caption if self.height >= dp(_CAPTION_FROM_DP) * theme.font_scale and self._has_room_for(picture.caption) else ""

    def _has_room_for(self, words: str) -> bool:
        """Whether words beneath leave the drawing most of the height."""
        caption = self.caption
        across = max(self.width - caption.padding[0] - caption.padding[2], 1.0)
        # Lines end at words, so that not all of each is filled.
        lines = sum(1 + int(one_line_width(part, caption.font_size) / (_FILLED * across)) for part in words.split("\n"))
        return lines * caption.font_size * _LINE <= _MOST_WORDS * self.height


class AlignmentPicture(Surface):
    """The planes of one alignment; ``draw`` gives the drawing of a plane for a room."""

    def __init__(self, planes: tuple[str, ...], draw: Callable[[str, Room], Picture], **kwargs):
        super().__init__(orientation="vertical", spacing=dp(8), **kwargs)
        names = PLANES
        self.views = {plane: PlaneView(plane, draw) for plane in planes}
        self.tabs = ChoiceRow(
            test_name="plane", options=[(plane, names[plane]) for plane in planes], value=planes[0],
        )
        self.tabs.fbind("on_edit", lambda _row, plane: self.show(plane))
        self._shown: tuple[str, ...] = ()
        self._arranged: tuple = ()
        self.fbind("height", lambda *_: self.arrange())
        self.arrange()

    def show(self, plane: str) -> None:
        """Bring a plane to the front, as a press on its tab does."""
        if plane in self.views and plane != self.tabs.value:
            self.tabs.value = plane
        self.arrange()

    def arrange(self) -> None:
        """Show every plane where there is height for all, else the one that was chosen."""
        each = dp(_LEAST_HIGH_DP)
        whole = self.height >= each * len(self.views)
        wanted = tuple(self.views) if whole else (self.tabs.value,)
        tabs = not whole and len(self.views) > 1 and self.height >= dp(_TABS_FROM_DP) * theme.font_scale
        if (wanted, tabs) == self._arranged:
            return
        self._shown, self._arranged = wanted, (wanted, tabs)
        self.clear_widgets()
        if tabs:
            self.add_widget(self.tabs)
        for plane in wanted:
            self.add_widget(self.views[plane])
            self.views[plane].redraw()

    def redraw(self) -> None:
        """Draw anew what is in sight; what is not is drawn when it comes into sight."""
        for plane in self._shown:
            self.views[plane].redraw()
