"""Forms that work something out beneath a field while they are filled in."""

from __future__ import annotations

from shared_models.calculations.part_codes import PartCode, Question
from shared_models.language import spoken
from shared_models.wording.part_codes import choice_words, code_words, question_words
from shared_models.wording.torque import CHOOSE_WRENCH
from mobile.flows import closing
from mobile.flows.forms import SlotForm
from mobile.flows.part_form import CODE, PartForm
from mobile.flows.torque_form import READING, TYPED, TorqueForm
from mobile.screens import fields
from mobile.screens.form_pane import FormPane
from mobile.screens.wrench_part import WrenchPart
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.figure_field import AmountField
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.keypad import Keypad
from mobile.widgets.surface import Column
from mobile.widgets.theme import theme


#: Characters of a screw's name that stand on a button in one line.
_SHORT_TITLE = 24


def working_pane(form: SlotForm, body, keypad: Keypad) -> FormPane:
    """Return the pane that suits a form; a plain one has its fields still to come."""
    if isinstance(form, TorqueForm):
        return TorquePane(form, body, keypad)
    if isinstance(form, PartForm):
        return PartPane(form, body, keypad)
    return FormPane(form, body, keypad, at_once=False)


def save_words(page, slot: str) -> str:
    """Return what the main button of a form says: of a screw, which one comes after it."""
    following = closing.after(page.view, page.verdict, slot)
    if following is None or closing.sort_of(slot) == "cap":
        return spoken("Save")
    title = following.title.partition(", ")[2]
    if not page.is_wide or len(title) > _SHORT_TITLE:
        # A longer button takes a line of its own, and that room is the reading's.
        return spoken("Save, next")
    return spoken("Save, then {title}", title=title)


class TorquePane(FormPane):
    """A torque: the wrench chosen, and beneath the reading what to set and what it means."""

    form: TorqueForm

    def __init__(self, form: TorqueForm, body, keypad: Keypad):
        self.lines = Column(spacing=8, test_name="torque:lines")
        self._said: list = []
        self.wrench: WrenchPart | None = None
        if theme.pounds_first:
            form.offer_inch_pounds()
        super().__init__(form, body, keypad, leave_out=form.left_out)
        self._reading_first()
        if form.wrenches:
            self.wrench = WrenchPart(form, self.take_wrench, self.name_wrench)
            body.add_widget(self.wrench, index=body.children.index(self.lines))
        self._say()

    def _reading_first(self) -> None:
        """The reading and what it means stand on top: the locking method is the sheet's already."""
        reading, first = self.widgets[self.form.reading_key], next(iter(self.widgets.values()))
        if reading is not first:
            self.body.remove_widget(reading)
            self.body.add_widget(reading, index=self.body.children.index(first) + 1)
        self.body.add_widget(self.lines, index=self.body.children.index(reading))

    def take_wrench(self, name: str) -> None:
        """A wrench of the list was pressed: it brings its marks and its calibration."""
        self.form.names_wrench = False
        self._edit("wrench", name)

    def name_wrench(self) -> None:
        """Another wrench is to be typed."""
        self.form.names_wrench = True
        self._edit("wrench", "")
        self.widgets["wrench"].focus = True

    def refuse(self) -> bool:
        """Show every refusal; a wrench that nobody chose is asked for where it is chosen."""
        refused = super().refuse()
        if self.wrench is not None and self.form.chooses_wrench and self.form.wrench is None:
            self.say(spoken(CHOOSE_WRENCH))
        return refused

    def _ask_wrench(self) -> None:
        """Show the fields of a wrench that is typed, take away those of one that is chosen."""
        if self.wrench is None:
            return
        self._leave_out = self.form.left_out
        # From the last to the first: each is put right under the list.
        for key in ("wrench_calibrated_on", "wrench"):
            if key not in self.form.limits:
                continue
            if key in self._leave_out and key in self.widgets:
                self.body.remove_widget(self.widgets.pop(key))
            elif key not in self._leave_out and key not in self.widgets:
                self._add(self.form.kind.field(key), self.body.children.index(self.wrench))
        self.wrench.show()

    def edited(self, key: str) -> None:
        """Bring the lines, and where wrench or unit changed the fields, up to date."""
        if key == "wrench" and not (self.form.names_wrench and self.form.typed.get(key)):
            self._ask_wrench()
        if key == "reading_unit":
            self._exchange_reading()
        if key in ("wrench", "reading_unit"):
            self._show_figures()
        self._ask()
        self._say()
        if key == self.form.reading_key:
            self._bring_judgement()

    def _add(self, field, index: int = 0) -> None:
        """The unit key on the reading says what the wrench shows, as the choice further down does."""
        super()._add(field, index)
        if field.key in (READING, TYPED):
            widget = self.widgets[field.key]
            widget.follows_look, widget.units = False, self.form.units_on_key()
            widget.fbind("on_unit_key", self._change_unit)

    def _change_unit(self, _widget, unit: str) -> bool:
        code = self.form.unit_code(unit)
        if "reading_unit" in self.widgets:
            self.widgets["reading_unit"].value = code
        self._edit("reading_unit", code)
        self.widgets[self.form.reading_key].focus = True
        return True

    def _exchange_reading(self) -> None:
        """Another unit: the reading's field of that unit takes its place, with the same digits."""
        for key in (READING, TYPED):
            if key in self.widgets:
                self.body.remove_widget(self.widgets.pop(key))
        self._leave_out = self.form.left_out
        place = self.body.children.index(self.lines) + 1
        self._add(self.form.kind.field(self.form.reading_key), place)

    def _show_figures(self) -> None:
        """Another wrench or unit has changed what stands in fields already on the page."""
        if self.form.reading_key not in self.widgets:
            self._exchange_reading()
        for key, widget in self.widgets.items():
            if key in ("wrench", self.form.reading_key):
                continue
            shown = str(self.form.typed.get(key) or "")
            if isinstance(widget, AmountField):
                field, limits = self.form.kind.field(key), self.form.limits[key]
                if not widget.units:
                    widget.unit, widget.hint = limits.unit, fields.hint_of(field, limits, self.form.asked(field), self.form.last.of(key))
                if widget.stated() != shown:
                    fields.put(widget, shown)
                    fields.show(widget, self.form.judge(key))
                continue
            if isinstance(widget, ChoiceRow):
                if not isinstance(self.form.typed.get(key), bool):
                    widget.value = shown
            elif widget.text != shown:
                widget.text = shown
                fields.show(widget, self.form.judge(key))

    def _ask(self) -> None:
        """An extension changes what the wrench should show for the torque that is asked."""
        key = self.form.reading_key
        if key in self.widgets:
            field = self.form.kind.field(key)
            self.widgets[key].hint = fields.hint_of(field, self.form.limits[key], self.form.asked(field), self.form.last.of(key))

    def _say(self) -> None:
        """Say beneath the reading what is to be set, what it means, what is in the way."""
        said = self.form.lines()
        if said == self._said:
            return
        self._said = said
        self.lines.clear_widgets()
        for doubt in (True, False):
            words = [line.words for line in said if line.doubt is doubt]
            if words:
                self.lines.add_widget(Banner(
                    kind="doubt" if doubt else "info", text="\n".join(words),
                    test_name="torque:doubt" if doubt else "torque:line",
                ))

    def _bring_judgement(self) -> None:
        """What a reading means comes into sight with it, where both have room."""
        pane, reading = self.body.parent, self.widgets.get(self.form.reading_key)
        if pane is not None and reading is not None and self.lines.children:
            first = self.lines.children[-1]
            if reading.height + theme.gap + theme.touch * theme.font_scale < pane.height:
                bring_into_sight(first)


class PartPane(FormPane):
    """A component: the code on the part fills in serial, lot and the rest."""

    form: PartForm

    def __init__(self, form: PartForm, body, keypad: Keypad):
        self.answer = Column(spacing=8, test_name="code:answer")
        super().__init__(form, body, keypad)
        code = self.widgets[CODE]
        code.stays_after_enter = code.keeps_separators = True
        code.fbind("on_next", lambda *_: self.scan())
        code.touch_part.fbind("focus", lambda _entry, in_hand: None if in_hand else self.scan())
        body.add_widget(self.answer, index=body.children.index(code))
        self._show()

    def edited(self, key: str) -> None:
        """What the code said is gone while it is typed; any other field is held against it."""
        self._show()

    def scan(self) -> None:
        """The code is whole: read it, fill in what it says, ask where it is not clear."""
        if self.form.answer is None:
            self._fill(self.form.scan())
        if self.widgets[CODE].focus and not self._may_be_first_half():
            # The next scan replaces this code.
            self.widgets[CODE].touch_part.select_all()

    def _may_be_first_half(self) -> bool:
        """A code that names a model but no single part may have a second half, scanned behind it."""
        answer = self.form.answer
        return isinstance(answer, PartCode) and not (answer.serial or answer.lot)

    def refuse(self) -> bool:
        """Read a code that nobody has ended with Enter, then show every refusal."""
        self.scan()
        refused = super().refuse()
        self._show()
        return refused

    def _fill(self, changed: dict[str, str]) -> None:
        for key, value in changed.items():
            if key in self.widgets:
                self.widgets[key].text = value
        for key, widget in self.widgets.items():
            if self.form.typed.get(key) not in (None, ""):
                fields.show(widget, self.form.judge(key))
        self._show()

    def _show(self) -> None:
        """Show beneath the code what it says, what is to be chosen, and what contradicts."""
        self.answer.clear_widgets()
        answer, chosen = self.form.answer, self.form.chosen()
        if isinstance(answer, Question):
            self._ask(answer, chosen)
        elif isinstance(answer, PartCode):
            words = code_words(answer)
            self.answer.add_widget(Banner(kind="info", lead=spoken("Read:"), text=f"{words}.", test_name="code:read"))
        for key, value in self.form.conflicts().items():
            label = self.form.kind.field(key).label
            banner = Banner(
                kind="doubt", lead=f"{label}:", text=self.form.judge(key).figures.get("sentence", ""),
                button_words=spoken("Take {value}", value=value), test_name=f"code:differs:{key}",
            )
            banner.fbind("on_act", lambda *_, k=key: self._take(k))
            self.answer.add_widget(banner)

    def _ask(self, question: Question, chosen: PartCode | None) -> None:
        readings = question.readings
        row = ChoiceRow(
            test_name="code:reading", label=question_words(question),
            options=[(str(n), choice_words(r, readings)) for n, r in enumerate(readings)],
            value=str(readings.index(chosen)) if chosen in readings else "",
        )
        row.fbind("on_edit", lambda _row, value: self._fill(self.form.choose(readings[int(value)])))
        self.answer.add_widget(row)

    def _take(self, key: str) -> None:
        self._fill({key: self.form.take(key)})
