"""Room for the panel of practice on a page: what gives way to what where it is tight."""

from __future__ import annotations

from typing import Any

from kivy.metrics import dp

from shared_models.language import spoken
from shared_models.wording import practice as words_of
from mobile.widgets.theme import theme

#: How much of the page's height the panel may take: lying, and upright.
_SHARE_LYING, _SHARE_UPRIGHT = 0.42, 0.30
#: What is left for the page beneath, and the least that figure and words get, in pixels.
_BODY_LYING, _BODY_UPRIGHT, _LEAST_FIGURE, _LEAST_WORDS = dp(180), dp(330), dp(230), dp(72)


class PanelRoom:
    """Fits a panel (`Walkway`) between the band and what a page must keep in reach."""

    panel: Any
    taps: Any
    _page: Any
    _band: Any
    _told: Any
    _lead: list[tuple[str, str]]
    _had_side: bool
    _reading: bool
    _stands_back: bool
    _offered_wide: bool

    def _doors(self, tapping: bool) -> None:
        """Offer the buttons of a walk."""
        raise NotImplementedError

    def _fit(self, page) -> None:
        """Give the panel its share of the page, but leave room for what else has to be in reach."""
        if self.panel is None:
            return
        scale, panel = theme.font_scale, self.panel
        taken = page.header.height + self._band.height + page.foot.height
        if page.is_wide:
            taken += page.side.wanted_height if page.has_side else _BODY_LYING * scale
        else:
            taken += _BODY_UPRIGHT * scale + (page.side.height if page.has_side else 0)
            taken += page.rail.height if page.has_rail else 0
        share = page.height * (_SHARE_LYING if page.is_wide else _SHARE_UPRIGHT)
        room, least = page.height - taken, _LEAST_FIGURE if panel.is_shown else _LEAST_WORDS
        panel.most_height = max(min(share, room), least)
        needed = scale * (_LEAST_WORDS if page.is_wide else 2 * _LEAST_WORDS)
        hushed = room < needed and self.taps is None and hasattr(page, "fitting")
        if hushed != panel.hushed and not panel.is_shown and not self._reading:
            panel.hushed = hushed
            self._offer()
        elif self._offered_wide is not page.is_wide:
            # Turned over, or only now as large as it is: the button to read goes where there is room.
            self._offer()
        # Walking and typing take turns where there is no room for both.
        self._stands_back = room < _LEAST_WORDS and page.has_side and self.taps is None and panel.walk is not None
        self._show_panel()

    def _show_panel(self) -> None:
        """Put the panel beneath the band where it has something to say or to press."""
        panel = self.panel
        words = panel.lines and not (panel.hushed and self._page.is_wide)
        shown = (words or panel.doors.children or panel.walk) and not self._stands_back
        self._page.marks = [self._band, panel] if shown else [self._band]

    def _offer(self) -> None:
        """Offer the buttons anew."""
        self._offered_wide = self._page.is_wide
        if self.panel.walk is not None:
            self._doors(self.taps is not None)
        elif self._told is not None or self._lead or self._band.has_door:
            self._clear_doors()
            self._reading_door()

    def _clear_doors(self) -> None:
        self.panel.clear_doors()
        self._band.clear_door()

    def _reading_door(self) -> None:
        self._offered_wide = self._page.is_wide
        if (self.panel.hushed or self._reading) and not self.panel.is_shown:
            # Lying there is no room left for a line of its own, beneath which a keypad could lie.
            beside = self._band if self._page.is_wide and self.panel.walk is None else self.panel
            beside.door(spoken(words_of.READ_DONE) if self._reading else spoken(words_of.READ), self._turn_reading, "practice:read")

    def _turn_reading(self) -> None:
        """Where there is no room for words beside the keypad, they take its place while they are read."""
        self._reading = not self._reading
        self.panel.hushed = False
        self._show_figure(self._reading)
        self._offer()
        self._fit(self._page)

    def _show_figure(self, shown: bool) -> None:
        """While the figure is to be seen the keypad makes room for it."""
        page = self._page
        if shown:
            self.panel.hushed = False
        if self.taps is None and shown and page.has_side:
            self._had_side, page.has_side = True, False
        elif not shown and self._had_side:
            self._had_side, page.has_side = False, True
        self._fit(page)
