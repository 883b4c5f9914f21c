"""A field for words: a name, a serial number, a note."""

from kivy.clock import Clock
from kivy.properties import BooleanProperty, NumericProperty, OptionProperty, StringProperty
from kivy.uix.textinput import TextInput
from kivy.utils import platform

from mobile.widgets import kv_beside
from mobile.widgets import focus_order
from mobile.widgets import message_line  # noqa: F401 (used by the kv file)
from mobile.widgets.focus_order import bring_into_sight, following
from mobile.widgets.surface import Column, Named
from mobile.widgets.writing import begins_right_to_left, cant_draw, drawn


#: ASCII 29 ends a part of a scanned code; it has no face of its own, so it is shown in words.
SEPARATOR, SEPARATOR_WORDS = "\x1d", "<GS>"


class TextEntry(Named, TextInput):
    """The part of a :class:`TextField` that is typed into; grows so that every line shows.

    Each line is drawn in the order in which it is read; what is typed is kept in the order of typing.
    """

    lines_allowed = BooleanProperty(False)
    keeps_separators = BooleanProperty(False)
    #: Kivy has one timer for the cursors of all entries: the last one stayed for good, with its
    #: page, and of two in one frame only one was brought into view.  Here each has its own.
    _bring_cursor_into_view = TextInput._adjust_viewport.__wrapped__
    _bringing = None
    _cursor_at = (0, 0)

    def _adjust_viewport(self, column, row):
        if self._bringing is None:
            self._bringing = Clock.create_trigger(self._adjust_now, -1)
        self._cursor_at = (column, row)
        self._bringing()

    def _adjust_now(self, _dt):
        self._bring_cursor_into_view(*self._cursor_at)

    def insert_text(self, substring, from_undo=False):
        if self.keeps_separators:
            substring = substring.replace(SEPARATOR, SEPARATOR_WORDS)
        if not self.lines_allowed:
            substring = " ".join(substring.splitlines()) if "\n" in substring else substring
        super().insert_text(substring, from_undo=from_undo)

    def _create_line_label(self, text, hint=False):
        return super()._create_line_label(drawn(text), hint)

    def cursor_offset(self):
        """Pixels from the beginning of the line to the cursor: from its right in Hebrew and Arabic."""
        line = self._lines[int(self.cursor_row)] if int(self.cursor_row) < len(self._lines) else ""
        if not begins_right_to_left(line):
            return super().cursor_offset()
        behind = drawn(line[: int(self.cursor_col)])
        return self._width_of(drawn(line)) - (self._width_of(behind) if behind else 0)

    def get_cursor_from_xy(self, x, y):
        """Where in the text a touch is; a line that runs from right to left is counted from there."""
        column, row = super().get_cursor_from_xy(x, y)
        line = self._lines[row]
        if not begins_right_to_left(line):
            return column, row
        left = self.x + self.padding[0]
        return super().get_cursor_from_xy(2 * left + self._width_of(drawn(line)) - x, y)

    def _width_of(self, text):
        return self._get_text_width(text, self.tab_width, self._label_cached)

    def keyboard_on_key_down(self, window, keycode, text, modifiers):
        if keycode[1] == "escape" and platform != "android":
            # Goes on to the page, which goes back; a tablet's back key closes its keyboard first.
            self.focus = False
            return False
        if keycode[1] in ("enter", "numpadenter") and not self.lines_allowed:
            self.dispatch("on_text_validate")
            return True
        if keycode[1] == "tab" and focus_order.walk is not None:
            return False
        if self.keeps_separators and keycode[1] == "]" and "ctrl" in modifiers:
            # How a keyboard, and a scanner that poses as one, types ASCII 29.
            self.insert_text(SEPARATOR)
            return True
        return super().keyboard_on_key_down(window, keycode, text, modifiers)


class TextField(Column):
    """Words under a label, with ``hint`` and ``message`` beneath as in the other fields.

    Long text wraps and the field grows; with ``lines_allowed`` Enter begins a new line, otherwise
    it moves on, or stays in hand with ``stays_after_enter`` (a scanner types Enter behind each code).
    Letters that can't be drawn rightly are told beneath, in words. ``keeps_separators`` keeps the group separators of scanned codes, in words. ``on_edit(text)`` at
    each change a person makes, ``on_next()`` at Enter.
    """

    __events__ = ("on_edit", "on_next")
    label = StringProperty("")
    text = StringProperty("")
    hint = StringProperty("")
    message = StringProperty("")
    message_kind = OptionProperty("", options=["", "refusal", "doubt"])
    lines_allowed = BooleanProperty(False)
    stays_after_enter = BooleanProperty(False)
    keeps_separators = BooleanProperty(False)
    least_lines = NumericProperty(1)
    cant_draw = staticmethod(cant_draw)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        entry = self.ids.entry
        entry.text = self.text
        self.fbind("text", self._show)
        entry.fbind("text", self._typed)
        entry.fbind("focus", self._taken_in_hand)
        entry.fbind("on_text_validate", self._enter)

    @property
    def touch_part(self) -> TextEntry:
        """What a finger presses to take the field in hand."""
        return self.ids.entry

    @property
    def focus(self) -> bool:
        """Whether the field is in hand; set it to take it in hand or to let go."""
        return self.ids.entry.focus

    @focus.setter
    def focus(self, value: bool) -> None:
        self.ids.entry.focus = value

    def on_edit(self, text: str) -> None:
        """A person changed the text to ``text``."""

    def on_next(self) -> None:
        """The person is done with this field."""

    def _show(self, *_args):
        if self.ids.entry.text != self.text:
            self.ids.entry.text = self.text

    def _typed(self, entry, text):
        if text != self.text:
            self.text = text
            self.dispatch("on_edit", text)

    def _taken_in_hand(self, _entry, in_hand):
        if in_hand:
            bring_into_sight(self)

    def _enter(self, entry):
        after = following(entry)
        self.dispatch("on_next")
        if not entry.focus or self.stays_after_enter:
            return  # the screen has moved on by itself, or another code may follow
        entry.focus = False
        if after is not None:
            after.focus = True


kv_beside.load(__file__)
