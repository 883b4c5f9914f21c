"""The drawing of a part in the picture pane: what is done, what is in hand, and the way there by a press."""

from __future__ import annotations

from typing import Callable, Sequence

from kivy.clock import Clock
from kivy.metrics import dp

from shared_models.drawings.component_map import DrawnPart, component_map
from shared_models.drawings.plain_shapes import Room
from shared_models.language import spoken
from shared_models.wording.component_map import no_drawing_words, not_placed_words
from mobile.flows.closing import drawn_parts, part_of, sort_of
from mobile.widgets.drawing import DrawingView
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Column, Page, Surface, Words
from mobile.widgets.theme import theme

#: Height of a line of body type as a part of its size.
_LINE = 1.3
#: Of the width beside the rail: the keypad; of what it leaves: the drawing.
_KEYPAD_SHARE, _PICTURE_SHARE = 0.32, 0.42
#: Upright, above a keypad, the drawing stands only where the reading keeps its room beside it.
_UPRIGHT_FROM_DP = 1100
#: A mark that is no state of a row.
_ROW_STATES = {"doubt": "open"}


class ComponentMap(Surface):
    """The parts drawn with their marks; ``on_press(key)`` hears which one was pressed.

    What the sheets do not place stands as a plain list beneath, or instead.
    """

    def __init__(self, parts: Sequence[DrawnPart], on_press: Callable[[str], None], **kwargs):
        # What lies in it keeps off its edge.
        super().__init__(orientation="vertical", ground_tone="field", edge_tone="ink", padding=dp(3), **kwargs)
        self._parts, self._on_press, self._is_low = list(parts), on_press, False
        self.drawing = DrawingView(test_name="component_map", margin=[dp(4), dp(4), dp(4), dp(4)])
        self.drawing.fbind("on_spot", lambda _view, key: on_press(key))
        self._again = Clock.create_trigger(lambda _dt: self.redraw(), -1)
        self.fbind("size", self._room_changed)
        # Bound weakly: the theme outlives every drawing.
        theme.bind(font_scale=self._type_grew)
        self._arrange()

    def _type_grew(self, *_args) -> None:
        self._room_changed()

    def _room_changed(self, *_args) -> None:
        if self._is_low:
            self._is_low = False
            self._arrange()
        else:
            self._again()

    def show(self, parts: Sequence[DrawnPart]) -> None:
        """Draw other marks."""
        self._parts = list(parts)
        self._arrange()

    def _arrange(self) -> None:
        self.clear_widgets()
        if self._is_low:
            return self._list(self._parts)
        if any(part.placed() for part in self._parts):
            self.add_widget(self.drawing)
        unplaced = [part for part in self._parts if len(part.placed()) < len(part.marks)]
        if unplaced:
            self._list(unplaced)
        self.redraw()

    def _list(self, parts: list[DrawnPart]) -> None:
        """Name what no sheet places, with the way there; nothing is drawn where nobody knows."""
        column = Column(padding=[dp(12), dp(8), dp(12), dp(8)], spacing=dp(4))
        for part in parts:
            missing = [m for m in part.marks if self._is_low or m not in part.placed()]
            if not part.drawing:
                column.add_widget(Words(text=no_drawing_words(part.name), test_name="component_map:none"))
            for mark in missing:
                row = ListRow(
                    title=f"{mark.number}  {mark.name}", row_state=_ROW_STATES.get(mark.state, mark.state),
                    subtitle=not_placed_words(mark.name) if part.drawing and mark not in part.placed() else "",
                    trailing=spoken("in hand") if mark.in_hand else "", test_name=f"map:{mark.key}",
                )
                row.fbind("on_release", lambda *_, key=mark.key: self._on_press(key))
                column.add_widget(row)
        scroll = Page()
        scroll.add_widget(column)
        self.add_widget(scroll)

    def redraw(self) -> None:
        """Draw the marks in the room there is now; where that is too low for them they stand as a list."""
        if self.drawing.parent is not self:
            return
        # Worked out, not taken from the drawing: that is laid out only after this.
        left, bottom, right, top = (m + p for m, p in zip(self.drawing.margin, self.padding))
        high = max(self.height / len(self.children) - bottom - top, 1.0)
        wide = max(self.width - left - right, 1.0)
        line = theme.type_size("body") * _LINE / high
        self.drawing.scene = component_map(self._parts, Room(wide / high, line)) if high > 1 else None
        if high > 1 and self.drawing.scene is None:
            self._is_low = True
            self._arrange()


def show_component_map(page, slot: str) -> ComponentMap | None:
    """Put the part that a screw or cap is on beside its fields; None for other slots."""
    sort = sort_of(slot)
    if not sort:
        return None
    parts = part_of(drawn_parts(page.view, page.verdict, sort, slot), slot)
    shown = ComponentMap(parts, page.open)
    page.picture.add_widget(shown)
    page.side_share, page.picture_share = _KEYPAD_SHARE, _PICTURE_SHARE

    def arrange(*_args) -> None:
        """Turned, or with larger type, the page may have no room for the drawing."""
        page.has_picture = page.is_wide or page.height >= dp(_UPRIGHT_FROM_DP) * theme.font_scale

    page.follow(page, "size", act=arrange)
    arrange()
    return shown
