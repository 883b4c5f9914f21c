"""Timing on the page of a trial: what is timed, timing it, and the timings of trials before."""

from __future__ import annotations

from shared_models.checks.walk_timing import TimedTrial, timed_trial, timings_of
from shared_models.entries.envelope import Entry
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing_lines import brief_words, shift_words
from mobile.flows.walk_timing import KIND, WalkTiming
from mobile.screens.timing_figures import show_figures
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow, SettingCells

TIMING = KIND
_SINCE = "the trial timed before"


class TimingPart:
    """Offers timing this walk, and saves what was timed together with the trial."""

    def __init__(self, page, slot: str):
        self.page, self.slot = page, slot
        self.timing = WalkTiming(page.session, page.fitting, slot)
        if not self.timing.is_empty:
            self._say_kept()
        words = "Time this walk" if self.timing.is_empty else "Look at the timing"
        doors = SettingCells()
        page.body.add_widget(doors)
        page.plain(words, self.open, "time_walk", doors)
        page.quiet("Attach a file of contacts", self.attach, "attach_contacts", doors)

    def _say_kept(self) -> None:
        timing = self.timing
        try:
            text = brief_words(timing.figures())
        except Refusal as refusal:
            text = refusal_sentence(refusal)
        kind, lead, button = "info", "Timed; saved together with this trial.", ""
        stood = timing.walked_otherwise
        if timing.trial is not None:
            kind, lead = "doubt", "The timing of a trial recorded before is not saved yet."
        elif stood:
            kind, button = "doubt", "It is this walk"
            lead = f"Timed at {timing.typed['walked_with']}, and it stands at {stood} now: not saved with this trial."
        elif not timing.can_be_saved():
            kind, lead = "doubt", "Timed, but not to be saved so."
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
            changes = shift_words(timed.figures, timed.shifts, _SINCE)
            said = "\n".join((brief_words(timed.figures), *changes[:1]))
        slot = f"timing/{entry.body['timing']}"
        row = ListRow(title="Timed", subtitle=said, test_name=f"timing:{entry.digest[:12]}")
        row.fbind("on_release", lambda *_, s=slot: page.open(s))
        page.body.add_widget(row)


def show_timing(page, entry: Entry) -> None:
    """Show all figures of a recorded timing, and what changed since the one before like it."""
    timed = timed_trial(page.view, entry)
    if timed.trial is None:
        page.body.add_widget(Banner(kind="doubt", text="The trial that was timed was taken out, or is not on this tablet yet."))
    if timed.figures is None:
        page.body.add_widget(Banner(kind="doubt", lead=_why_none(timed)))
    else:
        show_figures(page.body, timed.figures, shift_words(timed.figures, timed.shifts, _SINCE))


def _why_none(timed: TimedTrial) -> str:
    return refusal_sentence(timed.refusal) if timed.refusal else ""
