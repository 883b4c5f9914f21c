"""Carrying by stick: choose where, write what is unsent, read the receipt that came back."""

from __future__ import annotations

from pathlib import Path

from kivy.clock import Clock

from shared_models.language import spoken
from shared_models.wording import carrying as words
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.carrying import begin_taking_back, begin_writing, lying_there, places
from mobile.flows.photos import Work
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow, ProgressLine

POLL_SECONDS = 0.05


class CarryingPage(StagePage):
    """One stick at a time; what is under way can be cancelled and begun again."""

    def __init__(self, stage, came_from=None):
        super().__init__(stage, has_rail=False)
        self.came_from = came_from
        self.header.who, self.header.detail, self.header.leave_words = words.STICK_HEAD[0], "", spoken("Back")
        self.work: Work | None = None
        self.own: Path = stage.tablet.carried_folder
        self.places = places(self.own)
        self.chosen = self.places[0][1]
        self.outcome = Banner(kind="info", test_name="carry:outcome")
        self.progress = ProgressLine(test_name="carry:progress", cancel_words=spoken("Cancel"))
        self.progress.fbind("on_cancel", lambda *_: self.work and self.work.cancel())
        self._fill()

    def leave(self) -> None:
        """Back to sending and fetching; what is under way goes on."""
        self.stage.go_sync()

    def _fill(self) -> None:
        self.empty()
        self.head(*words.STICK_HEAD)
        for place, (title, path) in enumerate(self.places):
            is_chosen = path == self.chosen
            row = ListRow(
                title=title, subtitle=str(path), subtitle_role="body", test_name=f"place:{place}",
                trailing=words.stick_place_words(lying_there(path)), row_state="met" if is_chosen else "",
            )
            row.fbind("on_release", lambda *_, path=path: self._choose(path))
            self.body.add_widget(row)
        unsent = self.stage.session.unsent()[0]
        self.body.add_widget(Banner(
            kind="info", lead=words.stick_unsent_words(unsent) + ".", text=spoken(words.STICK_SAFE), test_name="carry:safe",
        ))
        self.buttons = [
            self.plain(spoken(words.STICK_TAKE_BACK), self.take_back, "carry:back"),
            self.main(spoken(words.STICK_WRITE), self.write, "carry:write"),
        ]

    def _choose(self, path: Path) -> None:
        if self.work is None:
            self.chosen = path
            self._fill()

    def write(self) -> None:
        """Write what is unsent to the chosen place."""
        self._begin(lambda: begin_writing(self.stage.session, self.chosen, self.own), self._written)

    def take_back(self) -> None:
        """Read what the server's receipt says."""
        self._begin(lambda: begin_taking_back(self.stage.session, self.chosen), self._taken_back)

    def _begin(self, begin, say) -> None:
        if self.work is not None:
            return
        self.work = begin()
        if self.outcome.parent:
            self.body.remove_widget(self.outcome)
        self.body.add_widget(self.progress)
        Clock.schedule_interval(lambda _dt: self._poll(say), POLL_SECONDS)

    def _poll(self, say) -> bool:
        work = self.work
        work.drain()
        self.progress.words, self.progress.share = work.words, work.share
        if not work.done:
            return True
        self.work = None
        self._fill()
        if work.refusal is not None:
            self.outcome.kind, self.outcome.lead = "doubt", spoken("Not carried.")
            self.outcome.text = refusal_sentence(work.refusal)
        else:
            say(work.result)
        self.body.add_widget(self.outcome)
        self.show_saved()
        return False

    def _written(self, done) -> None:
        self.outcome.kind, self.outcome.lead = "info", spoken("Written.")
        self.outcome.text = words.stick_written_words(done.files, done.entries, done.photos)

    def _taken_back(self, done) -> None:
        refused = " ".join(dict.fromkeys(told.sentence for told in done.refused))
        self.outcome.kind = "doubt" if refused or done.copied else "info"
        self.outcome.lead = spoken("The receipt is read.")
        self.outcome.text = words.stick_back_words(done.entries, done.photos, refused, done.copied)
