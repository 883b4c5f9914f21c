"""Who is working: choose yourself, then type your PIN."""

from __future__ import annotations

import threading

from kivy.clock import Clock

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.screens.frame import StagePage
from mobile.widgets.listing import ListRow
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.surface import Words


def lock_name(staff: str) -> str:
    """Return what the locked screen calls somebody: the short name, no full name."""
    stem = staff.rpartition("-")[0] if staff.startswith("p-") else staff
    return stem.removeprefix("p-").replace("-", " ")


class LockPage(StagePage):
    """Nothing is readable until somebody's PIN fits."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False, has_side=True)
        self.header.who = spoken("Stancebook")
        self.header.detail = spoken("locked")
        self.head(spoken("Who is working?"), spoken("Choose yourself, then type your PIN."))
        self.staff = ""
        #: Whether a PIN is being tried.
        self.is_busy = False
        self.rows = {}
        for staff in stage.tablet.people():
            row = ListRow(title=lock_name(staff), test_name=f"person:{staff}")
            row.fbind("on_release", lambda _row, s=staff: self.choose(s))
            self.rows[staff] = row
            self.body.add_widget(row)
        self.pad = PinPad(test_name="pin_pad", enter_words=spoken("unlock"), least_digits=6, most_digits=12)
        self.pad.fbind("on_pin", lambda _pad, digits: self.unlock(digits))
        self.side.add_widget(self.pad)
        forgotten = ListRow(title=spoken("PIN forgotten"), subtitle=spoken("with a recovery code, or the lead clinician's one-time code"), test_name="forgotten")
        forgotten.fbind("on_release", lambda *_: self._forgotten(lock_name))
        self.body.add_widget(forgotten)
        self.foot.add_widget(Words(text=spoken("Nothing on this tablet can be read while it is locked.")))
        self.choose(next(iter(self.rows), ""))

    def choose(self, staff: str) -> None:
        """Take somebody as the one who will type."""
        if self.is_busy:
            return
        self.staff = staff
        self.pad.forget()
        self.pad.message, self.pad.message_kind = "", "refusal"
        self.pad.label = spoken("PIN of {lock_name}", lock_name=lock_name(staff)) if staff else ""
        for name, row in self.rows.items():
            row.trailing = spoken("chosen") if name == staff else ""
            row.ground_tone = "panel" if name == staff else "field"

    def _forgotten(self, name_of) -> None:
        # What it needs is read when it is wanted: the first page of all must not wait for it.
        from mobile.screens.forgotten import ForgottenPage

        self.stage.show(ForgottenPage(self.stage, name_of, self.staff))

    def unlock(self, pin: str) -> None:
        """Try the PIN off the screen's thread: stretching it takes a moment, on purpose."""
        if self.is_busy or not self.staff:
            return
        self.is_busy = True
        self.pad.message = ""
        self.pad.label = spoken("Opening for {lock_name} ...", lock_name=lock_name(self.staff))
        threading.Thread(target=self._trying, args=(self.staff, pin), daemon=True).start()

    def _trying(self, staff: str, pin: str) -> None:
        try:
            session, refusal = self.stage.tablet.unlock(staff, pin), None
        except Refusal as refused:
            session, refusal = None, refused
        except BaseException as fault:  # ours: it rises where the screen's faults rise
            Clock.schedule_once(lambda _dt, fault=fault: self._rise(fault), 0)
            return
        Clock.schedule_once(lambda _dt: self._tried(staff, session, refusal), 0)

    def _tried(self, staff: str, session, refusal: Refusal | None) -> None:
        self.is_busy = False
        if self.stage.page is not self:
            return  # left meanwhile: nobody is let in behind another page
        self.choose(staff)
        if refusal is not None:
            self.pad.message = refusal_sentence(refusal)
        else:
            self.stage.unlocked(session)

    def _rise(self, fault: BaseException) -> None:
        self.is_busy = False
        raise fault
