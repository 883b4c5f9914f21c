"""A stopwatch over a marked distance: one huge area starts and stops it."""

from __future__ import annotations

import time

from kivy.clock import Clock
from kivy.metrics import dp

from shared_models.checks.entering import limits_of
from shared_models.language import figure_said, number_words, spoken
from shared_models.wording import trials as words
from shared_models.wording.sentences import place_words
from mobile.device.click import Click
from mobile.flows.board import who
from mobile.flows.forms import SlotForm
from mobile.flows.tuning import settings_strip
from mobile.flows.walk_watch import DISTANCE, WalkWatch
from mobile.screens import fields
from mobile.screens.frame import StagePage
from mobile.screens.timing import click_is_on
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import MainButton, PlainButton
from mobile.widgets.keypad import Keypad
from mobile.widgets.tap_area import TapArea
from mobile.widgets.trial_foot import TrialFoot

_AREA_SHARE, _AREA_UPRIGHT = 0.56, 0.45
_SHOWN_EVERY_S = 0.1


class WatchPage(StagePage):
    """The stopwatch of one trial; what it measured waits in the trial's draft."""

    #: When a touch comes is what is measured here.
    times_touches = True

    def __init__(self, stage, fitting: str, step: str, slot: str):
        super().__init__(stage, has_rail=False, has_side=True, side_share=_AREA_SHARE)
        self.fitting, self.step_key, self.slot = fitting, step, slot
        self.form = SlotForm(stage.session, fitting, slot)
        self.watch = WalkWatch(stage.session, self.form)
        view = self.form.view
        self.header.leave_words = spoken(words.BACK)
        name, side, _ = who(view)
        self.header.who = name
        self.header.detail = " · ".join(p for p in (side, place_words(slot, view)) if p)
        self.click = Click(click_is_on(stage.session))
        self.said = Banner(kind="info", test_name="watch:said")
        self._fill()
        self._foot(settings_strip(view))
        self.fbind("size", self._fit_area)
        self._fit_area()
        self._shows = Clock.schedule_interval(self._show, _SHOWN_EVERY_S) if self.watch.is_running else None
        self._show()

    def _fill(self) -> None:
        self.head(spoken(words.WATCH_HEAD))
        field = self.form.kind.field(DISTANCE)
        self.keypad = Keypad(test_name="keypad")
        self.distance = fields.make_field(
            field, self.watch.distance(), limits_of(field), [], self.keypad, lambda _key, value: self.watch.mark(value),
        )
        self.body.add_widget(self.distance)
        self.keypad.fbind("target", self._show_side)
        self.area = TapArea(test_name="watch")
        self.area.fbind("on_tap", lambda _area, moment_s: self.pressed(moment_s))
        self._show_side()

    def _show_side(self, *_args) -> None:
        """The huge area; while the distance is in hand the keypad in its place."""
        wanted = self.area if self.keypad.target is None else self.keypad
        if wanted.parent is None:
            self.side.clear_widgets()
            self.side.add_widget(wanted)

    def _foot(self, settings) -> None:
        foot = TrialFoot(line=words.last_confirmed_line(settings), settings=settings)
        foot.fbind("on_stop", lambda *_: self.stop())
        forget = PlainButton(text=spoken(words.WATCH_FORGET), fit=True, test_name="forget")
        forget.fbind("on_release", lambda *_: self.forget())
        done = MainButton(text=spoken(words.WATCH_DONE), fit=True, test_name="done")
        done.fbind("on_release", lambda *_: self.leave())
        for button in (forget, done):
            foot.take(button)
        self.foot.add_widget(foot)

    def leave(self) -> None:
        """Back to the trial; a watch that runs goes on running."""
        if self._shows is not None:
            self._shows.cancel()
            self._shows = None
        self.stage.go_fitting(self.fitting, self.step_key, self.slot)

    def stop(self) -> None:
        """The walk is stopped: back to the trial, where it is said why."""
        self.leave()
        self.stage.page.trial.stop()

    def pressed(self, moment_s: float) -> None:
        """Start or stop at the moment the finger came down."""
        self.click.give()
        waited_s = max(0.0, time.monotonic() - moment_s)
        if not self.watch.is_running:
            self.watch.start(waited_s)
            if self._shows is None:
                self._shows = Clock.schedule_interval(self._show, _SHOWN_EVERY_S)
        else:
            stopped = self.watch.stop(waited_s)
            if stopped.seconds is None:
                self.said.kind, self.said.text = "doubt", spoken(words.WATCH_UNSURE)
        self._show()

    def forget(self) -> None:
        """Throw the time away; the distance stays."""
        self.watch.forget()
        self.said.text = ""
        self._show()

    def _show(self, *_args) -> None:
        running = self.watch.is_running
        if not running or self.get_parent_window() is None:
            if self._shows is not None and (not running or self.stage.page is not self):
                self._shows.cancel()
                self._shows = None
        self.area.small = spoken(words.WATCH_SECOND_MARK) if running else spoken(words.WATCH_FIRST_MARK)
        self.area.words = spoken(words.WATCH_STOP) if running else spoken(words.WATCH_START)
        passed_s = self.watch.elapsed_s() if running else None
        measured = str(self.form.typed.get("marked_time_s") or "")
        self.area.count = f"{number_words(passed_s, '.1f')} s" if passed_s is not None else f"{figure_said(measured)} s" if measured else ""
        if self.watch.was_restarted:
            self.said.kind, self.said.text = "doubt", spoken(words.WATCH_RESTARTED)
        self.said.lead = self.watch.words() + "." if self.watch.words() and not running else ""
        if bool(self.said.lead or self.said.text) != (self.said.parent is not None):
            if self.said.parent is None:
                self.body.add_widget(self.said)
            else:
                self.body.remove_widget(self.said)

    def _fit_area(self, *_args) -> None:
        self.area.size_hint_y = 1 if self.is_wide else None
        self.area.height = self.height * _AREA_UPRIGHT
        self.side.padding = [dp(8)] * 4
