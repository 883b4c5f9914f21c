"""Text as it stands on the screen: letters joined, lines in the order in which they are read.

A label draws what it is given from left to right, so Arabic and Hebrew have to be given to it in
the order in which they stand.  Only what is drawn is changed: a widget's ``text`` stays as typed.
"""

import unicodedata
from typing import Callable

from kivy.uix.label import Label
from shared_models.language import Phrases, phrase, spoken
from shared_models.papers.joining import as_written, begins_right_to_left, runs_right_to_left, unjoined

from mobile.widgets.fonts import lacks

CANT_DRAW = phrase("Kept as typed. This screen can't draw {writings} letters rightly.")
_CALLED = Phrases({"Cjk": "Chinese, Japanese or Korean"})
#: Scripts whose marks have no place of their own without the shaping that no tablet build has.
_MARKS_LOST = ("ARABIC", "HEBREW", "SYRIAC", "THAANA")


def drawn(text: str, room: float = 0, width_of: Callable[[str], float] | None = None) -> str:
    """The text as it is drawn; with ``room`` in pixels it is broken first, as the order is each line's."""
    if not runs_right_to_left(text):
        return text
    lines = text.split("\n")
    if room > 0 and width_of is not None:
        lines = [part for line in lines for part in _broken(line, room, width_of)]
    return "\n".join(as_written(line) for line in lines)


def _broken(line: str, room: float, width_of: Callable[[str], float]) -> list[str]:
    """The lines of a line, broken between words."""
    found = [""]
    for word in line.split(" "):
        longer = f"{found[-1]} {word}" if found[-1] else word
        if found[-1] and width_of(as_written(longer)) > room:
            found.append(word)
        else:
            found[-1] = longer
    return found


def cant_draw(text: str) -> str:
    """A sentence that says which writing of a text can't be drawn; '' where all of it can."""
    if text.isascii():
        return ""
    marks = (c for c in unjoined(text) if unicodedata.name(c, "").startswith(_MARKS_LOST))
    names = (unicodedata.name(c, "unknown").split(" ")[0].capitalize() for c in (*lacks(text), *marks))
    writings = ", ".join(_CALLED.get(name, name) for name in dict.fromkeys(names))
    return spoken(CANT_DRAW, writings=writings) if writings else ""


class InOrder(Label):
    """A label without markup that draws its text in the order in which it is read."""

    def texture_update(self, *largs):
        if not self.markup:
            # A line of a list is used again for the next person.
            self._label.options["shorten_from"] = self.shorten_from
            if not self.text.isascii():
                self._put_in_order()
        super().texture_update(*largs)

    def _put_in_order(self) -> None:
        label = self._label
        backwards = begins_right_to_left(self.text)
        room = 0 if self.shorten or not self.text_size[0] else self.text_size[0] - self.padding[0] - self.padding[2]
        label.resolve_font_name()
        label.text = drawn(self.text, room, lambda words: label.get_extents(words)[0])
        # What is cut off is the end, wherever that stands.
        if backwards and self.shorten_from == "right":
            label.options["shorten_from"] = "left"
