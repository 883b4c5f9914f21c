"""A clinic that began on this tablet joins a server, by address and code."""

from __future__ import annotations

from kivy.clock import Clock

from shared_models.language import spoken
from shared_models.wording.carrying import JOIN_HEAD
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.photos import Work
from mobile.keeping.joining import join_later
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.text_field import TextField

POLL_SECONDS = 0.05


class JoinLatePage(StagePage):
    """Asks the server off the screen's thread; what was typed stays when it is refused."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        self.header.who, self.header.detail, self.header.leave_words = JOIN_HEAD[0], "", spoken("Back")
        self.head(*JOIN_HEAD)
        self.address = TextField(test_name="field:address", label=spoken("Address of the server"))
        self.code = TextField(test_name="field:code", label=spoken("One-time code"))
        self.trouble = Banner(kind="doubt", test_name="join:trouble")
        for widget in (self.address, self.code):
            self.body.add_widget(widget)
        self.button = self.main(spoken("Join"), self.join)

    def leave(self) -> None:
        """Back to sending and fetching."""
        self.stage.go_sync()

    def join(self) -> None:
        """Ask the server."""
        if self.button.disabled:
            return
        self.button.disabled = True
        session, courier = self.stage.session, self.stage.courier
        address, code = self.address.text, self.code.text
        work = Work(lambda _work: join_later(session, courier, address, code), spoken("Asking the server"))
        Clock.schedule_interval(lambda _dt: self._poll(work), POLL_SECONDS)

    def _poll(self, work: Work) -> bool:
        work.drain()
        if not work.done:
            return True
        self.button.disabled = False
        if work.refusal is None:
            self.stage.go_sync()
            return False
        self.trouble.lead = refusal_sentence(work.refusal)
        if self.trouble.parent is None:
            self.body.add_widget(self.trouble)
        return False
