"""What every page shares: the frame, the header's words, and small conveniences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Callable

from kivy.clock import Clock
from kivy.metrics import dp

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.practice import NEVER_SENT
from shared_models.wording.refusals import refusal_sentence
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import MainButton, PlainButton, QuietButton
from mobile.widgets.listing import Heading, LastSettings
from mobile.widgets.page_frame import PageFrame
from mobile.widgets.theme import theme

if TYPE_CHECKING:
    from mobile.screens.stage import Stage


#: Of the page's height: what header and foot leave at least for what is read and done.
_LEAST_BODY = 0.4


class StagePage(PageFrame):
    """A page on the stage; fills header and foot by itself, the rest is the page's."""

    def __init__(self, stage: "Stage", **kwargs):
        super().__init__(**kwargs)
        self.stage = stage
        self._strip: LastSettings | None = None
        self._followed: list[tuple[Any, str, int]] = []
        # Bound weakly: the theme outlives every page.
        theme.bind(font_scale=self._place_strip_anew)
        self.fbind("size", self._place_strip_anew)
        self._strip_needs = 0.0
        self._foot_is_high = False
        self._look_for_room = Clock.create_trigger(self._move_strip, -1)
        # A frame later: by then the foot has settled its lines.
        self._look_at_foot = Clock.create_trigger(self._lower_foot, 0)
        for part, names in ((self, ("height",)), (self.header, ("height",)), (self.foot, ("height", "width"))):
            for name in names:
                part.fbind(name, lambda *_: self._look_at_foot())
        self.side.fbind("height", lambda *_: self._look_for_room())
        self.side.fbind("minimum_height", lambda *_: self._look_for_room())
        self._warning = Banner(kind="doubt", test_name="warning")
        self.header.fbind("on_see_unsent", lambda *_: stage.go_sync())
        self.header.fbind("on_leave", lambda *_: self.leave())
        self.header.fbind("on_look", lambda *_: stage.go_look())

    def leave(self) -> None:
        """What the button at the left of the header does."""
        self.stage.go_home()

    def go_back(self) -> bool:
        """Go one page back, by the button that says so; False where no button does."""
        back = next((w for w in self.walk() if getattr(w, "test_name", "") == "back" and not w.disabled), None)
        if back is not None:
            back.dispatch("on_release")
        elif self.header.leave_words:
            self.leave()
        else:
            return False
        return True

    def show_saved(self, moment: str = "") -> None:
        """Bring the right of the header up to date: what is unsent, what is saved."""
        session = self.stage.session
        if session is None:
            self.header.unsent = self.header.saved = ""
            return
        count, since = session.unsent()
        self.header.unsent = spoken(NEVER_SENT) if session.is_practice else self.stage.unsent_words(count, since)
        self.header.saved = spoken("saved {moment}", moment=moment) if moment else self.stage.saved_words

    def warn(self, sentence: str) -> None:
        """Say what is in the way, beneath what stands on the page; "" takes it back."""
        self._warning.lead = sentence
        if self._warning.parent is not None:
            self._warning.parent.remove_widget(self._warning)
        if sentence:
            self.body.add_widget(self._warning)

    def attempt(self, act: Callable[[], Any]) -> Any:
        """Do something that may be refused; return what it gave, None after saying why not."""
        try:
            done = act()
        except Refusal as refusal:
            self.warn(refusal_sentence(refusal))
            return None
        self.warn("")
        return done

    def head(self, title: str, lead: str = "") -> None:
        """Begin the body with its heading."""
        self.body.add_widget(Heading(title=title, lead=lead))

    def main(self, text: str, act, test_name: str = "main", **more) -> MainButton:
        """Add the one main button of the page; add it last."""
        button = MainButton(text=text, fit=True, test_name=test_name, **more)
        button.fbind("on_release", lambda *_: act())
        self.foot.add_widget(button)
        return button

    def plain(self, text: str, act, test_name: str, where=None) -> PlainButton:
        """Add a further button to the foot, or to ``where``."""
        button = PlainButton(text=text, fit=True, test_name=test_name)
        button.fbind("on_release", lambda *_: act())
        (where or self.foot).add_widget(button)
        return button

    def quiet(self, text: str, act, test_name: str, where=None) -> QuietButton:
        """Add something seldom done."""
        # In a column it takes the width there is, so that its words can wrap in a narrow one.
        button = QuietButton(text=text, fit=where is None, test_name=test_name)
        button.halign = "center" if where is None else "left"
        button.fbind("on_release", lambda *_: act())
        (where or self.foot).add_widget(button)
        return button

    def strip(self, settings) -> None:
        """Show the last confirmed settings: above the keypad, at the foot without one or beside a picture.

        In large type they end the body while there is a keypad: nobody walks then, and its keys need the room.
        So they do where a foot with them would leave hardly any page to read.
        """
        if settings:
            self._strip = LastSettings(label=spoken("Last confirmed"), settings=settings, test_name="last_confirmed")
            self._place_strip()

    def _place_strip_anew(self, *_args) -> None:
        self._foot_is_high = False
        self._place_strip()
        self._look_at_foot()

    def _place_strip(self, *_args) -> None:
        strip = self._strip
        if strip is None:
            return
        if strip in self.foot.shown:
            self.foot.remove_widget(strip)
        elif strip.parent is not None:
            strip.parent.remove_widget(strip)
        strip.padding = [0, 0, 0, 0]
        if self._foot_is_high or self.has_side and theme.large_type:
            self.body.add_widget(strip)
        elif self.has_side and not self.has_picture and not self._strip_needs:
            strip.padding = [dp(20), dp(14), dp(12), dp(6)]
            self.side.add_widget(strip, index=len(self.side.children))
        else:
            self.foot.add_widget(strip)

    def _lower_foot(self, *_args) -> None:
        """Where header and foot leave less than the least of a page, the settings end the body.

        They stay there until the page is turned or its type changes.
        """
        strip = self._strip
        if not self.is_wide or strip not in self.foot.shown:
            return
        taken = self.header.height + self.foot.height + sum(mark.height for mark in self.marks)
        if self.height - taken < _LEAST_BODY * self.height:
            self._foot_is_high = True
            self._place_strip()

    def _move_strip(self, *_args) -> None:
        """Where keypad and settings are higher than their pane, the settings stand at the foot.

        Measured with the foot's height, which the settings change themselves.
        """
        strip, room = self._strip, self.side.height + self.foot.height
        if strip is None or not self.is_wide or not self.has_side:
            return
        if strip.parent is self.side and self.side.minimum_height > self.side.height + 1:
            self._strip_needs = self.side.minimum_height + self.foot.height
            self._place_strip()
        elif self._strip_needs and room >= self._strip_needs:
            self._strip_needs = 0.0
            self._place_strip()

    def follow(self, thing, *names: str, act: Callable[..., None]) -> None:
        """Call ``act`` when a property of something that stays changes, until the page is emptied.

        For what stands on the page and looks at the page itself, its keypad or anything else that
        is there after it: bound for good, each content would be kept for as long as that is.
        """
        self._followed += [(thing, name, thing.fbind(name, act)) for name in names]

    def empty(self) -> None:
        """Take everything out of body, picture, side and foot, for the next content."""
        for thing, name, uid in self._followed:
            thing.unbind_uid(name, uid)
        self._followed = []
        self._strip, self._strip_needs, self._foot_is_high = None, 0.0, False
        self.has_picture = False
        for share in ("side_share", "picture_share"):
            setattr(self, share, self.property(share).defaultvalue)
        for part in (self.body, self.picture, self.side):
            for child in part.children[:]:
                part.remove_widget(child)
        for child in self.foot.shown:
            self.foot.remove_widget(child)
