"""Sending and fetching: what is unsent, progress, and what came of it."""

from __future__ import annotations

from kivy.clock import Clock

from shared_models.entries.vouching import is_copied
from shared_models.language import spoken
from shared_models.wording.carrying import (
    CARRY_ROW, JOIN_ROW, photos_refused_words, photos_sent_words, photos_waiting_words,
)
from shared_models.wording.dates import moment_words
from shared_models.wording.practice import REFUSALS
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.syncing import SyncRun
from mobile.keeping.vouching import waiting_keys
from mobile.screens.frame import StagePage
from mobile.screens.keys import KeysPage
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow, ProgressLine

POLL_SECONDS = 0.05


class SyncPage(StagePage):
    """One sync; it can be cancelled, and goes on where it stopped."""

    def __init__(self, stage, came_from=None):
        super().__init__(stage, has_rail=False)
        self.came_from = came_from
        self.header.who, self.header.detail, self.header.leave_words = spoken("Send and fetch"), "", spoken("Back")
        session = stage.session
        self.run: SyncRun | None = stage.sync_run
        self.head(spoken("Send and fetch"), spoken("Everything saved stays on this tablet, sent or not."))
        if session.is_practice:
            self.body.add_widget(Banner(
                kind="info", test_name="practice:never_sent", text=REFUSALS["practice_never_sent"],
            ))
        state = session.entries.sync_state(session.clinic)
        address = state.access["address"] if state.access else spoken("no server yet: this clinic lives on this tablet")
        self.body.add_widget(ListRow(title=spoken("Server"), subtitle=str(address), pressable=False))
        last = moment_words(state.last_contact_at) if state.last_contact_at else spoken("never")
        self.body.add_widget(ListRow(title=spoken("Last contact"), trailing=last, pressable=False))
        self.photos = Banner(kind="info", test_name="photos_here")
        self._say_photos()
        copied = [t for t in session.record.subjects("tablet") if is_copied(session.record, t)]
        if copied:
            self.body.add_widget(Banner(
                kind="doubt", test_name="copied", lead=spoken("Two devices wrote under the name {copied}.", copied=', '.join(copied)),
                text=spoken("Both records are kept. The lead clinician looks into it."),
            ))
        if not session.is_practice:
            waiting = len(waiting_keys(session))
            row = ListRow(
                title=spoken("Keys and codes"), test_name="keys",
                subtitle=spoken("{waiting} keys wait for somebody to vouch", waiting=waiting) if waiting else spoken("vouch for a key, make a recovery code"),
            )
            row.fbind("on_release", lambda *_: stage.show(KeysPage(stage, self)))
            self.body.add_widget(row)
        if not session.is_practice:
            title, subtitle = CARRY_ROW if state.access else JOIN_ROW
            row = ListRow(title=title, subtitle=subtitle, test_name="carry" if state.access else "join_server")
            row.fbind("on_release", lambda *_: self._carry_or_join(bool(state.access)))
            self.body.add_widget(row)
        self.progress = ProgressLine(test_name="sync:progress", cancel_words=spoken("Cancel"))
        self.progress.fbind("on_cancel", lambda *_: self.run and self.run.cancel())
        self.outcome = Banner(kind="info", test_name="sync:outcome")
        if state.access:
            self.button = self.main(spoken("Send and fetch now"), self.start)
        if self.run is not None and not self.run.done and self.run.session is session:
            self._watch()

    def leave(self) -> None:
        """Back to where one came from."""
        page = self.came_from
        if page is None or page is self or not hasattr(page, "fitting"):
            self.stage.go_home()
        else:
            self.stage.go_fitting(page.fitting, page.step_key)

    def _carry_or_join(self, has_server: bool) -> None:
        """Carry by stick to the server there is, or join one."""
        from mobile.screens.carrying import CarryingPage
        from mobile.screens.join_late import JoinLatePage

        self.stage.show(CarryingPage(self.stage) if has_server else JoinLatePage(self.stage))

    def start(self) -> None:
        """Begin, unless one is under way."""
        if self.run is not None and not self.run.done:
            return
        if self.outcome.parent:
            self.body.remove_widget(self.outcome)
        self.run = self.stage.sync_run = SyncRun(self.stage.courier, self.stage.session)
        self._watch()

    def _watch(self) -> None:
        self.button.disabled = True
        self.body.add_widget(self.progress)
        Clock.schedule_interval(self._poll, POLL_SECONDS)

    def _poll(self, _dt) -> bool:
        run = self.run
        run.drain()
        self.progress.words, self.progress.share = run.words, run.share
        if not run.done:
            return True
        if self.stage.session is None:
            return False  # locked meanwhile: what came in is kept, and nobody looks at this page
        self.button.disabled = False
        self.body.remove_widget(self.progress)
        self._say(run)
        self.show_saved()
        return False

    def _say_photos(self) -> None:
        """Say how many photos are still to be sent, and which the server does not take."""
        session = self.stage.session
        refused = session.entries.refused_attachments()
        count = len(refused)
        words = [] if session.is_practice else [
            photos_waiting_words(*session.photos_waiting()),
            photos_refused_words(count, next(iter(refused.values()), "")),
        ]
        self.photos.text = " ".join(word for word in words if word)
        self.photos.kind = "doubt" if count else "info"
        if self.photos.text and not self.photos.parent:
            self.body.add_widget(self.photos)
        elif not self.photos.text and self.photos.parent:
            self.body.remove_widget(self.photos)

    def _say(self, run: SyncRun) -> None:
        self._say_photos()
        result = run.result
        if run.refusal is not None:
            self.outcome.kind, self.outcome.lead = "doubt", spoken("Not sent.")
            self.outcome.text = refusal_sentence(run.refusal) + spoken(" Nothing on this tablet is lost.")
        elif result.refused:
            self.outcome.kind, self.outcome.lead = "doubt", spoken("The server refused the batch.")
            reasons = dict.fromkeys(refusal_sentence(r) for r in result.refused)
            self.outcome.text = " ".join(reasons) + spoken(" Everything is kept on this tablet.")
        elif result.forked:
            self.outcome.kind, self.outcome.lead = "doubt", spoken("This tablet's record was copied.")
            self.outcome.text = (
                spoken("Another device wrote under this tablet's name. Both records are kept and the lead clinician sees it. ")
                + (spoken("This tablet goes on under a new name.") if result.renamed else spoken("Send and fetch once more."))
            )
        elif result.held:
            self.outcome.kind, self.outcome.lead = "doubt", spoken("Sent, and some of it is held back.")
            self.outcome.text = spoken("{held} signatures are of somebody who no longer works here. They wait for the lead clinician.", held=result.held)
        else:
            self.outcome.kind = "info"
            self.outcome.lead = spoken("Cancelled.") if result.cancelled else spoken("Done.")
            self.outcome.text = spoken("{sent} sent, {fetched} fetched.", sent=result.sent, fetched=result.fetched) + photos_sent_words(
                result.photos.sent, result.photos.left, result.photos.why
            )
        self.body.add_widget(self.outcome)
