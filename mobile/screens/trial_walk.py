"""The walk itself: where it stands, timing it, and what was seen and felt."""

from __future__ import annotations

from typing import Any, Iterator

from kivy.metrics import dp
from kivy.uix.boxlayout import BoxLayout

from shared_models.language import spoken
from shared_models.wording import trials as words
from shared_models.wording.findings import items_of
from mobile.flows.forms import SlotForm
from mobile.screens import fields
from mobile.screens.findings import FindingsPart, SomethingElse
from mobile.screens.form_pane import FormPane
from mobile.screens.trial_begin import AID, STANDS_BY, aid_field
from mobile.screens.why import WhyPart
from mobile.widgets.buttons import PlainButton, keep_within
from mobile.widgets.choices import FieldGrid, ScaleChoice, WordBeside
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.listing import SettingCells
from mobile.widgets.surface import Column, Words
from mobile.widgets.text_field import TextField
from mobile.widgets.theme import theme

PAIN = "pain_0_10"
#: Asked by the page in its own way, or only where something calls for it.
OWN_WAY = (
    "findings", "outcome", "stop_reason", "stop_words", "marked_distance_m", "marked_time_s",
    "marked_time_by", STANDS_BY, AID, PAIN,
)
SELDOM = ("out_of_order_because", "confirmed_although", "own_words", "note")
_BESIDE_DP = 560


class WalkHead(BoxLayout):
    """What this trial is and where the adjuster stands, and beside it the doors to timing."""

    def __init__(self, title: str, stands: str, doors: list[PlainButton]):
        super().__init__(spacing=theme.gap, size_hint_y=None)
        self.bind(minimum_height=self.setter("height"))
        said = Column(spacing=dp(2))
        said.add_widget(Words(text=" ".join(filter(None, (f"{title}.", stands))), role="lead", bold=True, test_name="turned"))
        said.add_widget(Words(text=spoken(words.WALK_NOW), tone="ink_soft"))
        self._said, self._doors = said, BoxLayout(spacing=dp(8), size_hint_y=None)
        self._doors.bind(minimum_height=self._doors.setter("height"))
        for door in doors:
            self._doors.add_widget(door)
        self.add_widget(said)
        self.add_widget(self._doors)
        self.fbind("width", self._arrange)

    def _arrange(self, *_args):
        beside = self.width >= dp(_BESIDE_DP) * theme.font_scale
        self.orientation = "horizontal" if beside else "vertical"
        self._doors.size_hint_x = 0.55 if beside else 1
        self._said.size_hint_x = 0.45 if beside else 1
        # One door beneath the other where a word of theirs would be broken side by side.
        each = (self.width * self._doors.size_hint_x - self.spacing * beside - self._doors.spacing) / 2
        self._doors.orientation = "horizontal" if all(door.whole_width <= each for door in self._doors.children) else "vertical"
        self._doors.pos_hint = {"center_y": 0.5} if beside else {}
        # Stacked widgets are placed by their order alone.
        self._said.pos_hint = {"center_y": 0.5} if beside else {}


class WalkPart:
    """Everything that is said after a walk; each answer is a durable draft at once."""

    def __init__(self, page, form: SlotForm, tuning, seldom: tuple[str, ...]):
        self.page, self.form, self.tuning = page, form, tuning
        self.own: dict[str, Any] = {}
        self._seldom = seldom
        self.why: WhyPart | None = None

    def parts(self) -> Iterator[None]:
        """Put it on the page, a part at a time; what stands there may be read and pressed already."""
        page, form, tuning, last = self.page, self.form, self.tuning, self.tuning.course()
        grid = FieldGrid()
        self.pane = FormPane(form, grid, page.keypad, leave_out=(*OWN_WAY, *SELDOM))
        self._who_if_unknown()
        if self.pane.widgets:
            page.body.add_widget(grid)
        yield
        self.pane.body = page.body  # what is in the way is said beneath, not between two questions
        self.findings = FindingsPart(
            page.body, form, items_of(last[-1].entry) if last else (), on_change=self._changed,
        )
        yield
        self._doors()
        self._pain()
        yield
        self.why = WhyPart(page.body, page.view.edition, self.findings.findings, tuning.function)
        self.words_below = Column(spacing=theme.gap)
        page.body.add_widget(self.words_below)
        for key in self._seldom:
            self.say_field(key)
        for key in (k for k in SELDOM if form.typed.get(k)):
            self.say_field(key)
        if self.pane.has_figures:
            page.side.add_widget(page.keypad)
            self._show_keypad()
            page.follow(page.keypad, "target", act=self._show_keypad)

    def _show_keypad(self, *_args) -> None:
        """The keypad takes its room only while a figure is in hand; the answers have it otherwise."""
        in_hand = self.page.keypad.target
        self.page.has_side = in_hand is not None
        if in_hand is not None:
            bring_into_sight(in_hand)

    def _who_if_unknown(self) -> None:
        """Who stands by and which aid, asked here only while nobody said it yet."""
        if not self.form.typed.get(STANDS_BY):
            self.own[STANDS_BY] = self._text(STANDS_BY)
        if not self.form.typed.get(AID):
            self.own[AID] = aid_field(self.form, lambda _value: None)
        for widget in self.own.values():
            self.page.body.add_widget(widget)

    def _doors(self) -> None:
        """Nothing else stood out, something else did, and the person's own words."""
        both, doors, below = Column(), SettingCells(spacing=[dp(10), dp(8)]), Column()
        self.nothing = PlainButton(text=self.findings.nothing_words, fit=True, bold=True, test_name="nothing_else")
        self.nothing.fbind("on_release", lambda *_: self.findings.nothing_else())
        if self.findings.grades:
            doors.add_widget(keep_within(self.nothing, below))
        both.add_widget(doors)
        both.add_widget(below)
        self.page.body.add_widget(both)
        SomethingElse(doors, below, self.findings)
        own = PlainButton(text=spoken(words.OWN_WORDS), fit=True, test_name="own_words")
        own.fbind("on_release", lambda *_: self.say_field("own_words", take=True))
        doors.add_widget(keep_within(own, below))

    def _changed(self) -> None:
        if self.why is not None:  # what is still to come reads the answers when it does
            self.nothing.text = self.findings.nothing_words
            self.why.again()

    def _pain(self) -> None:
        field = self.form.kind.field(PAIN)
        pain = ScaleChoice(
            test_name=f"field:{PAIN}", spacing=0, value=str(self.form.typed.get(PAIN) or ""),
            options=[(str(n), str(n)) for n in range(int(field.lowest), int(field.highest) + 1)],
        )
        pain.fbind("on_edit", lambda w, value: fields.show(w, self.form.edit(PAIN, value)))
        self.own[PAIN] = pain
        self.page.body.add_widget(WordBeside(spoken(words.PAIN), pain))

    def _text(self, key: str) -> TextField:
        field = self.form.kind.field(key)
        widget = TextField(test_name=f"field:{key}", label=field.label, hint=field.hint, text=str(self.form.typed.get(key) or ""))
        widget.fbind("on_edit", lambda w, value: fields.show(w, self.form.edit(key, value)))
        return widget

    def say_field(self, key: str, take: bool = False) -> None:
        """Ask for something seldom said; with ``take`` it is in hand at once."""
        if key not in self.own:
            self.own[key] = self._text(key)
            self.words_below.add_widget(self.own[key])
        if take:
            self.own[key].focus = True

    def refuse(self) -> bool:
        """Show every refusal beside its field, the first one in sight; tell whether there is any."""
        refused = self.form.read().refused
        fields.insist_on(refused, lambda key: self.own.get(key) or self.pane.widgets.get(key))
        return bool(refused)

    def say(self, sentence: str) -> None:
        """Say beneath the answers what is in the way."""
        self.pane.say(sentence)
        bring_into_sight(self.pane.trouble)
