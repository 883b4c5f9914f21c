"""Signing keys that wait for somebody to vouch, and the sealed code for a forgotten PIN."""

from __future__ import annotations

from shared_models.entries.signatures import public_text
from shared_models.entries.vouching import key_mark
from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording import fresh_key
from shared_models.wording.refusals import refusal_sentence
from mobile.keeping.vouching import may_vouch, vouch, waiting_keys
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Words


class KeysPage(StagePage):
    """Who waits for a voucher; one press vouches, where one may."""

    def __init__(self, stage, came_from=None):
        super().__init__(stage, has_rail=False)
        self.came_from = came_from
        self.header.who, self.header.detail, self.header.leave_words = spoken("Keys and codes"), "", spoken("Back")
        self.head(spoken("Keys and codes"), spoken("What is signed with a key counts once somebody vouches for the key."))
        self._show_keys()
        self.body.add_widget(Words(text=spoken("A recovery code lets you choose a new PIN on this tablet without a network. Write it down, seal it in an envelope, keep it away from the tablet.")))
        if "lead_clinician" in stage.session.roles:
            row = ListRow(title=spoken(fresh_key.TITLE), subtitle=spoken(fresh_key.WHY), test_name="fresh_key")
            row.fbind("on_release", lambda *_: self._fresh_key())
            self.body.add_widget(row)
        self.code = Banner(kind="info", test_name="recovery:code")
        self.trouble = Banner(kind="doubt", test_name="keys:trouble")
        self.main(spoken("Make my recovery code"), self.make_code, "recovery:make")

    def leave(self) -> None:
        """Back to sending and fetching."""
        self.stage.go_home()

    def _fresh_key(self) -> None:
        from mobile.screens.fresh_key import FreshKeyPage

        self.stage.show(FreshKeyPage(self.stage, self))

    def _show_keys(self) -> None:
        session = self.stage.session
        own = public_text(session.unlocked.signing_key)
        waiting = waiting_keys(session)
        if not waiting:
            self.body.add_widget(Words(text=spoken("No key waits.")))
        for key in waiting:
            staff = key.subject.id
            mark = key_mark(str(key.body.get("public_key", "")))
            here = key.body.get("public_key") == own
            may = may_vouch(session, staff) and not here
            how = (
                spoken("your own, on this tablet: read the mark to the lead clinician") if here
                else spoken("press to vouch, if the mark is the one they see") if may
                else spoken("waits for the lead clinician, or for them on a tablet they have worked on")
            )
            row = ListRow(
                title=f"{session.record.name_of(staff)}: {mark}", subtitle=how, pressable=may,
                test_name=f"key:{mark}",
            )
            if may:
                row.fbind("on_release", lambda *_, entry=key: self.vouch(entry))
            self.body.add_widget(row)

    def vouch(self, key) -> None:
        """Vouch for a key and show what is left."""
        try:
            vouch(self.stage.session, key)
        except Refusal as refusal:
            self._say(refusal)
            return
        self.stage.show(KeysPage(self.stage, self.came_from))

    def make_code(self) -> None:
        """Make a code and show it this once."""
        session = self.stage.session
        try:
            code = self.stage.tablet.new_recovery_code(session, session.staff)
        except Refusal as refusal:
            self._say(refusal)
            return
        self.code.lead, self.code.text = code, spoken("Shown this once. An earlier code opens nothing any more.")
        if self.code.parent is None:
            self.body.add_widget(self.code)

    def _say(self, refusal: Refusal) -> None:
        self.trouble.lead = refusal_sentence(refusal)
        if self.trouble.parent is None:
            self.body.add_widget(self.trouble)
