"""Timing a walk: two large areas to tap, then its figures to look at before they are kept."""

from __future__ import annotations

from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout

from shared_models.calculations.timing.contacts import SIDES
from shared_models.checks.entering import limits_of
from shared_models.checks.walk_timing import LEVEL, SLOPING
from shared_models.language import counted, spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.sentences import place_words
from shared_models.wording.timing_lines import basis_words
from shared_models.wording.trials import click_words, last_confirmed_line
from mobile.device.click import Click
from mobile.flows.board import who
from mobile.flows.tuning import settings_strip
from mobile.flows.walk_timing import ASKED, WalkTiming
from mobile.screens import fields
from mobile.screens.frame import StagePage
from mobile.screens.timing_figures import show_figures
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import MainButton, PlainButton
from mobile.widgets.keypad import Keypad
from mobile.widgets.sheet import Sheet
from mobile.widgets.surface import Column
from mobile.widgets.tap_area import TapArea
from mobile.widgets.theme import theme
from mobile.widgets.trial_foot import TrialFoot

#: How much of the height the two halves keep upright, however much the foot takes.
_LEAST_UPRIGHT = 0.3
#: The whole width; a pane of none at all would keep a width of its own.
_ALL = 0.99999
#: Where it is kept that taps are silent; no record.
_CLICK = "setting/click"
_SIDE_SHARE = 0.42


def click_is_on(session) -> bool:
    """Whether taps click on this tablet."""
    return not session.draft(_CLICK).get("off")


def keep_click(session, is_on: bool) -> None:
    """Keep whether taps click."""
    session.drop_draft(_CLICK) if is_on else session.keep_draft(_CLICK, {"off": "yes"})


class TimingPage(StagePage):
    """One timing: taps first, then figures; leaving keeps what was tapped as a draft."""

    #: When a touch comes is what is measured here.
    times_touches = True

    def __init__(self, stage, fitting: str, step: str, slot: str, looking: bool = False, note: str = ""):
        super().__init__(stage, has_rail=False, has_side=True)
        self.fitting, self.step_key, self.slot = fitting, step, slot
        self.timing = WalkTiming(stage.session, fitting, slot)
        self.note = note
        self.header.leave_words = spoken("Back")
        name, side, _ = who(self.timing.view)
        self.header.who = name
        self.header.detail = " · ".join(p for p in (side, place_words(slot, self.timing.view)) if p)
        self.keypad = Keypad(test_name="keypad")
        self.click = Click(click_is_on(stage.session))
        self.pair: BoxLayout | None = None
        for part in (self, self.foot, self.header):
            part.fbind("size", self._fit_pair)
        self.fbind("marks", self._fit_pair)
        self._of_walk = self.header.detail
        self.look() if looking else self.tap()

    def leave(self) -> None:
        """Back to the trial; what was tapped stays as a draft."""
        self.stage.go_fitting(self.fitting, self.step_key, self.slot)

    # Tapping ------------------------------------------------------------------------

    def tap(self) -> None:
        """Show the two halves: nothing else takes room, so that they are found without looking."""
        self._begin()
        self.side_share = _ALL
        self.trouble = Banner(kind="doubt", test_name="timing:trouble")
        self.pair = BoxLayout(spacing=dp(2))
        self.areas = {}
        for side in SIDES:
            area = TapArea(test_name=f"tap:{side}", words=spoken(side).upper(), small=self._stands_on(side))
            area.fbind("on_tap", lambda _area, moment_s, s=side: self.tapped(s, moment_s))
            self.areas[side] = area
            self.pair.add_widget(area)
        self.side.add_widget(self.pair)
        self._foot_of_taps()
        self._fit_pair()
        self._count()

    def _foot_of_taps(self) -> None:
        settings = settings_strip(self.timing.view)
        # The settings stand in the header here: a line of them would take height from the halves.
        self.header.detail = last_confirmed_line(settings)
        self.foot.padding = [dp(28), dp(5), dp(20), dp(5)]
        self.bar = TrialFoot(settings=settings)
        self.bar.fbind("on_stop", lambda *_: self.stop())
        self.counted = self.bar.between
        self.counted.test_name = "timing:count"
        buttons = [(click_words(self.click.is_on), self.turn_click, "click"), (spoken("Start over"), self.start_over, "start_over"), (spoken("Undo last"), self.undo, "undo")]
        if self.slot in SLOPING:
            buttons.insert(0, (spoken("Last was on a landing"), self.landing, "landing"))
        for text, act, name in buttons:
            button = PlainButton(text=text, fit=True, test_name=name)
            button.fbind("on_release", lambda *_, press=act: press())
            self.bar.take(button)
        done = MainButton(text=spoken("Done"), fit=True, test_name="done")
        done.fbind("on_release", lambda *_: self.look())
        self.bar.take(done)
        self.foot.add_widget(self.bar)

    def turn_click(self) -> None:
        """Let taps click, or be silent; kept for the next walk."""
        self.click.is_on = not self.click.is_on
        keep_click(self.stage.session, self.click.is_on)
        next(b for b in self.bar.buttons if b.test_name == "click").text = click_words(self.click.is_on)
        self.click.give()

    def _stands_on(self, side: str) -> str:
        own = self.timing.side
        return "" if not own else spoken("prosthesis") if side == own else spoken("sound side")

    def tapped(self, side: str, moment_s: float) -> None:
        """Take a tap; it is a durable draft when this returns."""
        try:
            self.timing.tap(side, moment_s)
        except Refusal as refusal:
            self._say(refusal_sentence(refusal))
            return
        self.click.give()
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
            test_name="starting_over", title=spoken("Start over?"), main_words=spoken("Throw the taps away"),
            plain_words=spoken("Keep them"), lead=spoken("Taps of this walk that are thrown away: {contacts}.", contacts=len(self.timing.contacts)),
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
            where = spoken(", on a landing") if len(contacts) - 1 in self.timing.landings else ""
            last = spoken(" · last: {side}{where}", side=spoken(contacts[-1].side), where=where)
        self.counted.text = counted("{number} tap", "{number} taps", len(contacts)) + last

    def _say(self, sentence: str) -> None:
        self.trouble.lead = sentence
        if sentence and self.trouble.parent is None:
            self.side.add_widget(self.trouble, index=len(self.side.children))
        elif not sentence and self.trouble.parent is not None:
            self.side.remove_widget(self.trouble)

    def warn(self, sentence: str) -> None:
        """Say what is in the way; above the halves while there is nothing else on the page."""
        if self.pair is not None and self.pair.parent is not None:
            self._say(sentence)
        else:
            super().warn(sentence)

    def _fit_pair(self, *_args) -> None:
        """The halves take everything between header and foot, either way up."""
        if self.pair is None or self.pair.parent is None:
            return
        self.pair.size_hint_y = 1 if self.is_wide else None
        if not self.is_wide:
            taken = self.header.height + self.foot.height + sum(mark.height for mark in self.marks)
            self.pair.height = max(self.height - taken, self.height * _LEAST_UPRIGHT)

    # Looking ------------------------------------------------------------------------

    def look(self) -> None:
        """Show the figures, what is doubted, and what more is to be said."""
        self._begin()
        self.side_share = _SIDE_SHARE
        number = len(self.timing.view.trials(self.slot)) + 1
        whose = spoken("of a trial recorded before") if self.timing.trial else spoken("of trial {number}", number=number)
        self.head(spoken("This walk, timed"), spoken("The timing {whose}: look at it, then keep it or throw it away.", whose=whose))
        if self.timing.typed.get("note"):
            self.body.add_widget(Banner(kind="doubt", text=self.timing.typed["note"], test_name="timing:restarted"))
        if self.note:
            self.body.add_widget(Banner(kind="info", text=self.note, test_name="timing:note"))
        stood = self.timing.walked_otherwise
        if stood:
            where = spoken("in that trial it stood") if self.timing.trial else spoken("it stands now")
            self.body.add_widget(Banner(
                kind="doubt", test_name="walked_otherwise",
                text=spoken("Timed with the adjuster at {walked_with}; {where} at {stood}.", walked_with=self.timing.typed['walked_with'] or spoken("no recorded position"), where=where, stood=stood),
            ))
        self.lines, self.basis = Column(spacing=theme.gap), None
        self._ask()
        self.body.add_widget(self.lines)
        self._show_lines()
        self.has_side = any(fields.needs_keypad(timing_field) for timing_field in self._asked_fields())
        if self.has_side:
            self.side.add_widget(self.keypad)
        self.quiet(spoken("Throw away"), self.throw_away, "throw_away")
        if not self.timing.typed.get("file_name") and not self.timing.trial:
            self.plain(spoken("More taps"), self.tap, "more")
        self.main(spoken("Save") if self.timing.trial else spoken("Keep for this trial"), self.keep, "keep")

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
                kind="doubt", lead=spoken("Perhaps tapped twice: {doubled}.", doubled=doubled), test_name="doubled",
                text=spoken("Take the second of each away, or keep them: they are left out of the steady steps then."),
                button_words=spoken("Take away"),
            )
            banner.fbind("on_act", lambda *_: (self.timing.take_doubled_away(), self._show_lines()))
            self.lines.add_widget(banner)
        self.basis = show_figures(self.lines, figures)

    def keep(self) -> None:
        """Save it beside its recorded trial; or keep it to be saved with the trial to come."""
        refused = self.timing.refused()
        fields.insist_on(refused, self.asked.get)
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
        self.header.detail = self._of_walk
        self.foot.padding = [dp(28), dp(12), dp(20), dp(12)]
        self.scroll_to_top()
