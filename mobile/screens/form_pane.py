"""A form on the page: its fields, what is refused beside each, and its saving."""

from __future__ import annotations

from typing import Any, Callable

from shared_models.entries.envelope import Entry
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.forms import SlotForm
from mobile.screens import fields
from mobile.widgets.banner import Banner
from mobile.widgets.keypad import Keypad


class FormPane:
    """Puts a form's fields into a column and its keypad beside them.

    ``leave_out`` names fields that the page asks for in a way of its own.
    """

    def __init__(self, form: SlotForm, body, keypad: Keypad, leave_out: tuple[str, ...] = ()):
        self.form = form
        self.body = body
        self.widgets: dict[str, Any] = {}
        self.trouble = Banner(kind="doubt", test_name="form:trouble")
        for field in form.fields:
            if field.key in leave_out or field.type not in _SHOWN:
                continue
            widget = fields.make_field(
                field, form.typed.get(field.key), form.limits[field.key],
                options(form, field), keypad, form.edit, form.asked(field),
            )
            self.widgets[field.key] = widget
            body.add_widget(widget)
            if field.key in form.typed:
                fields.show(widget, form.judge(field.key))

    @property
    def has_figures(self) -> bool:
        """Whether the keypad is needed."""
        return any(f.key in self.widgets and fields.needs_keypad(f) for f in self.form.fields)

    def take_first(self) -> None:
        """Take the first empty figure in hand."""
        for field in self.form.fields:
            widget = self.widgets.get(field.key)
            if widget is not None and fields.needs_keypad(field) and not widget.text:
                widget.focus = True
                return

    def refuse(self) -> bool:
        """Show every refusal beside its field; tell whether there is any."""
        refused = self.form.read().refused
        for key, reading in refused.items():
            if key in self.widgets:
                fields.insist(self.widgets[key], reading)
        return bool(refused)

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


_SHOWN = ("amount", "count", "date", "text", "yes_no", "choice", "sheet")


def options(form: SlotForm, field) -> list[tuple[str, str]]:
    """Return what a field offers to choose from."""
    if field.type == "choice":
        return list(form.view.edition.choices[field.choices].items())
    if field.type == "sheet":
        return form.sheet_choices()
    return []
