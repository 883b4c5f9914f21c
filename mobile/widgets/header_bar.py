"""The bar at the top: who it is about, what is not yet sent, what is saved."""

from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior

from mobile.widgets import kv_beside
from mobile.widgets.buttons import PressButton
from mobile.widgets.fonts import longest_word_width, one_line_width, opened_at_hyphens
from mobile.widgets.surface import Column, Row, Words
from mobile.widgets.theme import theme


class HeaderButton(PressButton):
    """The way back, at the left of the header."""


class SentState(ButtonBehavior, Column):
    """The right of the header; press it to see to the sending."""


class FewLines(Words):
    """Words of few lines (``most_lines``), which end in dots where ``whole`` has more.

    The whole stands where it was recorded; a header that grew with it would leave the page no room.
    """

    whole = StringProperty("")
    most_lines = NumericProperty(3)
    line_count = NumericProperty(1)
    """How many lines it takes now."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("whole", "width", "font_size", "most_lines"):
            self.fbind(name, self._cut)
        self._cut()

    def _cut(self, *_args):
        self.line_count = self._lines(self.whole)
        if self.line_count <= self.most_lines:
            self.text = self._opened(self.whole)
            return
        self.line_count = self.most_lines
        needed = max(one_line_width(self.whole, self.font_size, bold=self.bold), 1)
        end = min(len(self.whole), int(len(self.whole) * self.width * self.most_lines / needed))
        # Lines end at words, so that not all of each is filled.
        while end > 1 and self._lines(self.whole[:end].rstrip() + "…") > self.most_lines:
            end -= 1
        self.text = self._opened(self.whole[:end].rstrip() + "…")

    def _opened(self, text: str) -> str:
        """The text with a double name that is wider than a line broken at its hyphen, not within a part of it."""
        return opened_at_hyphens(text, self.font_size, self.width - 2, bold=self.bold)

    def _lines(self, text: str) -> int:
        """How many lines a text takes; a word wider than a line takes as many as it fills."""
        lines, line = 1, ""
        for word in text.split():
            longer = f"{line} {word}".strip()
            if line and one_line_width(longer, self.font_size, bold=self.bold) > self.width - 2:
                lines, longer = lines + 1, word
            line = longer
            lines += int(one_line_width(word, self.font_size, bold=self.bold) // max(self.width, 1))
        return lines


def _halved_width(words: str, size: float) -> float:
    """Pixels that words need on two lines, broken where that makes the longer one shortest."""
    parts = words.split()
    ways = ((" ".join(parts[:n]), " ".join(parts[n:])) for n in range(len(parts)))
    return min((max(one_line_width(line, size) for line in way) for way in ways), default=0)


class HeaderBar(Row):
    """``who`` in bold with ``detail`` (side, second identifier) beneath; at the right ``unsent``
    (such as '11 not yet sent') and ``saved`` (such as 'saved 10:42'), all as plain words.

    With ``leave_words`` a button at the left dispatches ``on_leave()``; a press at the right
    dispatches ``on_see_unsent()``; the two letters at the far right dispatch ``on_look()``. The
    parts are called ``header:leave``, ``header:unsent`` and ``header:look``.
    """

    __events__ = ("on_leave", "on_see_unsent", "on_look")
    who = StringProperty("")
    detail = StringProperty("")
    unsent = StringProperty("")
    saved = StringProperty("")
    leave_words = StringProperty("")
    lines_are_few = BooleanProperty(False)
    """Whether each line of the bar is one that the page lacks: a low page in large type."""
    stands_above = BooleanProperty(False)
    """Whether the buttons stand in a line of their own above who it is."""
    leave_width = NumericProperty(0)
    """What the way back takes of the line, in pixels."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._leave = HeaderButton(fit=True, test_name="header:leave")
        self._leave.fbind("width", self._measure_leave)
        self._leave.fbind("on_release", lambda _button: self.dispatch("on_leave"))
        # Held by themselves: what a rule calls by its id is held weakly, and gone once it is taken out.
        self._parts = tuple(part.__self__ for part in (self.ids.names, self.ids.sent, self.ids.look))
        self.fbind("leave_words", self._show_leave)
        self.fbind("stands_above", self._arrange)
        self._show_leave()

    def on_leave(self) -> None:
        """A person wants to leave this person's fitting."""

    def on_see_unsent(self) -> None:
        """A person wants to see what is not yet sent."""

    def on_look(self) -> None:
        """A person wants larger type, other light, the other hand."""

    def width_of_state(self, unsent: str, saved: str, who: str, room: float, _stands_above: bool, _font_scale: float) -> float:
        """Pixels for the words at the right, of those that they share with who it is.

        In large type the first may take two lines, and more of them where else a name would be
        broken; a word of theirs stays whole all the same. In a line of their own they have all of it.
        """
        if self.stands_above:
            return max(theme.touch, room + dp(20))  # one gap less than beside the name
        size = theme.type_size("body")
        first = _halved_width(unsent, size) if theme.large_type else one_line_width(unsent, size)
        wanted = max(first, one_line_width(saved, size)) + 8
        least = longest_word_width(f"{unsent} {saved}", size) + 8
        name = longest_word_width(who, theme.type_size("unit"), bold=True) + 8
        return max(theme.touch, least if unsent or saved else 0, min(wanted, self.width * 0.4, room / 2, room - name))

    def _show_leave(self, *_args):
        self._leave.text = self.leave_words
        self._arrange()
        self._measure_leave()

    def _arrange(self, *_args):
        names, sent, look = self._parts
        for part in (self._leave, *self._parts):
            if part.parent is not None:
                part.parent.remove_widget(part)
        self.clear_widgets()
        leave = [self._leave] if self.leave_words else []
        if self.stands_above:
            line = Row(spacing=dp(20))
            for part in (*leave, sent, look):
                line.add_widget(part)
            parts = [line, names]
        else:
            parts = [*leave, names, sent, look]
        self.orientation = "vertical" if self.stands_above else "horizontal"
        for part in parts:
            self.add_widget(part)

    def _measure_leave(self, *_args):
        self.leave_width = self._leave.width if self.leave_words else 0


kv_beside.load(__file__)
