"""Hands that fill in what a page shows, by touches and typed text only."""

from __future__ import annotations

from typing import Any, Callable, Mapping

from mobile.device.finger import Finger
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.figure_field import FigureField
from mobile.widgets.text_field import TextField

_KEYS = {".": "key:point", "-": "key:sign"}


class Hands:
    """Types into fields as a person would.

    ``typed`` hears of each field: with None when it is taken in hand, with the
    value once it is there.
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
        self._typed(key, None)
        if isinstance(widget, ChoiceRow):
            wanted = {True: "yes", False: "no"}.get(value, value) if isinstance(value, bool) else value
            if widget.value != wanted:
                self.finger.tap(f"field:{key}={wanted}")
        elif isinstance(widget, FigureField):
            self._figure(widget, str(value))
        elif isinstance(widget, TextField) and widget.text != value:
            self.finger.tap(widget)
            while widget.text:
                self.finger.key("backspace")
            self.finger.type(str(value))
        self._typed(key, value)

    def found(self, finding: Mapping[str, str]) -> None:
        """Grade one finding, and say whether it was seen, felt or heard.

        What is graded so already stays: a second press would take it back.
        """
        name = finding["finding"]
        self._typed("findings", None)
        for part, wanted in (("finding", finding["grade"]), ("perceived", finding["perceived"])):
            if self.finger.find(f"{part}:{name}").value != wanted:
                self.finger.tap(f"{part}:{name}={wanted}")
        self._typed("findings", [dict(finding)])

    def _figure(self, widget: FigureField, text: str) -> None:
        if widget.text == text:
            return
        if not widget.focus:
            self.finger.tap(widget)
        if widget.text:
            self.finger.tap("key:clear")
        digits = text.replace("-", "") if len(text) == 10 and text[4] == "-" else text
        for character in sorted(digits, key=lambda c: c == "-") if digits.startswith("-") else digits:
            self.finger.tap(_KEYS.get(character, f"key:{character}"))

    def pin(self, pin: str) -> None:
        """Type a PIN on the pad and enter it."""
        for digit in pin:
            self.finger.tap(f"pin:{digit}")
        self.finger.tap("pin:enter")
