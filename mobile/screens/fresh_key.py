"""The lead clinician seals the tablet's record under a fresh key, with their PIN once more."""

from __future__ import annotations

import threading

from kivy.clock import Clock

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording import fresh_key as words
from shared_models.wording.refusals import refusal_sentence
from mobile.screens.frame import StagePage
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.surface import Words


class FreshKeyPage(StagePage):
    """What it is for and what follows from it, and the PIN; afterwards the tablet is locked."""

    def __init__(self, stage, came_from):
        super().__init__(stage, has_rail=False, has_side=True)
        self.came_from, self.is_busy = came_from, False
        self.header.who, self.header.detail, self.header.leave_words = spoken(words.TITLE), "", spoken("Back")
        self.head(spoken(words.TITLE), spoken(words.WHY))
        for sentence in words.WHAT_FOLLOWS:
            self.body.add_widget(Words(text=sentence))
        self.pad = PinPad(
            test_name="pin_pad", label=spoken("Your PIN, {name}", name=stage.session.name), enter_words=spoken("seal"),
            least_digits=6, most_digits=12,
        )
        self.pad.fbind("on_pin", lambda _pad, digits: self.seal(digits))
        self.side.add_widget(self.pad)

    def leave(self) -> None:
        """Back to the keys; not while everything is being sealed."""
        if not self.is_busy:
            self.stage.show(self.came_from)

    def seal(self, pin: str) -> None:
        """Seal off the screen's thread."""
        if self.is_busy:
            return
        self.is_busy = True
        self.pad.message, self.pad.label = "", spoken(words.GOING_ON)
        told = (self.stage.tablet, self.stage.session, pin)
        threading.Thread(target=self._sealing, args=told, daemon=True).start()

    def _sealing(self, tablet, session, pin: str) -> None:
        try:
            is_clean, refusal = tablet.renew_data_key(session, pin), None
        except Refusal as refused:
            is_clean, refusal = False, refused
        except BaseException as fault:  # ours: it rises where the screen's faults rise
            Clock.schedule_once(lambda _dt, fault=fault: self._rise(fault), 0)
            return
        Clock.schedule_once(lambda _dt: self._sealed(session, is_clean, refusal), 0)

    def _sealed(self, session, is_clean: bool, refusal: Refusal | None) -> None:
        self.is_busy = False
        if refusal is not None:
            self.pad.label = spoken("Your PIN, {name}", name=session.name)
            self.pad.message = refusal_sentence(refusal)
            return
        # The session ended by it, wherever the screen has gone meanwhile.
        self.stage.go_lock()
        self.stage.page.pad.message_kind = "" if is_clean else "refusal"
        self.stage.page.pad.message = spoken(words.DONE) if is_clean else spoken(words.DONE_NOT_CLEAN)

    def _rise(self, fault: BaseException) -> None:
        self.is_busy = False
        raise fault
