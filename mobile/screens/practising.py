"""Practice on the stage: going in and out, the mark on every page, the leg that walks."""

from __future__ import annotations

from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window

from shared_models.entries.envelope import Entry
from shared_models.language import phrase, spoken
from shared_models.quantities.refusals import Refusal
from shared_models.rehearsing.practice_people import ground_of
from shared_models.wording import practice as words_of
from shared_models.wording.refusals import refusal_sentence
from mobile.demo import PRACTICE_FOLDER, demo_newcomers, open_practice, practise
from mobile.flows.practice import Practice, TapsBeside, Told, told_of_new
from mobile.screens.practice_door import offer
from mobile.screens.practice_room import PanelRoom
from mobile.screens.walking import walk_of
from mobile.widgets.practice_band import PracticeBand
from mobile.widgets.walkway import HALF_PACE, Walkway

TITLE = phrase("Stancebook")
MISSING, SIGN_OFF, TRIAL = "missing", "sign_off", "trial/"
#: The part of an upright page that the areas to tap keep while the figure walks above.
_TAPS_UPRIGHT = 0.40


class Practising(PanelRoom):
    """What the stage does for practice; on a record of people it only offers the way in."""

    def __init__(self, stage) -> None:
        self.stage = stage
        self._own = None
        self.panel: Walkway | None = None
        self.practice: Practice | None = None
        self.slot = ""
        self.taps: TapsBeside | None = None
        self._feedback: list[str] = []
        self._shown: list[str] = []
        self._speech = ""
        self._told: Told | None = None
        self._lead: list[tuple[str, str]] = []
        self._page: Any = None
        self._band: PracticeBand | None = None
        self._had_side = self._reading = self._stands_back = self._offered_wide = False
        #: What the window is called now.
        self.title = spoken(TITLE)

    @property
    def is_on(self) -> bool:
        """Whether what is shown is practice."""
        return bool(self.stage.tablet.is_practice)

    # In and out ------------------------------------------------------------------------

    def enter(self) -> None:
        """Lock the record of people and open practice; why not stands on the page."""
        own = self.stage.tablet
        try:
            tablet = open_practice(own.path.parent / PRACTICE_FOLDER)
            session = practise(tablet)
        except Refusal as refusal:
            if self.stage.page is not None:
                self.stage.page.warn(refusal_sentence(refusal))
            return
        self._own, self.stage.session, self.stage.tablet = own, None, tablet
        self._forget()
        self.stage.unlocked(session)

    def leave(self) -> None:
        """Back to the tablet's own record, locked; practice stays as it is for the next time."""
        self.rest()
        self.stage.session = None
        if self._own is not None:
            self.stage.tablet.close()
            self.stage.tablet, self._own = self._own, None
        self._forget()
        self.stage.begin()

    def close(self) -> None:
        """Let go of everything; the tablet's own store stays open for whoever opened it."""
        self.rest()
        if self._own is not None:
            self.stage.tablet.close()
            self.stage.tablet, self._own = self._own, None

    def rest(self) -> None:
        """The page is left: nothing walks on."""
        if self.panel is not None:
            self.panel.stop()
            self.panel = None

    def _forget(self) -> None:
        self.practice, self.slot, self.taps = None, "", None
        self._feedback, self._shown, self._speech = [], [], ""

    # Every page --------------------------------------------------------------------------

    def attend(self, page) -> None:
        """Mark a page that comes on the stage, or offer the way in where people choose themselves."""
        self.rest()
        self.title = spoken(words_of.WINDOW_TITLE) if self.is_on else spoken(TITLE)
        _name_window(self.title)
        if not self.is_on:
            offer(page, self.enter)
            return
        band = PracticeBand(words=spoken(words_of.BAND), leave_words=spoken(words_of.LEAVE))
        band.fbind("on_leave", lambda *_: self.leave())
        self.panel = Walkway(test_name="practice")
        self.panel.fbind("on_start", lambda *_: self._begun())
        self.panel.fbind("on_walked", lambda *_: self._walked())
        self.panel.fbind("on_contact", lambda _panel, side, moment_s: self._contact(side, moment_s))
        self._page, self._band = page, band
        page.marks = [band]
        # Once everything stands: on the way there the foot has heights of a moment, and what
        # was fitted to one of them would move the foot again, without an end.
        soon = Clock.create_trigger(lambda _dt: self._fit(page) if self._page is page else None, 0)
        for thing, name in ((page, "size"), (page, "has_side"), (page.foot, "height"), (page.side, "minimum_height")):
            thing.fbind(name, soon)
        self._had_side = False
        self._fit(page)
        self._fill(page, getattr(page, "step_key", ""), getattr(page, "slot", ""))

    def at(self, fitting: str, step: str, slot: str) -> None:
        """The page on the stage shows another step or slot of a fitting."""
        page = self.stage.page
        if self.is_on and self.panel is not None and getattr(page, "fitting", "") == fitting:
            self._fill(page, step, slot)

    def _fill(self, page, step: str, slot: str) -> None:
        fitting = getattr(page, "fitting", "")
        self._clear_doors()
        if slot != self.slot:
            self._shown, self._speech = [], ""
        elif self._had_side:
            # The same form again while its words are read: it gets its keypad back.
            page.has_side = True
        self.slot, self.taps, self._had_side, self._reading = slot, None, False, False
        if not fitting or self.stage.session is None:
            self.practice = None
            self.panel.take(None)
            self._fill_outside(page)
        else:
            if self.practice is None or self.practice.fitting != fitting:
                self.practice = Practice(self.stage.session, fitting)
            self._fill_fitting(page, step, slot)
        self._say()

    def _fill_outside(self, page) -> None:
        name = type(page).__name__
        self._told, self._lead = None, []
        if name == "LockPage":
            pins = " ".join(words_of.PIN_OF.format(name=n.staff.replace("-", " "), pin=n.pin) for n in demo_newcomers())
            self._lead = [("", spoken(words_of.PINS_SHOWN, pins=pins))]
        elif name == "NewFittingPage":
            self._told = told_of_new(self.stage.session)
        elif name == "HomePage":
            self.panel.door(spoken(words_of.BEGIN), self.choose_person, "practice:begin", main=True)

    def choose_person(self) -> None:
        """Show the invented people."""
        from mobile.screens.practice_people import PracticePeoplePage

        self.stage.show(PracticePeoplePage(self.stage))

    def _fill_fitting(self, page, step: str, slot: str) -> None:
        self._lead, self._told = [], None
        walks = slot.startswith(TRIAL)
        if step == MISSING and not slot:
            counts = " · ".join(f"{label}: {count}" for label, count in self.practice.report())
            done = spoken(words_of.REPORT_DONE) if page.verdict.is_complete else ""
            self._lead = [(spoken(words_of.REPORT), " ".join(filter(None, (counts + ".", done))))]
        elif slot:
            self._told = self.practice.told(slot)
        if slot == SIGN_OFF:
            who = next(n for n in demo_newcomers() if "technician" in n.roles)
            self._lead = [("", spoken(words_of.SIGNS_HERE, name=who.name, pin=who.pin))]
        tapping = hasattr(page, "timing") and hasattr(page, "areas")
        if tapping:
            self.taps = TapsBeside([], [])
        if not walks:
            self.panel.take(None)
            self._reading_door()
            return
        self.panel.take(walk_of(self.practice, slot))
        if tapping:
            self.panel.show()
            if not page.is_wide and getattr(page, "pair", None) is not None:
                page.pair.height = page.height * _TAPS_UPRIGHT
        self._fit(page)
        if not self._speech:
            self._lead = [("", spoken(words_of.TAP_LEAD) if tapping else spoken(words_of.WATCH))]
        self._doors(tapping)

    def _doors(self, tapping: bool) -> None:
        panel = self.panel
        self._clear_doors()
        panel.door(spoken(words_of.WALK_AGAIN) if self._speech else spoken(words_of.WALK), panel.start, "practice:walk")
        still = spoken(words_of.PAUSE) if panel.walking else spoken(words_of.GO_ON)
        if panel.walking or 0 < panel.elapsed_s < panel.walk.lasts_s:
            panel.door(still, self._pause, "practice:pause")
        if not tapping:
            self._reading_door()
            if panel.is_shown:
                panel.door(spoken(words_of.SLOWLY) if panel.pace == 1.0 else spoken(words_of.FULL_PACE), self._turn_pace, "practice:pace")
            panel.door(spoken(words_of.SHOW_ME), self._show_me, "practice:show")
            if panel.is_shown:
                panel.door(spoken(words_of.PUT_AWAY), self._put_away, "practice:away")

    # The walk ----------------------------------------------------------------------------

    def _begun(self) -> None:
        self._feedback, self._lead = [], []
        if self.taps is not None:
            self.taps = TapsBeside([], [])
        self.practice.walked()
        self.panel.walking = True
        self._show_figure(True)
        self._doors(self.taps is not None)
        self._say()

    def _walked(self) -> None:
        self._speech = self.practice.speech(self.slot)
        self._lead = []
        if self.taps is not None:
            self._lead = [("", self.taps.mean_words())]
        else:
            self.panel.put_away()
            self._show_figure(False)
        self._doors(self.taps is not None)
        self._say()

    def _pause(self) -> None:
        self._show_figure(True)
        self.panel.stop() if self.panel.walking else self.panel.go_on()
        self._doors(self.taps is not None)

    def _put_away(self) -> None:
        self.panel.put_away()
        self._show_figure(False)
        self._doors(tapping=False)

    def _turn_pace(self) -> None:
        self.panel.pace = HALF_PACE if self.panel.pace == 1.0 else 1.0
        self._doors(self.taps is not None)

    def _show_me(self) -> None:
        """Say what there was to see, and draw the line that the heel should reach; it counts as help."""
        self._shown = self.practice.shown(self.slot)
        self.panel.show()
        self._show_figure(True)
        walk = walk_of(self.practice, self.slot, with_line=ground_of(self.slot) == "level")
        elapsed_s = self.panel.elapsed_s
        self.panel.walk = walk
        self.panel.view.scene = walk.scene_at(elapsed_s)
        self._doors(tapping=False)
        self._say()

    # Tapping along -----------------------------------------------------------------------

    def _contact(self, side: str, moment_s: float) -> None:
        if self.taps is not None:
            self.taps.contacts.append((side, moment_s))

    def tapped(self, side: str, moment_s: float) -> None:
        """A side was tapped on the timing page."""
        if self.taps is None or self.panel is None:
            return
        said = self.taps.tap_words(side, moment_s)
        self._lead = [("", " · ".join(filter(None, (said, self.taps.mean_words()))))]
        self._say()

    # Recording ---------------------------------------------------------------------------

    def saved(self, entry: Entry) -> None:
        """Something was recorded: of a trial, say beside it what the leg showed."""
        if not self.is_on or self.practice is None or entry.subject.id != self.practice.fitting:
            return
        kind = self.practice.view.edition.kinds.get(entry.kind)
        if kind is None or kind.group != "trial":
            self._feedback = []
            return
        slot = kind.slot_of(entry.body)
        self._feedback = self.practice.judge(entry, self.practice.there(slot))
        self._shown, self._speech = [], ""
        if self.panel is not None:
            self.panel.put_away()
            self._show_figure(False)
            self._say()

    def _say(self) -> None:
        if self.panel is None:
            return
        lines: list[tuple[str, Any]] = [("", line) for line in self._feedback]
        if self._told is not None:
            lines.append((f"{self._told.title}:", " · ".join(f"{label}: {value}" for label, value in self._told.lines)))
        lines += self._lead
        if self._speech:
            lines.append(("", self._speech))
        if self._shown:
            lines += [(spoken(words_of.SHOWN_ALREADY), " ".join(self._shown))]
        self.panel.lines = [line for line in lines if any(line)]
        self._show_panel()


def _name_window(words: str) -> None:
    """Name the window."""
    app = App.get_running_app()
    if app is not None:
        app.title = words
    Window.set_title(words)
