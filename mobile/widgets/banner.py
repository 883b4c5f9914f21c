"""A notice on the page: a doubt, information, a caution or a recorded stop."""

from kivy.properties import OptionProperty, StringProperty
from kivy.utils import escape_markup

from mobile.widgets import kv_beside
from mobile.widgets.buttons import PlainButton
from mobile.widgets.fonts import MAIN, font_for
from mobile.widgets.surface import Column, Words
from mobile.widgets.writing import drawn

LOOKS = {
    "doubt": ("doubt_ground", "doubt", ""),
    "info": ("panel", "working", ""),
    "caution": ("field", "ink", "ink"),
    "stop": ("stop_ground", "stop_edge", ""),
}


class LeadWords(Words):
    """A bold lead sentence and text that runs on behind it."""

    lead = StringProperty("")
    after = StringProperty("")

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        for name in ("lead", "after"):
            self.fbind(name, self._write)
        self._write()

    @property
    def plain_text(self) -> str:
        """What is read, without markup."""
        return " ".join(part for part in (self.lead, self.after) if part)

    def _write(self, *_args):
        bold = f"[b]{in_fitting_font(self.lead)}[/b]" if self.lead else ""
        self.text = " ".join(part for part in (bold, in_fitting_font(self.after)) if part)


class Banner(Column):
    """``lead`` in bold, ``text`` behind it, and where ``button_words`` are given a button.

    ``kind`` is ``'doubt'``, ``'info'``, ``'caution'`` or ``'stop'`` (a recorded stop); each has its
    own mark. The button dispatches ``on_act()`` and is called ``<test_name>:act``.
    """

    __events__ = ("on_act",)
    kind = OptionProperty("info", options=list(LOOKS))
    lead = StringProperty("")
    text = StringProperty("")
    button_words = StringProperty("")

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._button = PlainButton(fit=True)
        self._button.fbind("on_release", lambda _button: self.dispatch("on_act"))
        for name in ("button_words", "test_name", "width"):
            self.fbind(name, self._show_button)
        self._show_button()

    def on_act(self) -> None:
        """A person pressed the banner's button."""

    @staticmethod
    def look(kind: str) -> tuple[str, str, str]:
        """Ground, bar and edge tone of a kind."""
        return LOOKS[kind]

    def _show_button(self, *_args):
        button = self._button
        button.text = self.button_words
        button.test_name = f"{self.test_name}:act"
        button.most_width = max(self.width - 100, 56)
        if self.button_words and button.parent is None:
            self.add_widget(button)
        elif not self.button_words and button.parent is not None:
            self.remove_widget(button)


def in_fitting_font(text: str) -> str:
    """The text escaped for markup, with another font named where the main one lacks it.

    Word by word, so that one Cyrillic name does not change the face of a whole sentence.
    """
    words = []
    for word in drawn(text).split(" "):
        escaped = escape_markup(word)
        if font_for(word) != MAIN:
            escaped = f"[font={font_for(word)}]{escaped}[/font]"
        words.append(escaped)
    return " ".join(words)


kv_beside.load(__file__)
