"""Timing a walk: two large areas to tap, then its figures to look at before they are kept."""

from __future__ import annotations

from kivy.uix.boxlayout import BoxLayout

from shared_models.calculations.timing.contacts import SIDES
from shared_models.checks.entering import limits_of
from shared_models.checks.walk_timing import LEVEL, SLOPING
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.sentences import place_words
from shared_models.wording.timing_lines import basis_words
from mobile.flows.board import who
from mobile.flows.walk_timing import ASKED, WalkTiming
from mobile.screens import fields
from mobile.screens.frame import StagePage
from mobile.screens.timing_figures import show_figures
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import StopButton
from mobile.widgets.keypad import Keypad
from mobile.widgets.sheet import Sheet
from mobile.widgets.surface import Column, Words
from mobile.widgets.tap_area import TapArea
from mobile.widgets.theme import theme

#: How much of the width (lying) or height (upright) the two areas take.
_SHARE_LYING, _SHARE_UPRIGHT = 0.7, 0.58
_SIDE_SHARE = 0.42


class TimingPage(StagePage):
    """One timing: taps first, then figures; leaving keeps what was tapped as a draft."""

    def __init__(self, stage, fitting: str, step: str, slot: str, looking: bool = False, note: str = ""):
        super().__init__(stage, has_rail=False, has_side=True)
        self.fitting, self.step_key, self.slot = fitting, step, slot
        self.timing = WalkTiming(stage.session, fitting, slot)
        self.note = note
        self.header.leave_words = "Back"
        name, side, _ = who(self.timing.view)
        self.header.who = name
        self.header.detail = " · ".join(p for p in (side, place_words(slot, self.timing.view)) if p)
        self.keypad = Keypad(test_name="keypad")
        self.pair: BoxLayout | None = None
        self.fbind("size", self._fit_pair)
        self.look() if looking else self.tap()

    def leave(self) -> None:
        """Back to the trial; what was tapped stays as a draft."""
        self.stage.go_fitting(self.fitting, self.step_key, self.slot)

    # Tapping ------------------------------------------------------------------------

    def tap(self) -> None:
        """Show the two areas."""
        self._begin()
        self.head("Time this walk", "Tap a side each time that foot first touches the floor: the left foot left, the right foot right.")
        self.counted = Words(test_name="timing:count", role="lead")
        self.trouble = Banner(kind="doubt", test_name="timing:trouble")
        self.body.add_widget(self.counted)
        self.pair = BoxLayout(spacing=theme.gap, padding=theme.gap)
        self.areas = {}
        for side in SIDES:
            area = TapArea(test_name=f"tap:{side}", words=side.upper(), small=self._stands_on(side))
            area.fbind("on_tap", lambda _area, moment_s, s=side: self.tapped(s, moment_s))
            self.areas[side] = area
            self.pair.add_widget(area)
        self.side.add_widget(self.pair)
        self._fit_pair()
        self._foot_of_taps()
        self._count()

    def _foot_of_taps(self) -> None:
        stop = StopButton(text="Stop", fit=True, test_name="stop")
        stop.fbind("on_release", lambda *_: self.stop())
        self.foot.add_widget(stop)
        if self.slot in SLOPING:
            self.plain("Last was on a landing", self.landing, "landing")
        self.plain("Start over", self.start_over, "start_over")
        self.plain("Undo last", self.undo, "undo")
        self.main("Done", self.look, "done")

    def _stands_on(self, side: str) -> str:
        own = self.timing.side
        return "" if not own else "prosthesis" if side == own else "sound side"

    def tapped(self, side: str, moment_s: float) -> None:
        """Take a tap; it is a durable draft when this returns."""
        try:
            self.timing.tap(side, moment_s)
        except Refusal as refusal:
            self._say(refusal_sentence(refusal))
            return
        self._say("")
        self._count()
        self.stage.practising.tapped(side, moment_s)

    def landing(self) -> None:
        """The last contact was on the landing between two flights (or was not, after all)."""
        self.timing.mark_landing()
        self._count()

    def undo(self) -> None:
        """Take the last tap back."""
        self.timing.undo()
        self._count()

    def start_over(self) -> None:
        """Ask before the taps are thrown away; without any there is nothing to ask."""
        if self.timing.is_empty:
            return
        sheet = Sheet(
            test_name="starting_over", title="Start over?", main_words="Throw the taps away",
            plain_words="Keep them", lead=f"Taps of this walk that are thrown away: {len(self.timing.contacts)}.",
        )
        sheet.fbind("on_confirm", lambda *_: (sheet.dismiss(), self.timing.start_over(), self.tap()))
        sheet.open()

    def stop(self) -> None:
        """The walk is stopped: back to the trial, where the stop is recorded."""
        self.leave()
        self.stage.page.trial.stop()

    def _count(self) -> None:
        contacts = self.timing.contacts
        for side, area in self.areas.items():
            area.count = str(sum(each.side == side for each in contacts))
        last = ""
        if contacts:
            where = ", on a landing" if len(contacts) - 1 in self.timing.landings else ""
            last = f" · last: {contacts[-1].side}{where}"
        self.counted.text = f"{len(contacts)} {'tap' if len(contacts) == 1 else 'taps'}{last}"

    def _say(self, sentence: str) -> None:
        self.trouble.lead = sentence
        if sentence and self.trouble.parent is None:
            self.body.add_widget(self.trouble)
        elif not sentence and self.trouble.parent is not None:
            self.body.remove_widget(self.trouble)

    def _fit_pair(self, *_args) -> None:
        """The areas fill the side lying, and a share of the height upright."""
        if self.pair is None or self.pair.parent is None:
            return
        self.side_share = _SHARE_LYING
        self.pair.size_hint_y = 1 if self.is_wide else None
        if not self.is_wide:
            self.pair.height = self.height * _SHARE_UPRIGHT

    # Looking ------------------------------------------------------------------------

    def look(self) -> None:
        """Show the figures, what is doubted, and what more is to be said."""
        self._begin()
        self.side_share = _SIDE_SHARE
        number = len(self.timing.view.trials(self.slot)) + 1
        whose = "of a trial recorded before" if self.timing.trial else f"of trial {number}"
        self.head("This walk, timed", f"The timing {whose}: look at it, then keep it or throw it away.")
        if self.note:
            self.body.add_widget(Banner(kind="info", text=self.note, test_name="timing:note"))
        stood = self.timing.walked_otherwise
        if stood:
            where = "in that trial it stood" if self.timing.trial else "it stands now"
            self.body.add_widget(Banner(
                kind="doubt", test_name="walked_otherwise",
                text=f"Timed with the adjuster at {self.timing.typed['walked_with'] or 'no recorded position'}; {where} at {stood}.",
            ))
        self.lines, self.basis = Column(spacing=theme.gap), None
        self._ask()
        self.body.add_widget(self.lines)
        self._show_lines()
        self.has_side = any(fields.needs_keypad(timing_field) for timing_field in self._asked_fields())
        if self.has_side:
            self.side.add_widget(self.keypad)
        self.quiet("Throw away", self.throw_away, "throw_away")
        if not self.timing.typed.get("file_name") and not self.timing.trial:
            self.plain("More taps", self.tap, "more")
        self.main("Save" if self.timing.trial else "Keep for this trial", self.keep, "keep")

    def _ask(self) -> None:
        timing, from_file = self.timing, bool(self.timing.typed.get("file_name"))
        self.asked = {}
        for key in ASKED:
            field = timing.kind.field(key)
            if key in ("instrument", "event", "contact_sd_s") and not from_file:
                continue
            if key == "way" and self.slot not in SLOPING or key == "distance_m" and self.slot in SLOPING:
                continue
            words = timing.view.edition.choices.get(field.choices, {})
            options = [(code, said) for code, said in words.items() if code != LEVEL]
            widget = fields.make_field(
                field, timing.typed.get(key), limits_of(field), options, self.keypad, self._edited,
            )
            self.asked[key] = widget
            self.body.add_widget(widget)
            fields.show(widget, timing.judge(key))

    def _edited(self, key: str, value):
        reading = self.timing.edit(key, value)
        if key not in ("instrument", "event"):
            self._show_lines()
        elif self.basis is not None:
            # Only the words that name them change; all lines anew at each letter would be felt.
            self.basis.text = basis_words(self.timing.figures())
        return reading

    def _show_lines(self) -> None:
        self.lines.clear_widgets()
        self.basis = None
        try:
            figures = self.timing.figures()
        except Refusal as refusal:
            self.lines.add_widget(Banner(kind="doubt", lead=refusal_sentence(refusal), test_name="timing:refused"))
            return
        doubled = len(self.timing.doubled())
        if doubled:
            banner = Banner(
                kind="doubt", lead=f"Perhaps tapped twice: {doubled}.", test_name="doubled",
                text="Take the second of each away, or keep them: they are left out of the steady steps then.",
                button_words="Take away",
            )
            banner.fbind("on_act", lambda *_: (self.timing.take_doubled_away(), self._show_lines()))
            self.lines.add_widget(banner)
        self.basis = show_figures(self.lines, figures)

    def keep(self) -> None:
        """Save it beside its recorded trial; or keep it to be saved with the trial to come."""
        refused = self.timing.refused()
        for key, reading in refused.items():
            if key in self.asked:
                fields.insist(self.asked[key], reading)
        if refused:
            return
        if self.timing.trial is None:
            self.leave()
            return
        entry = self.attempt(lambda: self.timing.save(self.timing.trial))
        if entry is not None:
            self.leave()
            self.stage.saved(entry)

    def throw_away(self) -> None:
        """Drop the draft of this timing; nothing that was saved is touched."""
        self.timing.set_aside()
        self.leave()

    def _asked_fields(self) -> list:
        return [self.timing.kind.field(key) for key in self.asked]

    def _begin(self) -> None:
        self.keypad.target = None
        self.empty()
        self.has_side = True
        self.pair = None
        self.scroll_to_top()
