"""The picture pane of a trial: dial and course, or how a first walk is done, and who stands by."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout

from shared_models.drawings.adjuster import adjuster_scene
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.stairs import how_scene
from shared_models.drawings.trial_course import course_scene
from shared_models.language import spoken
from shared_models.wording.trials import CAUTION_SHORT, aid_words, reach_words, stands_by_words
from mobile.flows.trial_notes import ground_of_trial
from mobile.widgets.fonts import opened_at_hyphens
from mobile.widgets.buttons import PlainButton
from mobile.widgets.drawing import DrawingView
from mobile.widgets.surface import Surface, Words
from mobile.widgets.theme import theme

#: Of the width that the rail leaves: lying, with a keypad beside, and upright.
_SHARE_LYING, _SHARE_BESIDE_KEYPAD, _SHARE_UPRIGHT = 0.32, 0.38, 0.37
_KEYPAD_SHARE = 0.32
#: Height of a line of body type as a part of its size.
_LINE = 1.3
#: With less height than this the chart goes, and then the words under the dial.
_CHART_FROM_DP, _CAPTION_FROM_DP, _DRAWING_FROM_DP = 470, 360, 250
#: A dial is read from this height on; who stands by and the aid lie side by side from this width on.
_DIAL_DP, _DOORS_BESIDE_DP = 150, 240


class RoomyDrawing(DrawingView):
    """A drawing made for the room that it has; ``draw`` gives the scene for a room."""

    def __init__(self, draw, **kwargs):
        self._draw_for = draw
        self._fit_again = Clock.create_trigger(lambda _dt: self.fit(), -1)
        super().__init__(**kwargs)
        self.fbind("size", lambda *_: self._fit_again())
        # Bound weakly: the theme outlives every drawing.
        theme.bind(font_scale=self._type_grew)
        self.fit()

    def _type_grew(self, *_args) -> None:
        self._fit_again()

    def fit(self) -> None:
        """Draw anew for the room there is."""
        high = max(self.height - self.margin[1] - self.margin[3], 1.0)
        wide = max(self.width - self.margin[0] - self.margin[2], 1.0)
        self.scene = self._draw_for(Room(wide / high, theme.type_size("body") * _LINE / high))


class TrialPicture(Surface):
    """What is looked at while somebody walks; lies in the page's picture pane."""

    def __init__(self, page, slot: str, tuning, how: bool = False, on_who=None, on_aid=None, stands_by: str = "", aid: str = "", restoring: bool = False):
        super().__init__(orientation="vertical", ground_tone="field", edge_tone="ink", padding=[dp(8), dp(8), dp(8), dp(8)], spacing=dp(4))
        self.page = page
        shown, chart = tuning.dial(restoring), tuning.chart(restoring)
        self.main = self.chart = self.caption = None
        if how or shown is None:
            self.main = RoomyDrawing(lambda room: how_scene(ground_of_trial(slot), room), test_name="how")
        else:
            self.main = DrawingView(test_name="dial", scene=adjuster_scene(shown), margin=[dp(4)] * 4)
            self.caption = Words(
                text=" ".join(filter(None, (tuning.known_words(), spoken("Range {lowest} to {highest}, {reach_words}.", lowest=shown.lowest, highest=shown.highest, reach_words=reach_words(tuning.adjuster))))),
                tone="ink_soft", padding=[dp(6), 0],
            )
            if chart is not None:
                self.chart = RoomyDrawing(lambda room: course_scene(chart, room), test_name="course", margin=[dp(4)] * 4, size_hint_y=0.62)
        caution = "" if how else CAUTION_SHORT.get(slot, "")
        self.caution = Words(text=caution, bold=True, test_name="caution_short", padding=[dp(6), 0]) if caution else None
        self.doors = self._doors(on_who, on_aid, stands_by, aid) if on_who else None
        self._arranged: tuple = ()
        for thing in (self, self.caption, self.caution, self.doors):
            if thing is not None:
                thing.fbind("height", lambda *_: self.arrange())
        self.fbind("width", self._share_out)
        for door in self.doors.children if self.doors is not None else ():
            door.fbind("font_size", self._share_out)
        self.arrange()

    def _share_out(self, *_args) -> None:
        inside = self.width - self.padding[0] - self.padding[2]
        if self.caption is not None:
            self.caption.width = inside  # while it is left out too: its height says whether it has room
        if self.doors is not None:
            # Side by side where there is room for both with the longest word whole, such as a double name.
            for door in self.doors.children:
                door.text = door.text.replace("-\n", "-")
            each = (inside - self.doors.spacing) / 2
            is_wide = inside >= dp(_DOORS_BESIDE_DP) * theme.font_scale and all(door.whole_width <= each for door in self.doors.children)
            self.doors.orientation = "horizontal" if is_wide else "vertical"
            for door in self.doors.children:
                room = (each if is_wide else inside) - door.padding[0] - door.padding[2] - 2
                door.text = opened_at_hyphens(door.text, door.font_size, room)

    def _doors(self, on_who, on_aid, stands_by: str, aid: str) -> BoxLayout:
        """Who stands by and which aid, changed at a press."""
        row = BoxLayout(spacing=dp(8), size_hint_y=None)
        row.bind(minimum_height=row.setter("height"))
        for name, words, act in (("who", stands_by_words(stands_by), on_who), ("aid", aid_words(aid), on_aid)):
            button = PlainButton(text=words, test_name=name, padding=[dp(6), dp(6)])
            button.fbind("on_release", lambda *_args, press=act: press())
            row.add_widget(button)
        return row

    def arrange(self) -> None:
        """Show what there is height for; who stands by always."""
        high = self.height / theme.font_scale
        left = self.height - sum(w.height for w in (self.caption, self.caution, self.doors) if w is not None)
        roomy = self.caption is not None and high >= dp(_CAPTION_FROM_DP) and left >= dp(_DIAL_DP) * theme.font_scale
        wanted = [
            self.main if high >= dp(_DRAWING_FROM_DP) else None,
            self.caption if roomy else None,
            self.chart if high >= dp(_CHART_FROM_DP) else None,
            self.caution, self.doors,
        ]
        shown = tuple(w for w in wanted if w is not None)
        if shown == self._arranged:
            return
        self._arranged = shown
        self.clear_widgets()
        for widget in shown:
            self.add_widget(widget)


def show_trial_picture(page, picture: TrialPicture) -> None:
    """Put it into the page's picture pane; the rail is narrowed for it where it runs down."""
    page.picture.add_widget(picture)
    page.has_picture = True

    def fit(*_args) -> None:
        page.side_share = _KEYPAD_SHARE
        page.picture_share = _SHARE_BESIDE_KEYPAD if page.has_side and page.is_wide else _SHARE_LYING if page.is_wide else _SHARE_UPRIGHT
        page.rail.narrow = page.is_wide

    page.follow(page, "size", "has_side", act=fit)
    page.trial_fit = fit
    fit()
