"""A form on the page: its fields, what is refused beside each, and its saving."""

from __future__ import annotations

from typing import Any, Callable, Iterator

from shared_models.checks.changed_since import BESIDES
from shared_models.checks.entering import Reading
from shared_models.entries.envelope import Entry
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.forms import SlotForm
from mobile.screens import fields
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import QuietButton
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.keypad import Keypad

_FIELDS_A_FRAME = 3


class FormPane:
    """Puts a form's fields into a column and its keypad beside them.

    ``leave_out`` names fields that the page asks for in a way of its own.
    Fields that the edition folds away come behind a button, or at once where
    something is typed in one of them; ``on_unfold`` is called when it is pressed.
    Without ``at_once`` the fields come by `fill`.
    """

    def __init__(self, form: SlotForm, body, keypad: Keypad, leave_out: tuple[str, ...] = (), at_once: bool = True):
        self.form = form
        self.body = body
        self.keypad = keypad
        self.widgets: dict[str, Any] = {}
        self.folds: dict[str, Any] = {}
        self.on_unfold: Callable[[], None] = lambda: None
        #: Called behind `edited`, for a drawing that follows what is typed.
        self.after_edit: Callable[[str], None] = lambda _key: None
        self.trouble = Banner(kind="doubt", test_name="form:trouble")
        self._leave_out = leave_out
        self._to_come = self._put_fields()
        if at_once:
            for _ in self.fill():
                pass

    def fill(self) -> Iterator[None]:
        """Put the fields on the page that are not there yet, a few at a time."""
        yield from self._to_come

    def _put_fields(self) -> Iterator[None]:
        form = self.form
        for number, field in enumerate((f for f in form.fields if self._is_shown(f) and not f.fold), start=1):
            self._add(field)
            if number % _FIELDS_A_FRAME == 0:
                yield
        for words in dict.fromkeys(f.fold for f in form.fields if f.fold and self._is_shown(f)):
            self._fold(words)

    def _is_shown(self, field) -> bool:
        seldom = field.key == BESIDES and not self.form.typed.get(BESIDES)
        return field.key not in self._leave_out and field.type in _SHOWN and not seldom

    def _add(self, field, index: int = 0) -> None:
        """Put the widget of a field into the column; ``index`` counts from its end."""
        form = self.form
        widget = fields.make_field(
            field, form.typed.get(field.key), form.limits[field.key],
            options(form, field), self.keypad, self._edit, lambda unit: form.asked(field, unit),
            form.last.of(field.key) if fields.has_last(field) else None, form.offers(field.key),
        )
        self.widgets[field.key] = widget
        self.body.add_widget(widget, index=index)
        if field.key in form.typed:
            fields.show(widget, form.judge(field.key))

    def _edit(self, key: str, value: Any) -> Reading:
        reading = self.form.edit(key, value)
        self.edited(key)
        self.after_edit(key)
        return reading

    def edited(self, key: str) -> None:
        """A field was edited and its draft kept; for panes that work something out."""

    def _fold(self, words: str) -> None:
        """A button in the place of fields that are seldom wanted."""
        button = QuietButton(text=words, halign="left", test_name=f"fold:{len(self.folds) + 1}")
        button.fbind("on_release", lambda *_: self.unfold(words))
        self.folds[words] = button
        self.body.add_widget(button)
        if any(f.fold == words and self.form.typed.get(f.key) not in (None, "") for f in self.form.fields):
            self.unfold(words)

    def unfold(self, words: str) -> None:
        """Show the fields behind a button in its place."""
        button = self.folds.pop(words, None)
        if button is None:
            return
        index = self.body.children.index(button)
        for field in self.form.fields:
            if field.fold == words and self._is_shown(field):
                self._add(field, index)
        self.body.remove_widget(button)
        self.on_unfold()

    @property
    def has_figures(self) -> bool:
        """Whether the keypad is needed."""
        return any(f.key in self.widgets and fields.needs_keypad(f) for f in self.form.fields)

    def take_first(self) -> None:
        """Take the first empty figure in hand; of a correction the first one that is there."""
        correcting = self.form.wrong is not None
        for field in self.form.fields:
            widget = self.widgets.get(field.key)
            if widget is not None and fields.needs_keypad(field) and bool(widget.text) is correcting:
                widget.focus = True
                return

    def refuse(self) -> bool:
        """Show every refusal beside its field, the first one in sight, or ask why for a second change at once; tell whether there is any."""
        refused = self.form.read().refused
        for field in self.form.fields:
            if field.key in refused and field.fold:
                self.unfold(field.fold)
        fields.insist_on(refused, self.widgets.get)
        return bool(refused) or self._ask_second()

    def _ask_second(self) -> bool:
        """Ask for the reason of a second change before the next walk, in sight; tell whether it is needed."""
        sentence = self.form.second_change()
        if not sentence:
            return False
        if BESIDES not in self.widgets:
            last = next((w for w in reversed(self.widgets.values()) if w.parent is self.body), None)
            self._add(self.form.kind.field(BESIDES), self.body.children.index(last) if last is not None else 0)
        widget = self.widgets[BESIDES]
        widget.message, widget.message_kind = sentence, "doubt"
        bring_into_sight(widget)
        return True

    def save(self, on_saved: Callable[[Entry], None], **how) -> Entry | None:
        """Save when nothing is refused; say why when the store can't take it."""
        if self.refuse():
            return None
        try:
            entry = self.form.save(**how)
        except Refusal as refusal:
            self.say(refusal_sentence(refusal))
            return None
        on_saved(entry)
        return entry

    def say(self, sentence: str) -> None:
        """Say beneath the fields what is in the way; what was typed stays."""
        self.trouble.lead = sentence
        if self.trouble.parent is None:
            self.body.add_widget(self.trouble)


_SHOWN = ("amount", "count", "date", "text", "telephone", "yes_no", "choice", "sheet")


def options(form: SlotForm, field) -> list[tuple[str, str]]:
    """Return what a field offers to choose from."""
    if field.type == "choice":
        return list(form.view.edition.choices[field.choices].items())
    if field.type == "sheet":
        return form.sheet_choices()
    return []
