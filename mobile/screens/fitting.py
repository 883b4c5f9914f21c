"""One fitting: the rail, and the step one is at."""

from __future__ import annotations

from typing import Iterator

from shared_models.catalogue.edition import Step
from shared_models.checks.verdict import NOT_APPLICABLE
from shared_models.language import spoken
from shared_models.wording.states import restriction_line, review_word, state_words
from mobile.flows.sheet_notes import sheet_notes
from mobile.flows.board import (
    Card,
    DONE,
    cards,
    next_open,
    next_step,
    returned_with,
    unmet_before,
    who,
)
from mobile.flows.curing import waiting_for
from mobile.flows.forms import newest_draft_step
from mobile.flows.tuning import settings_strip
from mobile.screens.attached import step_doors
from mobile.screens.caps import CAPS, show_caps
from mobile.screens.correcting import show_last_saved
from mobile.screens.frame import StagePage
from mobile.screens.softly import after_the_next_frame, one_a_frame
from mobile.screens.step_pictures import show_for_step
from mobile.screens.visits import show_first, show_visit
from mobile.widgets.banner import Banner
from mobile.widgets.keypad import Keypad
from mobile.widgets.listing import ListRow

MISSING = "missing"
#: What is recorded from the last page.
_FROM_THE_LAST_PAGE = ("event/", "event_follow_up/", "no_event/")
_MARKS = {"not applicable": "not_applicable"}


class FittingPage(StagePage):
    """Shows a step as its cards, or one slot of it as a form or a reading."""

    def __init__(self, stage, fitting: str, step: str = "", slot: str = "", softly: bool = False):
        super().__init__(stage, rail=stage.rail)
        self.fitting = fitting
        self.session = stage.session
        self.header.leave_words = spoken("Fittings")
        self._keypad: Keypad | None = None
        self.step_key = ""
        self.slot = ""
        #: The fact that was saved last on this page, for whoever takes it back.
        self.last_saved = None
        #: Whether what stands on the page comes a part in each frame, so that no frame is felt.
        self._softly = softly
        self._parts: Iterator[None] | None = None
        self.read()
        if softly:
            # The next frame lays header and rail out.
            after_the_next_frame(lambda: self._begin(step, slot))
        else:
            self._begin(step, slot)

    def _begin(self, step: str, slot: str) -> None:
        """Go to a step, by default where typing was left or to the next one; nowhere once gone elsewhere."""
        if self._softly and (self.stage.page is not self or self.step_key):
            self._softly = False
            return
        if not step:
            drafted = newest_draft_step(self.session, self.fitting)
            step, slot = drafted if drafted else (next_step(self.verdict) or MISSING, "")
        self.go(step, slot)
        self._softly = False

    @property
    def keypad(self) -> Keypad:
        """The page's keypad, made when a form wants it and once: a form would be felt to wait for its keys."""
        if self._keypad is None:
            self._keypad = Keypad(test_name="keypad")
        return self._keypad

    # Reading ------------------------------------------------------------------

    def read(self) -> None:
        """Read record and verdict anew, and show the rail by them."""
        self.view = self.session.fitting(self.fitting)
        self.verdict = self.session.verdict(self.fitting)
        name, side, identifiers = who(self.view)
        self.header.who = name
        self.header.detail = " · ".join(part for part in (side, identifiers) if part)
        steps = [
            {
                "key": s.key, "title": s.title, "state": _MARKS.get(s.state, s.state),
                "state_word": state_words(s.state),
            }
            for s in self.verdict.steps
        ]
        whole = "met" if self.verdict.is_complete else "open"
        count = sum(1 for s in self.verdict.steps if s.state not in DONE)
        steps.append({
            "key": MISSING, "title": spoken("Nothing forgotten"), "state": whole,
            "state_word": spoken("nothing missing") if not count else spoken("{count} steps missing", count=count),
        })
        self.rail.steps = steps

    @property
    def step(self) -> Step:
        """The step one is at."""
        return self.view.edition.step(self.step_key)

    def board(self) -> list[Card]:
        """The cards of the step one is at."""
        return cards(self.view, self.verdict.step(self.step_key), self.step)

    # Getting about ------------------------------------------------------------

    def choose(self, step: str) -> None:
        """A press on the rail: another step is gone to; the one at hand says why it stands so."""
        if step != self.step_key or step == MISSING or self.stage.must_stay_in_reach():
            return self.go(step)
        from mobile.screens.rail_why import WhySheet

        WhySheet(self).open()

    def go(self, step: str, slot: str = "") -> None:
        """Show a step; a step with one thing to do opens it at once."""
        self.read()
        self.step_key = step
        self.rail.current = step
        if step == MISSING:
            self.stage.keep_where(self.fitting, step)
            return self.open(slot) if slot.startswith(_FROM_THE_LAST_PAGE) else self.show_missing()
        board = self.board()
        if slot and any(c.slot == slot for c in board) or slot.startswith(("event/", "screw_moved/", "restriction/", "waiver/", "timing/", "event_follow_up/", "no_event/")):
            return self.open(slot)
        walking = [c for c in board if c.kind.group == "trial"]
        if len(walking) == 1 and step != "stance_damping":
            return self.open(walking[0].slot)
        if len(board) == 1 and not board[0].is_done:
            return self.open(board[0].slot)
        return self.show_cards()

    def go_on(self, after: str = "") -> None:
        """Go on to the next thing of this step, or to the list when all is done."""
        self.read()
        board = self.board() if self.step_key != MISSING else []
        card = next_open(board, after)
        if card is not None and card.slot != after:
            return self.open(card.slot)
        if self.step_key == MISSING:
            return self.show_missing()
        following = next_step(self.verdict, self.step_key)
        if card is None and len(board) == 1 and following and not board[0].sentences:
            # Nothing is left to read or to do in a step of one thing.
            return self.go(following)
        return self.show_cards()

    def open(self, slot: str) -> None:
        """Show one slot: as a trial, a sign-off, a dispute, a reading or a form."""
        from mobile.screens import panes

        self.slot = slot
        self.stage.keep_where(self.fitting, self.step_key, slot)
        self.begin_content()
        panes.pane_for(self, slot)
        self.scroll_to_top()

    def go_back(self) -> bool:
        """From a form to its step, from a step to the list; what is typed stays a draft."""
        is_one_of_many = self.slot and self.step_key != MISSING and len(self.board()) > 1
        if is_one_of_many and not any(getattr(w, "test_name", "") == "back" for w in self.walk()):
            self.show_cards()
            return True
        return super().go_back()

    def begin_content(self) -> None:
        """Empty the page for the next content."""
        if self._keypad is not None:
            self._keypad.target = None
        self._parts = None
        self.empty()
        self.has_side = False
        self.show_saved()

    def show_missing(self) -> None:
        """Show what is still missing, and the review."""
        from mobile.screens.missing import MissingPane

        self.slot = ""
        self.begin_content()
        MissingPane(self)
        self.scroll_to_top()

    def show_cards(self) -> None:
        """Show the step as the list of what it asks for."""
        self.slot = ""
        self.stage.keep_where(self.fitting, self.step_key)
        self.begin_content()
        if self.step_key == CAPS:
            return show_caps(self)
        self.in_parts(self._parts_of_cards())

    def in_parts(self, parts: Iterator[None]) -> None:
        """Put content on the page: at once, or a part in each frame while the page is being opened softly.

        Between two parts the page is whole as it stands; what records anything comes in the last one.
        """
        if self._softly:
            self._parts = parts
            one_a_frame(parts, lambda: self._parts is parts and self.stage.page is self)
        else:
            for _ in parts:
                pass

    def _parts_of_cards(self) -> Iterator[None]:
        """Put the cards of a step on the page; between two parts the page is whole as it stands."""
        self.heading()
        show_first(self)
        yield
        board = self.board()
        for number, card in enumerate(board):
            self.body.add_widget(self._row(card))
            if number % 2:
                yield
        kind = "info" if self.verdict.step(self.step_key).state == NOT_APPLICABLE else "doubt"
        for text in self._step_notes():
            self.body.add_widget(Banner(kind=kind, text=text))
        self._side_doors()
        yield
        show_for_step(self)
        yield
        self.strip(settings_strip(self.view))
        show_last_saved(self)
        following = next_open(board)
        if following:
            self.main(spoken("Next: {title}", title=following.title), lambda: self.open(following.slot))
        else:
            self.main_next_step()
        self.scroll_to_top()

    def main_next_step(self) -> None:
        """Offer the next step that is not done as the main button."""
        key = next_step(self.verdict, self.step_key)
        if key:
            self.main(spoken("Go on: {title}", title=self.view.edition.step(key).title), lambda: self.go(key))
        else:
            self.main(spoken("Nothing forgotten?"), lambda: self.go(MISSING))

    def heading(self, title: str = "", cautions: bool = True) -> None:
        """Begin the body: title, the one sentence, cautions, order, restriction."""
        if self.step_key == MISSING or self.slot.startswith(_FROM_THE_LAST_PAGE):
            # A fall is recorded, and followed up, from any page; what the step asks says nothing of it.
            self.head(title)
            return
        step = self.step
        self.head(title or step.title, step.say)
        if cautions and step.cautions:
            self.body.add_widget(Banner(kind="caution", text=" ".join(step.cautions)))
        self.order_notes()

    def order_notes(self) -> None:
        """Say what usually comes before this step, what still sets, and what is not cleared."""
        for text in returned_with(self.verdict, self.step_key):
            said = review_word(self.verdict.review, self.verdict.changed_since_review)
            self.body.add_widget(Banner(kind="doubt", lead=spoken("Review: {said}.", said=said), text=text, test_name="review_remark"))
        before = unmet_before(self.view, self.verdict, self.step)
        if before:
            self.body.add_widget(Banner(kind="info", text=before))
        for words in waiting_for(self.view, self.step_key):
            self.body.add_widget(Banner(kind="doubt", text=words, test_name="curing"))
        restricted = restriction_line(self.verdict.restrictions)
        if restricted:
            self.body.add_widget(Banner(kind="info", lead=restricted))
        for words in sheet_notes(self.view, self.step):
            self.body.add_widget(Banner(kind="doubt", text=words, test_name="sheet_news"))

    def _row(self, card: Card) -> ListRow:
        subtitle = " · ".join(part for part in (card.said, card.recorded) if part)
        row = ListRow(
            title=card.title, subtitle="\n".join((subtitle, *card.sentences)).strip(),
            trailing=state_words(card.state), row_state=_MARKS.get(card.state, card.state),
            test_name=f"card:{card.slot}",
        )
        row.fbind("on_release", lambda *_: self.open(card.slot))
        return row

    def _step_notes(self) -> list[str]:
        from shared_models.wording.sentences import sentence_of

        slots = {c.slot for c in self.board()}
        return [
            sentence_of(r, self.view) for r in self.verdict.step(self.step_key).remarks
            if r.slot not in slots and not r.slot.startswith("restriction/")
        ]

    def _side_doors(self) -> None:
        """What may have to be said in between: a screw touched, a step set aside."""
        if self.view.screws():
            self.quiet(spoken("A screw was slackened or moved"), self.show_screws, "screw_moved", self.body)
        step = self.verdict.step(self.step_key)
        if self.step.may_be_waived and step.state not in DONE:
            self.quiet(spoken("Waive this step, with a reason"), lambda: self.open(f"waiver/{self.step_key}"), "waive", self.body)
        show_visit(self)
        step_doors(self)

    def show_screws(self) -> None:
        """Choose the screw that was touched."""
        self.begin_content()
        self.head(spoken("Which screw was slackened or moved?"), spoken("Its torque and everything aligned or walked since has to be looked at again."))
        for screw in self.view.screws():
            row = ListRow(title=screw.screw.name, subtitle=screw.sheet.name, test_name=f"screw:{screw.key}")
            row.fbind("on_release", lambda *_, key=screw.key: self.open(f"screw_moved/{key}"))
            self.body.add_widget(row)
        self.plain(spoken("Back"), lambda: self.go(self.step_key), "back")

    # Saving -------------------------------------------------------------------

    def saved(self, entry) -> None:
        """An entry is durable: say so, and read anew."""
        self.last_saved = entry
        self.stage.saved(entry)
        self.read()
