"""Beside the fields of an alignment: what they come to, while they are typed."""

from __future__ import annotations

from typing import Any

from shared_models.checks.alignment_reading import METHOD
from shared_models.wording.alignment_figures import Note
from mobile.flows.alignment import ADAPTERS_NOW, AlignmentForm
from mobile.screens.form_pane import FormPane
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import QuietButton


class AlignmentPart:
    """Shows only the fields that the way of reading asks for, and the notes under them.

    Fields that are not asked are taken off the page; what was typed in them
    stays in the draft.
    """

    def __init__(self, page, pane: FormPane):
        self.page, self.pane = page, pane
        self.form: AlignmentForm = pane.form  # type: ignore[assignment]
        self.order = list(pane.widgets)
        self.all: dict[str, Any] = dict(pane.widgets)
        self.show_adapters = self.form.adapters_told
        self.banners: list[Banner] = []
        self.opener = QuietButton(text="How the adapters stand now", fit=True, test_name="adapters_now")
        self.opener.fbind("on_release", lambda *_: self.open_adapters())
        self.form.after_edit = self.edited
        self.arrange()
        self.say()

    @classmethod
    def beside(cls, page, pane: FormPane) -> "AlignmentPart | None":
        """Return the part for an alignment's form, None for any other."""
        return cls(page, pane) if isinstance(pane.form, AlignmentForm) else None

    def edited(self, key: str) -> None:
        """Something was typed: other fields may be asked, and other things are to be said."""
        if key == METHOD:
            self.arrange()
        self.say()

    def open_adapters(self) -> None:
        """Ask how the adapters stand now."""
        self.show_adapters = True
        self.arrange()
        self.say()

    def refuses(self) -> bool:
        """Say what can't be recorded as it is; tell whether there is anything."""
        sentence = self.form.impossible()
        if sentence:
            self.pane.refuse()
            self.pane.say(sentence)
        return bool(sentence)

    def arrange(self) -> None:
        """Put the fields that are asked on the page, in the order of the edition."""
        body = self.pane.body
        unasked = self.form.unasked()
        if not self.show_adapters:
            unasked |= set(ADAPTERS_NOW)
        self.pane.widgets.clear()
        before = None
        for key in self.order:
            widget = self.all[key]
            if key in unasked:
                if widget.parent is not None:
                    if getattr(widget, "focus", False):
                        widget.focus = False
                    body.remove_widget(widget)
                continue
            self.pane.widgets[key] = widget
            if widget.parent is None:
                # Children are kept from the last to the first, so this puts it under the one before.
                index = len(body.children) if before is None else body.children.index(before)
                body.add_widget(widget, index=index)
            before = widget

    def say(self) -> None:
        """Show what follows from the fields, under them and above the reason for keeping.

        A banner that is there already only gets other words: making one anew at
        each digit would be felt.
        """
        body = self.pane.body
        notes = self.form.notes()
        for banner, note in zip(self.banners, notes):
            banner.kind, banner.lead, banner.text = note.kind, note.lead, note.text
        for banner in self.banners[len(notes):]:
            body.remove_widget(banner)
        del self.banners[len(notes):]
        if self.opener.parent is not None:
            body.remove_widget(self.opener)
        fresh = [note_banner(note) for note in notes[len(self.banners):]]
        self.banners += fresh
        last = self.all.get("kept_because")
        for widget in (*fresh, *(() if self.show_adapters else (self.opener,))):
            index = body.children.index(last) + 1 if last is not None and last.parent else 0
            body.add_widget(widget, index=index)


def note_banner(note: Note) -> Banner:
    """Return a note as a banner."""
    return Banner(kind=note.kind, lead=note.lead, text=note.text, test_name="alignment:note")
