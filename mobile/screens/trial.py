"""A walking trial, one clear state at a time: begin, turn, walk and say, stop, put back; Stop always in reach."""

from __future__ import annotations

from typing import Iterator

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording import trials as words
from shared_models.wording.findings import WHY_OF_LAST, items_of, noticed_words
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.board import card as card_of
from mobile.flows.forms import SlotForm
from mobile.flows.trial_notes import AGAIN, BEGUN, STOP_WORDS, STOPPING, TrialNotes, is_first_time
from mobile.flows.tuning import Tuning, settings_strip
from mobile.screens.stop_events import show_stop_events
from mobile.screens.stopping import AnswerPart, StopPart
from mobile.screens.timing_part import TimingPart, timing_rows
from mobile.screens.trial_begin import AidSheet, BeginPart, WhoSheet
from mobile.screens.trial_picture import TrialPicture, show_trial_picture
from mobile.screens.trial_walk import WalkHead, WalkPart
from mobile.screens.turning import Turning, TurningPart
from mobile.screens.why import WhyPart
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import MainButton, PlainButton, keep_within
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Column, Words
from mobile.widgets.theme import theme
from mobile.widgets.trial_foot import TrialFoot

_READY_STEPS = ("ready", "static")


class Foot:
    """The foot of a trial's page, filled button by button."""

    def __init__(self, page, on_stop=None):
        settings = settings_strip(page.view)
        self.bar = TrialFoot(line=words.last_confirmed_line(settings), settings=settings, has_stop=on_stop is not None)
        self.bar.fbind("on_stop", lambda *_: on_stop())
        page.foot.add_widget(self.bar)

    def plain(self, text: str, act, test_name: str) -> None:
        """Add a further button."""
        button = PlainButton(text=text, fit=True, test_name=test_name)
        button.least_height = self.bar.stop.least_height
        self._take(button, act)

    def main(self, text: str, act, test_name: str) -> None:
        """Add the one main button; add it last."""
        self._take(MainButton(text=text, fit=True, test_name=test_name), act)

    def _take(self, button, act) -> None:
        button.fbind("on_release", lambda *_: act())
        self.bar.take(button)


class TrialPane:
    """The page of one trial slot: turn one thing, walk, say what was seen and felt."""

    def __init__(self, page, slot: str):
        self.page, self.slot = page, slot
        page.trial = self
        self.notes = TrialNotes(page.session, page.fitting, slot)
        self.tuning = Tuning(page.session, page.fitting, slot)
        self.course = self.tuning.course()
        self.found = card_of(page.view, page.verdict.step(page.step_key), slot)
        self.form = SlotForm(page.session, page.fitting, slot)
        self.title = words.walk_head(self.found.title, len(self.course) + 1)
        self.timing = TimingPart(page, slot, self.form)
        page.in_parts(self._show())

    def again(self) -> None:
        """Show this trial anew after something was recorded."""
        self.page.read()
        self.page.open(self.slot)

    # Which state ------------------------------------------------------------------------

    def _show(self) -> Iterator[None]:
        if AnswerPart.is_needed(self.page):
            self._picture(doors=False, restoring=True)
            AnswerPart(self.page, self.notes, Foot(self.page), then=self.again)
        elif self.notes.get(STOPPING):
            self._show_stop()
        elif is_first_time(self.page.view, self.slot) and not self.notes.get(BEGUN):
            yield from self._show_begin()
        elif self.found.is_done and not self.notes.get(AGAIN):
            yield from self._show_done()
        elif self.tuning.big_words() and not self.notes.get(AGAIN) and not self._walked():
            yield from self._show_turn()
        else:
            yield from self._show_walk()

    def _walked(self) -> bool:
        """Whether something of this walk is said already, though it is not recorded yet."""
        own = {f.key for f in self.form.fields if f.required} - {"stands_by", "aid", "outcome"}
        return any(self.form.typed.get(key) not in (None, "", []) for key in own)

    def _picture(self, how: bool = False, doors: bool = True, restoring: bool = False) -> None:
        typed = self.form.typed
        aid = self.page.view.edition.words("aid", str(typed.get("aid", "")))
        show_trial_picture(self.page, TrialPicture(
            self.page, self.slot, self.tuning, how,
            (lambda: WhoSheet(self.form, self.again).open()) if doors else None,
            (lambda: AidSheet(self.form, self.again).open()), str(typed.get("stands_by", "")), aid if typed.get("aid") else "", restoring,
        ))

    def _before(self) -> None:
        """What stands before everything: steps usually before this one, what is not cleared, why it no longer holds."""
        self.page.order_notes()
        show_stop_events(self.page)
        if self.course and self.course[-1].entry.body.get("outcome") == "confirmed":
            # While tuning goes on the course says it all; a confirmed trial that no
            # longer stands says why.
            for sentence in self.found.sentences:
                self.page.body.add_widget(Banner(kind="doubt", text=sentence))

    # The states ----------------------------------------------------------------------------

    def _show_begin(self) -> Iterator[None]:
        self._picture(how=True, doors=False)
        yield
        self.page.head(words.FIRST.get(self.slot, spoken(words.FIRST_WALK)))
        self._before()
        begin = BeginPart(self.page, self.form, self._begun)
        foot = Foot(self.page, self.stop)
        self._offer_restriction()
        who = str(self.form.typed.get("stands_by", ""))
        foot.main(spoken(words.GO_ON, who=who) if who else spoken(words.BEGIN), begin.go_on, "begin")

    def _begun(self) -> None:
        self.notes.keep(BEGUN, "yes")
        self.again()

    def _show_done(self) -> Iterator[None]:
        self._picture()
        yield
        here = self.tuning.position
        said = spoken(words.CONFIRMED_AT, here=f"{here.normalize():f}") if here is not None else spoken(words.CONFIRMED)
        self.page.head(self.found.title)
        self.page.body.add_widget(Words(text=said, role="title", bold=True, test_name="confirmed"))
        self.page.body.add_widget(Words(text=self.found.recorded, tone="ink_soft"))
        yield
        self._below()
        foot = Foot(self.page, self.stop)
        foot.plain(spoken(words.WALK_MORE), self._walk_again, "walk_again")
        foot.main(spoken(words.GO_ON_NEXT), lambda: self.page.go_on(self.slot), "main")

    def _show_turn(self) -> Iterator[None]:
        self._picture()
        yield
        self.page.head(self.found.title, words.after_words(len(self.course), self.course[-1].outcome))
        self._before()
        turning = Turning(self.page, self.tuning, self.notes, then=self.again)
        TurningPart(self.page, turning)
        yield
        self._why_of_last()
        self._below()
        yield
        foot = Foot(self.page, self.stop)
        foot.plain(spoken(words.AGAIN_HERE, here=f"{self.tuning.position.normalize():f}"), self._walk_again, "walk_again")
        foot.main(words.done_words(turning.suggested), lambda: turning.turn(turning.suggested), "suggestion:act")

    def _walk_again(self) -> None:
        self.notes.keep(AGAIN, "yes")
        self.again()

    def _show_walk(self) -> Iterator[None]:
        page = self.page
        self._picture()
        stands = words.stands_words(self.tuning.position, self.tuning.was_turned) if self.tuning.adjuster else ""
        yield
        page.body.add_widget(WalkHead(self.title, stands, self.timing.doors()))
        self._before()
        self.timing.say_kept()
        if self.tuning.was_turned and self.tuning.recheck_words():
            page.body.add_widget(Words(text=self.tuning.recheck_words()))
        suggested = self.tuning.suggestion_words()
        if suggested and not self.tuning.was_turned:
            text = " ".join((suggested, *self.tuning.reason_words()[1:]))
            page.body.add_widget(Banner(kind="info", text=text, test_name="suggestion"))
        seldom = ("out_of_order_because",) if page_not_ready(page) else ()
        self.walk = WalkPart(page, self.form, self.tuning, seldom)
        yield from self.walk.parts()
        self._why_of_last()
        self._offer_turn()
        self.timing.attach_door()
        self._offer_restriction()
        yield
        self._below()
        foot = Foot(page, self.stop)
        foot.plain(spoken(words.NOT_YET), lambda: self.record("change"), "change")
        foot.main(spoken(words.CONFIRM), lambda: self.record("confirmed"), "confirm")
        page.trial_fit()

    def _offer_turn(self) -> None:
        """Turn it without a suggestion, or otherwise than suggested, before this walk."""
        if self.tuning.adjuster is None or self.tuning.was_turned or self.tuning.position is None:
            return

        def show() -> None:
            place.remove_widget(opener)
            Turning(self.page, self.tuning, self.notes, then=self.again).steps(place)

        place = Column(spacing=theme.gap * 0.6)
        self.page.body.add_widget(place)
        opener = self.page.quiet(spoken(words.TURN_FIRST), show, "turn_first", place)

    def _why_of_last(self) -> None:
        """What the trial before may mean, beside what is suggested after it."""
        if self.course:
            WhyPart(
                self.page.body, self.page.view.edition, lambda: items_of(self.course[-1].entry),
                self.tuning.function, spoken(WHY_OF_LAST), "why_last",
            )

    def _below(self) -> None:
        """The trials so far, the latest first, with what was timed."""
        for past in reversed(self.course):
            at = spoken(" at {position}", position=past.position) if past.position else ""
            said = "; ".join(noticed_words(past.entry, self.page.view)) or spoken("nothing stood out")
            own = str(past.entry.body.get("own_words") or "")
            self.page.body.add_widget(ListRow(
                title=spoken("Trial {number}{at}: {outcome}", number=past.number, at=at, outcome=past.outcome),
                subtitle="\n".join(filter(None, (said, f"“{own}”" if own else "", self.timing.watched_of(past.entry)))),
                pressable=False, test_name=f"past:{past.number}",
            ))
            timing_rows(self.page, past.entry)

    def _offer_restriction(self) -> None:
        """Where a restriction may stand in: no stairs here, or not yet for this person."""
        spare = (self.page.step.instead or {}).get(self.slot)
        if spare:
            keep_within(self.page.quiet(spoken(words.NOT_CLEARED), lambda: self.page.open(spare), "not_cleared", self.page.body), self.page.body)

    # Recording ---------------------------------------------------------------------------------

    def record(self, outcome: str) -> None:
        """Record the trial with its outcome; what to do next is shown right after."""
        walk, form = self.walk, self.form
        form.edit("findings", walk.findings.findings())
        form.edit("outcome", outcome)
        trouble = self._confirmed_in_vain(outcome)
        if walk.refuse():
            return
        if trouble:
            walk.say(trouble)
            return
        self.timing.leave_out_of_another_walk()
        trial = walk.pane.save(self.page.saved)
        if trial is not None:
            self.notes.forget(AGAIN, BEGUN)
            self.timing.save_with(trial)
            if outcome == "confirmed":
                self.page.go(self.page.step_key)
            else:
                self.again()

    def _confirmed_in_vain(self, outcome: str) -> str:
        """Return what speaks against confirming, '' when nothing does; asks for the reason where one helps."""
        if outcome != "confirmed":
            return ""
        form = self.form
        for field in form.fields:
            must = field.must_when_confirmed
            if must is not None and form.typed.get(field.key) not in (None, must):
                return spoken(words.NOT_CONFIRMED_WITHOUT, label=field.label)
        if str(form.typed.get("confirmed_although", "")).strip():
            return ""
        short = [
            f.label for f in form.fields if f.should_when_confirmed is not None
            and form.typed.get(f.key) not in (None, f.should_when_confirmed)
        ]
        marked = any(i["grade"] == "marked" for i in self.walk.findings.findings())
        if not short and not marked:
            return ""
        self.walk.say_field("confirmed_although")
        return spoken(words.CONFIRMED_SHORT, label=short[0]) if short else spoken(words.CONFIRMED_MARKED)

    # Stopping ----------------------------------------------------------------------------------

    def stop(self) -> None:
        """One press: the stop is kept at once, then it is said why."""
        self.notes.keep(STOPPING, "yes")
        self.again()

    def _show_stop(self) -> None:
        self._picture(doors=False)
        StopPart(self.page, self.notes, self.stopped)
        foot = Foot(self.page)
        foot.plain(spoken(words.NOT_STOPPED), self.not_stopped, "stopping:withdraw")

    def not_stopped(self) -> None:
        """It was pressed by mistake; what was said of the walk is still there."""
        self.notes.forget(STOPPING)
        self.again()

    def stopped(self, reason: str, said: str = "") -> None:
        """Record the stop with whatever was known; nothing else is asked now."""
        self.timing.leave_out_of_another_walk()
        form, reading = self.form, self.form.read()
        body = {**reading.body, "findings": list(form.typed.get("findings") or []), "outcome": "stopped", "stop_reason": reason}
        if said:
            body["stop_words"] = said
        try:
            entry = self.page.session.save(form.kind.key, self.page.view.subject, body, draft=form.draft_place)
        except Refusal as refusal:
            self.page.warn(refusal_sentence(refusal))
            return
        self.notes.forget(STOPPING, STOP_WORDS, AGAIN, BEGUN)
        self.page.saved(entry)
        self.timing.save_with(entry)
        self.again()


def page_not_ready(page) -> bool:
    """Whether something that should come before walking is not met."""
    return any(
        page.verdict.step(key).state not in ("met", "waived") for key in _READY_STEPS
        if key != page.step_key
    )
