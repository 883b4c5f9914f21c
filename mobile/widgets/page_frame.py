"""The frame every page of a fitting stands in, in landscape and in portrait."""

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, ObjectProperty
from kivy.uix.boxlayout import BoxLayout

from mobile.widgets import kv_beside
from mobile.widgets.buttons import FootBar
from mobile.widgets.header_bar import HeaderBar
from mobile.widgets.surface import Column, Named, Page, Surface
from mobile.widgets.theme import theme


class BodyColumn(Column):
    """What scrolls: heading, fields, notices."""


class SidePane(Surface):
    """What stays in reach beside or beneath: the keypad.

    Beside (``is_beside``) it is as high as the page, so a keypad is told what room there is, and as
    wide at least as what it holds needs to keep its words whole.
    """

    is_beside = BooleanProperty(True)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("height", "is_beside"):
            self.fbind(name, self._share_out)

    def add_widget(self, widget, *args, **kwargs):
        super().add_widget(widget, *args, **kwargs)
        if hasattr(widget, "most_height"):
            widget.fbind("least_width", self._share_out)
        self._share_out()

    def remove_widget(self, widget, *args, **kwargs):
        if hasattr(widget, "most_height"):
            widget.funbind("least_width", self._share_out)
            widget.most_height = 0
        super().remove_widget(widget, *args, **kwargs)
        self._share_out()

    @property
    def wanted_height(self) -> float:
        """Pixels that what it holds wants; a keypad made lower by the room there is wants more than it has.

        Who shares out a page's height asks for this: asked for what it has now, the two would follow each other.
        """
        pads = [child for child in self.children if hasattr(child, "wanted_height")]
        return self.minimum_height + sum(pad.wanted_height - pad.height for pad in pads)

    def _share_out(self, *_args) -> None:
        # Known by what it takes: the locked page, which has none, should not wait for a keypad.
        pads = [child for child in self.children if hasattr(child, "most_height")]
        for pad in pads:
            pad.most_height = self.height if self.is_beside else 0
        self.size_hint_min_x = max((pad.least_width for pad in pads), default=0) if self.is_beside else None


class PicturePane(Surface):
    """A drawing that stays in sight beside what scrolls."""


class PageFrame(Named, BoxLayout):
    """Header at the top, the step rail, a body that scrolls, a side pane and the foot.

    Fill ``header`` and ``rail``, add widgets to ``body`` (a column), ``picture`` (a drawing), ``side``
    (the keypad) and ``foot`` (words first, then buttons, the main one last). ``has_rail``,
    ``has_picture`` and ``has_side`` leave those parts out. In landscape the rail runs down at the
    left and the side pane stands beside the body; in portrait the rail runs across the top and the
    side pane lies beneath. The picture stands before the body both ways up. A left-handed theme
    changes the sides of panes and buttons.
    """

    header = ObjectProperty(None)
    rail = ObjectProperty(None)
    body = ObjectProperty(None)
    picture = ObjectProperty(None)
    filling = ObjectProperty(None, allownone=True)
    """Takes the place of the scrolling body: a long list that scrolls by itself."""
    side = ObjectProperty(None)
    foot = ObjectProperty(None)
    marks = ListProperty([])
    """What lies across the whole page beneath the header, first on top."""
    has_rail = BooleanProperty(True)
    has_side = BooleanProperty(False)
    has_picture = BooleanProperty(False)
    side_share = NumericProperty(0.42)
    """How much of the width beside the rail the side pane takes in landscape."""
    picture_share = NumericProperty(0.4)
    """How much of the width that side pane and rail leave the picture takes."""

    def __init__(self, **kwargs):
        super().__init__(orientation="vertical", **kwargs)
        self.header, self.foot = HeaderBar(), FootBar()
        self.body, self.side, self._page = BodyColumn(), SidePane(), Page()
        self.picture = PicturePane()
        self._page.add_widget(self.body)
        for name in ("size", "marks", "has_rail", "has_side", "has_picture", "side_share", "picture_share", "filling"):
            self.fbind(name, self._arrange)
        theme.bind(left_handed=self._arrange, font_scale=self._arrange)
        self._arrangement = None
        self._arrange()

    @property
    def is_wide(self) -> bool:
        """Whether the frame is wider than high: landscape."""
        return self.width >= self.height

    def scroll_to_top(self) -> None:
        """Show the body from its beginning, as a new page does."""
        self._page.to_top()

    def _arrange(self, *_args):
        wanted = (
            self.is_wide, self.has_rail, self.has_side, self.has_picture, theme.left_handed,
            self.side_share, self.picture_share, tuple(self.marks), self.filling, theme.large_type,
        )
        if wanted == self._arrangement:
            return
        self._arrangement = wanted
        self.header.lines_are_few = self.is_wide and theme.large_type
        self.side.is_beside = self.is_wide
        if self.has_rail and self.rail is None:
            # Made where it is shown only: the locked page should not wait for it.
            from mobile.widgets.step_rail import StepRail

            self.rail = StepRail()
        for part in (self.header, self.rail, self.picture, self._page, self.filling, self.side, self.foot):
            if part is not None and part.parent is not None:
                part.parent.remove_widget(part)
        self.clear_widgets()
        for part in (self.header, *self.marks):
            self.add_widget(part)
        (self._stand_beside if self.is_wide else self._lie_beneath)()

    def _shown(self):
        """What scrolls, with the picture before it where there is one."""
        if self.filling is not None:
            return self.filling
        if not self.has_picture:
            return self._page
        both = BoxLayout()
        self.picture.size_hint = (self.picture_share, 1)
        self._page.size_hint_x = 1 - self.picture_share
        order = [self.picture, self._page]
        for part in reversed(order) if theme.left_handed else order:
            both.add_widget(part)
        return both

    def _stand_beside(self):
        if self.has_rail:
            self.rail.direction = "down"
            # Names of steps in large type leave a keypad no room for its words; the heading says the step.
            self.rail.narrow = self.has_side and (self.has_picture or theme.large_type)
        beside, right = BoxLayout(), BoxLayout(orientation="vertical")
        panes = BoxLayout()
        shown = self._shown()
        shown.size_hint_x = 1 - self.side_share if self.has_side else 1
        self.side.size_hint = (self.side_share, 1)
        order = [shown, *([self.side] if self.has_side else [])]
        for part in reversed(order) if theme.left_handed else order:
            panes.add_widget(part)
        right.add_widget(panes)
        right.add_widget(self.foot)
        if self.has_rail:
            beside.add_widget(self.rail)
        beside.add_widget(right)
        self.add_widget(beside)

    @property
    def _folds_rail(self) -> bool:
        """Whether upright, at large type, the keypad needs the rail's room; it comes back after it."""
        return self.has_side and not self.is_wide and theme.large_type

    def _lie_beneath(self):
        if self.has_rail and not self._folds_rail:
            self.rail.direction = "across"
            self.add_widget(self.rail)
        shown = self._shown()
        shown.size_hint_x = 1
        self.add_widget(shown)
        if self.has_side:
            self.side.size_hint = (1, None)
            self.add_widget(self.side)
        self.add_widget(self.foot)


kv_beside.load(__file__)
