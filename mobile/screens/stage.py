"""The stage: one page at a time, and how to get from one to another."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Callable

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.uix.floatlayout import FloatLayout

from shared_models.language import counted, spoken
from shared_models.quantities.moments import moment_from, now_here
from shared_models.quantities.refusals import Refusal
from shared_models.wording.dates import clock_words
from shared_models.wording.refusals import refusal_sentence
from mobile.keeping.look import kept_look
from mobile.screens.look import LookSheet, apply
from mobile.screens.practice_door import PracticeDoor
from mobile.widgets.buttons import StopButton
from mobile.widgets.key_ring import KeyRing
from mobile.widgets.sheet import Sheet

if TYPE_CHECKING:
    from mobile.keeping.session import Session
    from mobile.keeping.tablet import Tablet

#: Where one was, kept as a sealed draft, so that a restart comes back to it.
WHERE = "where"
IDLE_LOCK_SECONDS = 600
#: Escape on a keyboard, the back key of an Android tablet.
BACK_KEY = 27


class Stage(FloatLayout):
    """Holds the open tablet, the person at work, and the page that is shown.

    ``courier`` syncs (one of its own without it); ``on_saved`` is called with each
    entry that the screen has just called saved.
    """

    def __init__(self, tablet: Tablet, courier=None, on_saved: Callable | None = None, **kwargs):
        super().__init__(**kwargs)
        self.tablet = tablet
        self._courier = courier
        self.on_saved = on_saved
        self.session: Session | None = None
        self.page = None
        self.saved_words = ""
        self._rail = None
        #: The sync under way or done last; one at a time.
        self.sync_run = None
        self.demo_people: tuple = ()
        self.practising = PracticeDoor(self)
        #: Where this tablet keeps its look and its log of faults, in practice too.
        self.folder = Path(tablet.path).parent
        look = kept_look(self.folder)
        if look is not None:
            apply(look)
        Window.fbind("on_key_down", self._back_key)
        self.key_ring = KeyRing()
        self._touched = time.monotonic()
        Window.fbind("on_touch_down", self._note_touch)
        Window.fbind("on_key_down", self._note_touch)
        self._idle = Clock.schedule_interval(self._lock_when_idle, 15)

    @property
    def courier(self):
        """What carries to the server and back; made when it is first asked for."""
        if self._courier is None:
            from mobile.keeping.courier import Courier

            self._courier = Courier()
        return self._courier

    @property
    def rail(self):
        """The rail of steps, handed from one fitting's page to the next: its many parts are made once."""
        if self._rail is None:
            from mobile.widgets.step_rail import StepRail

            self._rail = StepRail()
            self._rail.fbind("on_choose", lambda _rail, key: self.page.choose(key))
        return self._rail

    @property
    def touched_at(self) -> float:
        """When the screen was touched or typed at last, by the steady clock in seconds."""
        return self._touched

    def begin(self) -> None:
        """Show the first page: set up, or unlock."""
        if self.tablet.people():
            self.go_lock()
        else:
            self.go_welcome()

    def close(self) -> None:
        """Let go of the window: it outlives a stage that nobody sees any more."""
        self._idle.cancel()
        self.practising.close()
        Window.funbind("on_touch_down", self._note_touch)
        Window.funbind("on_key_down", self._note_touch)
        Window.funbind("on_key_down", self._back_key)
        self.key_ring.close()
        self.session = None
        self.clear_widgets()
        self.page = self._rail = None

    # Saving, as the screen says it -------------------------------------------

    def saved(self, entry) -> None:
        """Say that an entry is saved; call only once it is durable."""
        self.saved_words = spoken("saved {time}", time=clock_words(entry.recorded_at))
        if self.page is not None:
            self.page.show_saved()
        self.practising.saved(entry)
        if self.on_saved is not None:
            self.on_saved(entry)

    def _draft_kept(self, refusal: Refusal | None) -> None:
        if self.page is None:
            return
        if refusal is None:
            self.page.warn("")
            self.page.show_saved()
        else:
            self.page.warn(refusal_sentence(refusal))
            self.page.header.saved = spoken("typing is not kept")

    @staticmethod
    def unsent_words(count: int, since: str, photos: int = 0) -> str:
        """Return what the header says of entries and photos not yet sent, and how old they are."""
        if not count:
            return spoken("all sent")
        hours = (now_here() - moment_from(since)).total_seconds() / 3600 if since else 0
        age = spoken(", {int} d old", int=int(hours // 24)) if hours >= 24 else ""
        among = spoken(", {count} {photos} among it", count=photos, photos=counted("photo", "photos", photos)) if photos else ""
        return spoken("{count} not yet sent{among}{age}", count=count, among=among, age=age)

    # Getting about -----------------------------------------------------------

    def show(self, page) -> None:
        """Put a page on the stage in place of the one that was there."""
        self.clear_widgets()
        self.page = page
        page.show_saved()
        self.add_widget(page)
        self.practising.attend(page)

    def go_welcome(self) -> None:
        """Set up: begin a clinic here, or join one."""
        from mobile.screens.welcome import WelcomePage

        self.show(WelcomePage(self))

    def go_lock(self) -> None:
        """Lock: nobody's keys stay in memory."""
        from mobile.screens.lock import LockPage

        self.session = None
        self.show(LockPage(self))

    def unlocked(self, session: Session) -> None:
        """Somebody's PIN fitted: go back to where this tablet was."""
        self.session = session
        session.on_draft = self._draft_kept
        self.go_where_it_was()

    def go_where_it_was(self) -> None:
        """Show the page this tablet was on, by what it remembers; the locked one for nobody."""
        session = self.session
        if session is None:
            return self.begin()
        where = session.draft(WHERE)
        if session.has_fitting(where.get("fitting", "")):
            self.go_fitting(where["fitting"], where.get("step", ""), where.get("slot", ""))
        elif where.get("page") == "new":
            self.go_new()
        else:
            self.go_home()

    def go_home(self) -> None:
        """The clinic's fittings."""
        from mobile.screens.home import HomePage

        self.session.drop_draft(WHERE)
        self.show(HomePage(self))

    def go_new(self) -> None:
        """A new fitting."""
        from mobile.screens.new_fitting import NewFittingPage

        self.session.keep_draft(WHERE, {"page": "new"})
        self.show(NewFittingPage(self))

    def go_fitting(self, fitting: str, step: str = "", slot: str = "") -> None:
        """One fitting, at a step (the next open one by default)."""
        from mobile.screens.attached import page_of
        from mobile.screens.fitting import FittingPage

        self.show(page_of(self, fitting, step, slot) or FittingPage(self, fitting, step, slot))

    def open_fitting(self, fitting: str) -> None:
        """A fitting chosen from the list: read in this frame, its page in the next, what stands on it after."""
        from mobile.screens.fitting import FittingPage

        page = self.page
        self.session.verdict(fitting)

        def show(_dt) -> None:
            if self.page is page and self.session is not None:
                self.show(FittingPage(self, fitting, softly=True))

        Clock.schedule_once(show, 0)

    def go_timing(self, fitting: str, step: str, slot: str, looking: bool = False, note: str = "") -> None:
        """Time the walk of a trial by taps, or look at what was timed."""
        from mobile.screens.timing import TimingPage

        self.show(TimingPage(self, fitting, step, slot, looking, note))

    def go_watch(self, fitting: str, step: str, slot: str) -> None:
        """Time the walk of a trial over a marked distance with a stopwatch."""
        from mobile.screens.watch import WatchPage

        self.show(WatchPage(self, fitting, step, slot))

    def go_contact_files(self, fitting: str, step: str, slot: str) -> None:
        """Choose a file of contacts for a trial."""
        from mobile.screens.timing_file import ContactFilesPage

        self.show(ContactFilesPage(self, fitting, step, slot))

    def go_sync(self) -> None:
        """Sending and fetching."""
        from mobile.screens.sync import SyncPage

        if self.session is not None and not isinstance(self.page, SyncPage):
            self.show(SyncPage(self, came_from=self.page))

    def keep_where(self, fitting: str, step: str, slot: str = "") -> None:
        """Remember where this tablet is, durably."""
        self.session.keep_draft(WHERE, {"fitting": fitting, "step": step, "slot": slot})
        self.practising.at(fitting, step, slot)

    # Back, and how it looks -------------------------------------------------------

    def go_look(self) -> None:
        """How it looks, over the page that is open; not while a stop must stay in reach."""
        if self.must_stay_in_reach():
            return self.page.warn(spoken("End this walk first: the stop button must stay in reach."))
        LookSheet(self.folder, self.session, self.go_where_it_was).open()

    def must_stay_in_reach(self) -> bool:
        """Whether the page has a stop button, which no sheet may lie over."""
        return any(isinstance(widget, StopButton) for widget in self.page.walk())

    def back(self) -> bool:
        """Go one page back, as Escape and a tablet's back key mean it; False where there is none."""
        sheet = next((child for child in Window.children if isinstance(child, Sheet)), None)
        if sheet is not None:
            sheet.withdraw()
            return True
        if self.page is None or getattr(self.page, "is_busy", False):
            return self.page is not None  # what is under way is neither cut off nor begun again
        return self.page.go_back()

    def close_sheets(self) -> None:
        """Take away whatever lies over the page."""
        for child in [c for c in Window.children if isinstance(c, Sheet)]:
            child.dismiss()

    def _back_key(self, _window, key, *_args) -> bool:
        return key == BACK_KEY and self.back()

    def _note_touch(self, *_args):
        self._touched = time.monotonic()

    def _lock_when_idle(self, _dt):
        if self.session is not None and time.monotonic() - self._touched > IDLE_LOCK_SECONDS:
            # Whoever takes the tablet up next finds the record of people, not practice.
            self.practising.leave() if self.practising.is_on else self.go_lock()
