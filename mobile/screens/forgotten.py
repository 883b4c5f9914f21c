"""A forgotten PIN: whose, which code, and a new PIN."""

from __future__ import annotations

import threading

from kivy.clock import Clock

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.keeping.forgotten import reset_forgotten_pin
from mobile.screens.frame import StagePage
from mobile.screens.welcome import TwicePad
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField


class ForgottenPage(StagePage):
    """Choose yourself, type a code, choose a new PIN."""

    def __init__(self, stage, name_of, staff: str = ""):
        super().__init__(stage, has_rail=False, has_side=True)
        self.header.who, self.header.detail, self.header.leave_words = spoken("Stancebook"), spoken("a forgotten PIN"), spoken("Back")
        self.head(spoken("A forgotten PIN"), spoken("Choose yourself, type your code, then choose a new PIN."))
        self.staff, self.rows, self.is_busy = "", {}, False
        for person in stage.tablet.people():
            row = ListRow(title=name_of(person), test_name=f"person:{person}")
            row.fbind("on_release", lambda *_, s=person: self.choose(s))
            self.rows[person] = row
            self.body.add_widget(row)
        self.code = TextField(test_name="field:code", label=spoken("Recovery code, or one-time code"))
        self.body.add_widget(self.code)
        self.body.add_widget(Words(text=spoken("The recovery code (20 letters) lies sealed where you put it, and needs no network. The one-time code (16 letters) the lead clinician makes on the review page; it needs a network.")))
        self.trouble = Banner(kind="doubt", test_name="forgotten:trouble")
        self.pad = TwicePad(self.chosen)
        self.side.add_widget(self.pad)
        if staff:
            self.choose(staff)

    def leave(self) -> None:
        """Back to the locked page."""
        self.stage.go_lock()

    def choose(self, staff: str) -> None:
        """Take somebody as the one who forgot."""
        self.staff = staff
        for name, row in self.rows.items():
            row.trailing = spoken("chosen") if name == staff else ""

    def chosen(self, pin: str) -> None:
        """Try the code off the screen's thread."""
        if self.is_busy:
            return
        if not self.staff or not self.code.text.strip():
            self.pad.again(spoken("Choose yourself and type the code first, then the PIN."))
            return
        self.is_busy = True
        self.pad.label = spoken("Trying the code ...")
        told = (self.stage.tablet, self.stage.courier, self.staff, self.code.text, pin)
        threading.Thread(target=self._trying, args=told, daemon=True).start()

    def _trying(self, *told) -> None:
        try:
            reset_forgotten_pin(*told)
            refusal = None
        except Refusal as refused:
            refusal = refused
        except BaseException as fault:  # ours: it rises where the screen's faults rise
            Clock.schedule_once(lambda _dt, fault=fault: self._rise(fault), 0)
            return
        Clock.schedule_once(lambda _dt: self._tried(refusal), 0)

    def _tried(self, refusal: Refusal | None) -> None:
        self.is_busy = False
        if self.stage.page is not self:
            return
        if refusal is None:
            self.stage.go_lock()
            return
        self.pad.again()
        self.trouble.lead = refusal_sentence(refusal)
        if self.trouble.parent is None:
            self.body.add_widget(self.trouble)

    def _rise(self, fault: BaseException) -> None:
        self.is_busy = False
        raise fault
