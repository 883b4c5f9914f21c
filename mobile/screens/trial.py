"""A walking trial: setting before and after, findings, outcome; stop always in reach."""

from __future__ import annotations

from shared_models.quantities.refusals import Refusal
from shared_models.wording.findings import WHY_OF_LAST, items_of
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.board import card as card_of
from mobile.flows.forms import SlotForm
from mobile.flows.tuning import Tuning, settings_strip
from mobile.screens.findings import FindingsPart
from mobile.screens.form_pane import FormPane
from mobile.screens.stopping import AnswerPart, StopSheet
from mobile.screens.timing_part import TimingPart, timing_rows
from mobile.screens.turning import TurningPart
from mobile.screens.why import WhyPart
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import StopButton
from mobile.widgets.listing import ListRow

#: Asked by the page in its own way, not by the form.
OWN_WAY = ("findings", "outcome", "stop_reason")
_SELDOM = ("out_of_order_because", "confirmed_although")


class TrialPane:
    """The page of one trial slot: turn one thing, walk, say what was seen."""

    def __init__(self, page, slot: str):
        self.page, self.slot = page, slot
        page.trial = self
        self.tuning = Tuning(page.session, page.fitting, slot)
        self.found = card_of(page.view, page.verdict.step(page.step_key), slot)
        page.heading(f"{self.found.title}, number {len(self.tuning.course()) + 1}")
        if AnswerPart.is_needed(page):
            AnswerPart(page, then=self.again)
            return
        self._say_state()
        if self.tuning.adjuster is not None:
            TurningPart(page, self.tuning, then=self.again)
        self.timing = TimingPart(page, slot)
        self._why_of_last()
        self._ask()
        self._course()
        self._offer_restriction()
        self._foot()

    def again(self) -> None:
        """Show this trial anew after something was recorded."""
        self.page.read()
        self.page.open(self.slot)

    def _say_state(self) -> None:
        course = self.tuning.course()
        if course and course[-1].entry.body.get("outcome") == "confirmed":
            # While tuning goes on the course says it all; a confirmed trial that no
            # longer stands says why.
            for sentence in self.found.sentences:
                self.page.body.add_widget(Banner(kind="doubt", text=sentence))
        if self.found.is_done:
            self.page.body.add_widget(Banner(
                kind="info", lead="Confirmed.", text=self.found.recorded, test_name="confirmed",
                button_words="Go on",
            ))
            self.page.body.children[0].fbind("on_act", lambda *_: self.page.go_on(self.slot))

    def _why_of_last(self) -> None:
        """What the trial before may mean, beside what is suggested after it."""
        course = self.tuning.course()
        if course:
            WhyPart(
                self.page.body, self.page.view.edition, lambda: items_of(course[-1].entry),
                self.tuning.function, WHY_OF_LAST, "why_last",
            )

    def _ask(self) -> None:
        page = self.page
        form = SlotForm(page.session, page.fitting, self.slot)
        keypad = page.keypad
        self.findings = FindingsPart(page.body, form, lambda: self.why.again())
        self.why = WhyPart(
            page.body, page.view.edition, self.findings.findings, self.tuning.function,
        )
        seldom = tuple(k for k in _SELDOM if not self._asks_seldom(k))
        self.pane = FormPane(form, page.body, keypad, leave_out=(*OWN_WAY, *seldom))
        page.has_side = self.pane.has_figures
        if self.pane.has_figures:
            page.side.add_widget(keypad)

    def _asks_seldom(self, key: str) -> bool:
        """A reason is asked for only where the order or a finding calls for it."""
        if key == "out_of_order_because":
            return page_not_ready(self.page)
        return True

    def _course(self) -> None:
        for past in reversed(self.tuning.course()):
            at = f" at {past.position}" if past.position else ""
            self.page.body.add_widget(ListRow(
                title=f"Trial {past.number}{at}: {past.outcome}",
                subtitle="; ".join(past.found) or "nothing stood out",
                pressable=False, test_name=f"past:{past.number}",
            ))
            timing_rows(self.page, past.entry)

    def _offer_restriction(self) -> None:
        """Where a restriction may stand in: no stairs here, or not yet for this person."""
        spare = (self.page.step.instead or {}).get(self.slot)
        if spare:
            self.page.quiet(
                "Not cleared: say why and plan a follow-up", lambda: self.page.open(spare),
                "not_cleared", self.page.body,
            )

    def _foot(self) -> None:
        page = self.page
        page.strip(settings_strip(page.view))
        stop = StopButton(text="Stop", fit=True, test_name="stop")
        stop.fbind("on_release", lambda *_: self.stop())
        page.foot.add_widget(stop)
        page.plain("Not yet right", lambda: self.record("change"), "change")
        page.main("Confirm", lambda: self.record("confirmed"), "confirm")

    def record(self, outcome: str) -> None:
        """Record the trial with its outcome."""
        form = self.pane.form
        form.edit("findings", self.findings.findings())
        form.edit("outcome", outcome)
        trouble = self._confirmed_in_vain(outcome)
        if trouble:
            self.pane.refuse()
            self.pane.say(trouble)
            return
        trial = self.pane.save(self.page.saved)
        if trial is not None:
            self.timing.save_with(trial)
            if outcome == "confirmed":
                self.page.go(self.page.step_key)
            else:
                self.again()

    def _confirmed_in_vain(self, outcome: str) -> str:
        """Return what speaks against confirming, '' when nothing does."""
        if outcome != "confirmed":
            return ""
        form = self.pane.form
        for field in form.fields:
            must = field.must_when_confirmed
            if must is not None and form.typed.get(field.key) not in (None, must):
                return f"'{field.label}' is answered no, so this can't be confirmed. Take 'Not yet right', or correct the answer."
        kept = str(form.typed.get("confirmed_although", "")).strip()
        short = [
            f.label for f in form.fields if f.should_when_confirmed is not None
            and form.typed.get(f.key) not in (None, f.should_when_confirmed)
        ]
        if short and not kept:
            return f"'{short[0]}' is answered no. Take 'Not yet right', or say below why it is confirmed all the same."
        marked = [i for i in self.findings.findings() if i["grade"] == "marked"]
        if marked and not kept:
            return "Something is marked. Take 'Not yet right', or say below why it is confirmed all the same."
        return ""

    def stop(self) -> None:
        """The trial is stopped: say why, then what to restore."""
        StopSheet(self.stopped).open()

    def stopped(self, reason: str) -> None:
        """Record the stop with whatever was known; nothing else is asked now."""
        form = self.pane.form
        reading = form.read()
        body = {**reading.body, "findings": self.findings.findings(), "outcome": "stopped", "stop_reason": reason}
        try:
            entry = self.page.session.save(
                form.kind.key, self.page.view.subject, body, draft=form.draft_place
            )
        except Refusal as refusal:
            self.pane.say(refusal_sentence(refusal))
            return
        self.page.saved(entry)
        self.timing.save_with(entry)
        self.again()


def page_not_ready(page) -> bool:
    """Whether something that should come before walking is not met."""
    return any(
        page.verdict.step(key).state not in ("met", "waived") for key in ("ready", "static")
        if key != page.step_key
    )
