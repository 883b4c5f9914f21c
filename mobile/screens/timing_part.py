"""Timing on the page of a trial: what is timed, timing it, and the timings of trials before."""

from __future__ import annotations

from kivy.metrics import dp

from shared_models.checks.walk_timing import TimedTrial, timed_trial, timings_of
from shared_models.entries.envelope import Entry
from shared_models.language import phrase, spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing_lines import brief_words, shift_words
from shared_models.wording.trials import (
    LOOK_AT_TIMING, SAVED_WITH_TRIAL, STOPWATCH, TAP_CONTACTS, WATCH_RUNS, WATCHED_ELSEWHERE,
)
from mobile.flows.forms import SlotForm
from mobile.flows.walk_timing import KIND, WalkTiming
from mobile.flows.walk_watch import WalkWatch, words_of as watched_of
from mobile.screens.timing_figures import show_figures
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import PlainButton, keep_within
from mobile.widgets.listing import ListRow

TIMING = KIND
_SINCE = phrase("the trial timed before")


class TimingPart:
    """Offers timing this walk, and saves what was timed together with the trial.

    ``form`` is the trial's own form: what the stopwatch measured is a part of it.
    """

    def __init__(self, page, slot: str, form: SlotForm):
        self.page, self.slot = page, slot
        self.timing = WalkTiming(page.session, page.fitting, slot)
        self.watch = WalkWatch(page.session, form)

    def doors(self) -> list[PlainButton]:
        """Return the large buttons that lead to tapping contacts and to the stopwatch."""
        taps = spoken(TAP_CONTACTS) if self.timing.is_empty else spoken(LOOK_AT_TIMING)
        found = []
        for words, act, name in (
            (taps, self.open, "time_walk"),
            (spoken(WATCH_RUNS) if self.watch.is_running else spoken(STOPWATCH), self.open_watch, "stopwatch"),
        ):
            button = PlainButton(text=words, bold=True, least_height=dp(72), test_name=name)
            button.fbind("on_release", lambda *_, press=act: press())
            found.append(button)
        return found

    def attach_door(self) -> None:
        """Offer a file of contacts, further down the page."""
        keep_within(self.page.quiet(spoken("Attach a file of contacts"), self.attach, "attach_contacts", self.page.body), self.page.body)

    def open_watch(self) -> None:
        """Show the stopwatch."""
        self.page.stage.go_watch(self.page.fitting, self.page.step_key, self.slot)

    @staticmethod
    def watched_of(trial: Entry) -> str:
        """Return what the stopwatch measured in a recorded trial."""
        return watched_of(trial)

    def leave_out_of_another_walk(self) -> None:
        """A time taken at another position is not recorded with the trial to come."""
        self.watch.leave_out_of_another_walk()

    def say_kept(self) -> None:
        """Say what is timed and waits for the trial to be recorded."""
        if self.watch.words():
            moved = self.watch.walked_otherwise
            self.page.body.add_widget(Banner(
                kind="doubt" if moved else "info", lead=self.watch.words() + ".", test_name="watched",
                text=spoken(WATCHED_ELSEWHERE, here=moved) if moved else spoken(SAVED_WITH_TRIAL),
            ))
        if not self.timing.is_empty:
            self._say_kept()

    def _say_kept(self) -> None:
        timing = self.timing
        try:
            text = brief_words(timing.figures())
        except Refusal as refusal:
            text = refusal_sentence(refusal)
        kind, lead, button = "info", spoken("Timed; saved together with this trial."), ""
        stood = timing.walked_otherwise
        if timing.trial is not None:
            kind, lead = "doubt", spoken("The timing of a trial recorded before is not saved yet.")
        elif stood:
            kind, button = "doubt", spoken("It is this walk")
            lead = spoken("Timed at {walked_with}, and it stands at {stood} now: not saved with this trial.", walked_with=timing.typed['walked_with'], stood=stood)
        elif not timing.can_be_saved():
            kind, lead = "doubt", spoken("Timed, but not to be saved so.")
        banner = Banner(kind=kind, lead=lead, text=text, button_words=button, test_name="timed")
        banner.fbind("on_act", lambda *_: (timing.take_for_next(), self.page.open(self.slot)))
        self.page.body.add_widget(banner)

    def open(self) -> None:
        """Show the page that takes the taps, or the figures of what is tapped."""
        self.page.stage.go_timing(
            self.page.fitting, self.page.step_key, self.slot, looking=not self.timing.is_empty
        )

    def attach(self) -> None:
        """Choose a file of contacts that another instrument recorded."""
        self.page.stage.go_contact_files(self.page.fitting, self.page.step_key, self.slot)

    def save_with(self, trial: Entry) -> None:
        """Record the timing of the trial just saved; what can't be recorded stays as a draft."""
        timing = self.timing
        own = timing.trial is not None and timing.trial.digest == trial.digest
        if timing.is_empty or not own or timing.walked_otherwise or not timing.can_be_saved():
            return
        entry = self.page.attempt(lambda: timing.save(trial))
        if entry is not None:
            self.page.saved(entry)


def timing_rows(page, trial: Entry) -> None:
    """Show the timings of a recorded trial beneath it; a press shows all their figures."""
    for entry in timings_of(page.view, trial):
        timed = timed_trial(page.view, entry)
        said = _why_none(timed)
        if timed.figures is not None:
            changes = shift_words(timed.figures, timed.shifts, spoken(_SINCE))
            said = "\n".join((brief_words(timed.figures), *changes[:1]))
        slot = f"timing/{entry.body['timing']}"
        row = ListRow(title=spoken("Timed"), subtitle=said, test_name=f"timing:{entry.digest[:12]}")
        row.fbind("on_release", lambda *_, s=slot: page.open(s))
        page.body.add_widget(row)


def show_timing(page, entry: Entry) -> None:
    """Show all figures of a recorded timing, and what changed since the one before like it."""
    timed = timed_trial(page.view, entry)
    if timed.trial is None:
        page.body.add_widget(Banner(kind="doubt", text=spoken("The trial that was timed was taken out, or is not on this tablet yet.")))
    if timed.figures is None:
        page.body.add_widget(Banner(kind="doubt", lead=_why_none(timed)))
    else:
        show_figures(page.body, timed.figures, shift_words(timed.figures, timed.shifts, spoken(_SINCE)))


def _why_none(timed: TimedTrial) -> str:
    return refusal_sentence(timed.refusal) if timed.refusal else ""
