"""Hands that fill in what a page shows, by touches and typed text only."""

from __future__ import annotations

from typing import Any, Callable, Mapping

from mobile.device.finding import every
from mobile.device.finger import Finger
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.figure_field import FigureField
from mobile.widgets.text_field import TextField

_KEYS = {".": "key:point", "-": "key:sign"}


class Hands:
    """Types into fields as a person would.

    ``typed`` hears of each field that is typed in: with None when it is taken in
    hand, with the value once it is there.  It hears nothing of a field that shows
    the wanted value already (remembered from an earlier entry, or kept as a draft).
    """

    def __init__(self, finger: Finger, typed: Callable[[str, Any], None] | None = None) -> None:
        self.finger = finger
        self._typed = typed or (lambda _key, _value: None)

    def fill(self, values: Mapping[str, Any]) -> None:
        """Fill every named field that the page shows and that differs."""
        for key, value in values.items():
            if self.finger.is_there(f"field:{key}"):
                self.enter(key, value)

    def enter(self, key: str, value: Any) -> None:
        """Put one value into one field."""
        widget = self.finger.find(f"field:{key}")
        wanted = _wanted(widget, value)
        if _shown(widget) == wanted:
            return
        self._typed(key, None)
        if isinstance(widget, ChoiceRow):
            self.finger.tap(f"field:{key}={wanted}")
        elif isinstance(widget, FigureField):
            self._figure(widget, wanted)
        elif isinstance(widget, TextField):
            self.finger.tap(widget)
            if widget.text:
                self.finger.key("end")
            while widget.text:
                self.finger.key("backspace")
            self.finger.type(wanted)
        self._typed(key, value)

    def found(self, finding: Mapping[str, str]) -> None:
        """Grade one finding in the way in which it was noticed: seen, felt or heard.

        What is graded so already stays: a second press would take it back.
        """
        name, wanted = finding["finding"], finding["grade"]
        way = finding["perceived"] if self.finger.is_there(f"{finding['perceived']}:{name}") else "seen"
        if self.finger.find(f"{way}:{name}").value != wanted:
            self._typed("findings", None)
            self.finger.tap(f"{way}:{name}={wanted}")
            self._typed("findings", [dict(finding)])

    def _figure(self, widget: FigureField, text: str) -> None:
        if not widget.focus:
            self.finger.tap(widget)
        if widget.text:
            self.finger.tap("key:clear")
        digits = text.replace("-", "") if len(text) == 10 and text[4] == "-" else text
        for character in sorted(digits, key=lambda c: c == "-") if digits.startswith("-") else digits:
            self.finger.tap(_KEYS.get(character, f"key:{character}"))

    def pin(self, pin: str) -> None:
        """Type a PIN on the pad, enter it, and wait until it has been tried."""
        for digit in pin:
            self.finger.tap(f"pin:{digit}")
        self.finger.tap("pin:enter")
        self.finger.wait_for(lambda: not self._is_trying(), most_s=30, what="the PIN to be tried")
        self.finger.settle()

    def _is_trying(self) -> bool:
        return any(getattr(page, "is_busy", False) for page in every(self.finger.window))


def _wanted(widget, value: Any) -> str:
    """Return what the widget must show for a value."""
    if isinstance(widget, ChoiceRow) and isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _shown(widget) -> str:
    return str(widget.value if isinstance(widget, ChoiceRow) else widget.text)
