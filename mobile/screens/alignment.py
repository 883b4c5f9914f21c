"""Beside the fields of an alignment: what they come to, while they are typed."""

from __future__ import annotations

from functools import partial
from typing import Any

from kivy.metrics import dp

from shared_models.checks.alignment_reading import KINDS, METHOD
from shared_models.drawings.alignment import plane_of, planes_of
from shared_models.entries.envelope import Entry
from shared_models.language import phrase, spoken
from shared_models.wording.alignment_figures import LINE, STANDING, Note
from mobile.flows.alignment import AlignmentForm, picture_of
from mobile.screens.alignment_picture import AlignmentPicture
from mobile.screens.form_pane import FormPane
from mobile.widgets.banner import Banner
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.surface import Column

#: The last field about the line, for each way of reading it.
_LAST_OF_LINE = ("reading_within_mm", "distances_within_mm")

OTHER_WAYS = phrase("Other ways")
#: Of the width beside the rail: the keypad; of what it leaves: the drawing.
_KEYPAD_SHARE, _PICTURE_SHARE = 0.32, 0.44


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
        self.opened_out = False
        self.said = {LINE: Column(spacing=dp(16)), STANDING: Column(spacing=dp(16))}
        self.form.after_edit = self.edited
        view, kind = self.form.view, self.form.kind.key
        self.picture = AlignmentPicture(planes_of(view, kind), self.form.picture)
        show_picture(page, self.picture)
        self.arrange()
        self.say()
        for key in self.order:
            self._follow(key)

    @classmethod
    def beside(cls, page, pane: FormPane) -> "AlignmentPart | None":
        """Return the part for an alignment's form, None for any other."""
        return cls(page, pane) if isinstance(pane.form, AlignmentForm) else None

    def edited(self, key: str) -> None:
        """Something was typed: other fields may be asked, and other things are to be said."""
        if key == METHOD:
            self.arrange()
        self.picture.redraw()
        self.picture.show(plane_of(key))
        self.say()

    def _follow(self, key: str) -> None:
        """The plane in which a field is read comes into sight when it is taken in hand."""
        widget = self.all[key]
        if hasattr(widget, "focus"):
            widget.fbind("focus", lambda _w, taken: taken and self.picture.show(plane_of(key)))

    def refuses(self) -> bool:
        """Say what can't be recorded as it is; tell whether there is anything."""
        sentence = self.form.impossible()
        if sentence:
            self.pane.refuse()
            self.pane.say(sentence)
            bring_into_sight(self.pane.trouble)
        return bool(sentence)

    def arrange(self) -> None:
        """Put the fields that are asked on the page, in the order of the edition."""
        body = self.pane.body
        unasked = self.form.unasked()
        for key, widget in self.pane.widgets.items():
            if key not in self.all:  # unfolded meanwhile
                self.all[key] = widget
                self.order.append(key)
                self._follow(key)
        self.pane.widgets.clear()
        shown = []
        for key in self.order:
            widget = self.all[key]
            if key == "kept_because":
                shown.append(self.said[STANDING])
            if key in unasked:
                if getattr(widget, "focus", False):
                    widget.focus = False
                continue
            self.pane.widgets[key] = widget
            shown.append(widget)
            if key in _LAST_OF_LINE:
                shown.append(self.said[LINE])
        self._put(body, shown)

    def _put(self, body, shown: list[Any]) -> None:
        """Make these the widgets of the form, leaving alone what stands before and behind them.

        Only what has to move is moved: a cell that is being pressed stays where it is.
        """
        for widget in (*self.all.values(), *self.said.values()):
            if widget not in shown and widget.parent is body:
                body.remove_widget(widget)
        above = None
        for widget in shown:
            if widget.parent is None:
                # Children are kept from the last to the first, so this puts it under the one above.
                index = len(body.children) if above is None else body.children.index(above)
                body.add_widget(widget, index=index)
            above = widget

    def say(self) -> None:
        """Show what follows from the fields, each by the fields it is about.

        A banner that is there already only gets other words: making one anew at
        each digit would be felt.
        """
        notes = self.form.notes()
        for about, column in self.said.items():
            wanted = [note for note in notes if note.about == about]
            there = list(reversed(column.children))
            for banner in there[len(wanted):]:
                column.remove_widget(banner)
            for _ in wanted[len(there):]:
                banner = Banner(test_name="alignment:note")
                banner.fbind("on_act", lambda *_: self.open_out())
                column.add_widget(banner)
            for banner, note in zip(reversed(column.children), wanted, strict=True):
                self._word(banner, note)

    def _word(self, banner: Banner, note: Note) -> None:
        """Give a banner its words; other ways to move come at the press of a button."""
        first, _, others = note.text.partition("\n")
        shut = bool(others) and not self.opened_out
        banner.kind, banner.lead = note.kind, note.lead
        banner.text = first if shut else note.text
        banner.button_words = spoken(OTHER_WAYS) if shut else ""

    def open_out(self) -> None:
        """Show every way, for as long as this form is open."""
        self.opened_out = True
        self.say()


def show_picture(page, picture: AlignmentPicture) -> None:
    """Put the drawing into the page's picture pane, and give the keypad less of the width."""
    page.picture.add_widget(picture)
    page.side_share, page.picture_share = _KEYPAD_SHARE, _PICTURE_SHARE
    page.has_picture = True


def show_recorded_alignment(page, entry: Entry) -> None:
    """The drawing of a recorded alignment before its figures; nothing for other kinds."""
    if entry.kind in KINDS:
        draw = partial(picture_of, page.view, entry)
        show_picture(page, AlignmentPicture(planes_of(page.view, entry.kind), draw))


def note_banner(note: Note) -> Banner:
    """Return a note as a banner."""
    return Banner(kind=note.kind, lead=note.lead, text=note.text, test_name="alignment:note")
