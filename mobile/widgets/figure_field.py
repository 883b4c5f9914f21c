"""Fields for one figure: an amount with its unit; a date is `date_field`. Typed on our own keypad or on a keyboard.

What a barcode scanner types is no figure: it is taken back, and the field says so. What is typed is
kept as it was typed. Whether it can be taken is not judged here: the screen puts
the judgement into ``message`` and ``message_kind``.
"""

import re
from decimal import Decimal, InvalidOperation

from kivy.core.window import Window
from kivy.properties import (
    BooleanProperty,
    ListProperty,
    NumericProperty,
    ObjectProperty,
    OptionProperty,
    StringProperty,
)
from kivy.uix.behaviors import FocusBehavior
from kivy.utils import platform

from mobile.device.typing_pace import Pace
from mobile.widgets import kv_beside
from mobile.widgets import focus_order
from mobile.widgets import message_line  # noqa: F401 (used by the kv file)
from mobile.widgets.focus_order import bring_into_sight, following, lets_go_when_left
from mobile.widgets.surface import Column
from shared_models.language import decimal_sign, phrase, spoken


#: A decimal point behind a digit, the next digit not typed yet or there; never the point of a unit, such as 'in.'.
_POINT = re.compile(r"(?<=\d)\.(?=\d|$)")
SCANNED = phrase("A scanned code is no figure here. It was taken back; what stood here before is kept.")


class FigureField(FocusBehavior, Column):
    """What an amount and a date share; use :class:`AmountField` or :class:`~mobile.widgets.date_field.DateField`.

    ``label`` left, ``text`` large and bold, ``unit`` plain beside it, ``hint`` in words beneath
    (such as the range), then ``message`` with ``message_kind`` ``''``, ``'refusal'`` or
    ``'doubt'``. ``keypad`` is the :class:`~mobile.widgets.keypad.Keypad` that types into this field
    while it is in hand. Dispatches ``on_edit(text)`` at each change a person makes and
    ``on_next()`` when the person moves on (Enter, Tab or the key 'next').
    """

    __events__ = ("on_edit", "on_next")
    label = StringProperty("")
    text = StringProperty("")
    unit = StringProperty("")
    hint = StringProperty("")
    message = StringProperty("")
    message_kind = OptionProperty("", options=["", "refusal", "doubt"])
    keypad = ObjectProperty(None, allownone=True)
    steps = ListProperty([])
    signed = BooleanProperty(False)
    decimals = BooleanProperty(True)
    most_characters = NumericProperty(40)
    label_above = BooleanProperty(False)
    says_unit = BooleanProperty(False)
    """The text says its unit itself, such as '5 ft 11 in'."""

    raw_keys = BooleanProperty(platform == "android")
    """Take characters from key presses instead of text input, so that no on-screen keyboard of the
    system opens over our own."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._pace = Pace()
        self.fbind("focus", self._taken_in_hand)
        self.fbind("disabled", self._leave_keypad)

    # What keypad and keyboard do

    def take(self, characters: str) -> None:
        """Put typed characters behind the text."""
        room = int(self.most_characters) - len(self.text)
        self._edit(self.text + "".join(c for c in characters if c.isprintable())[:room])

    def rub_out(self) -> None:
        """Take the last character away."""
        self._edit(self.text[:-1])

    def clear(self) -> None:
        """Take the whole text away."""
        self._edit("")

    def turn_sign(self) -> None:
        """Put a minus before the text, or take it away."""
        self._edit(self.text[1:] if self.text.startswith("-") else "-" + self.text)

    def step(self, step) -> None:
        """Move the figure by one of ``steps``; a text that is no figure stays as it is."""
        raise NotImplementedError

    def step_words(self, step) -> str:
        """The words on the key of a step."""
        return str(step)

    def shown(self, text: str) -> str:
        """How the text stands in the field."""
        return text

    def go_next(self) -> None:
        """Tell the screen, and take the next field in hand, or let go when this was the last."""
        after = following(self)
        self.dispatch("on_next")
        if not self.focus:
            return  # the screen has moved on by itself
        self.focus = False
        if after is not None:
            after.focus = True

    def on_edit(self, text: str) -> None:
        """A person changed the text to ``text``."""

    def on_next(self) -> None:
        """The person is done with this field."""

    # The keyboard

    def keyboard_on_textinput(self, window, text):
        if not self.raw_keys and not lets_go_when_left(self):
            self._take_typed(text)

    def keyboard_on_key_down(self, window, keycode, text, modifiers):
        if lets_go_when_left(self):
            return False
        if self._key(keycode[1]):
            return True
        if keycode[1] == "tab" and focus_order.walk is not None:
            return False
        return super().keyboard_on_key_down(window, keycode, text, modifiers)

    def _raw_key(self, _window, code, _scancode, codepoint, modifiers):
        if lets_go_when_left(self):
            return False
        named = {8: "backspace", 13: "enter", 271: "numpadenter", 127: "delete", 9: "tab"}.get(code)
        if named and self._key(named):
            return True
        if codepoint and codepoint.isprintable() and not {"ctrl", "alt", "meta"} & set(modifiers):
            self._take_typed(codepoint)
            return True
        return False

    def _key(self, name: str) -> bool:
        if name == "backspace":
            self.rub_out()
        elif name == "delete":
            self.clear()
        elif name in ("enter", "numpadenter"):
            if not self._pace.ends_scan():
                self.go_next()
        elif name == "tab" and self.raw_keys:
            self.go_next()
        else:
            return False
        return True

    def _take_typed(self, characters: str) -> None:
        if not self._pace.note(self.text):
            self.take(characters)
            return
        self._edit(self._pace.before)
        self.message_kind, self.message = "refusal", spoken(SCANNED)

    def _ensure_keyboard(self):
        if not self.raw_keys:
            super()._ensure_keyboard()

    def _bind_keyboard(self):
        if not self.raw_keys:
            super()._bind_keyboard()
            return
        for other in list(FocusBehavior._keyboards.values()):
            if other is not None and other is not self:
                other.focus = False
        if FigureField._raw_in_hand not in (None, self):
            FigureField._raw_in_hand.focus = False
        FigureField._raw_in_hand = self
        Window.bind(on_key_down=self._raw_key)

    def _unbind_keyboard(self):
        if not self.raw_keys:
            super()._unbind_keyboard()
            return
        Window.unbind(on_key_down=self._raw_key)
        if FigureField._raw_in_hand is self:
            FigureField._raw_in_hand = None

    _raw_in_hand = None

    # Inside

    def _edit(self, text: str) -> None:
        if text != self.text:
            self.text = text
            self.dispatch("on_edit", text)

    def _taken_in_hand(self, _self, in_hand):
        if not in_hand:
            self._leave_keypad()
            return
        if self.keypad is not None:
            self.keypad.target = self
        bring_into_sight(self)

    def _leave_keypad(self, *_args):
        if self.keypad is not None and self.keypad.target is self:
            self.keypad.target = None


class AmountField(FigureField):
    """One amount. ``units`` are the units that the keypad's unit key changes between, the record's own
    first; in another one ``on_edit`` gives the text with its unit behind it. Pressing the key dispatches
    ``on_unit_key(unit)``; the digits stay. ``steps`` are likely changes as decimal text, such as ``['-0.5', '+0.5']``; a step
    ``'=38'`` puts that figure in, such as the one recorded last.

    A step keeps the decimal places of whichever has more, so 38.0 and +1 make 39.0. From an empty
    field steps count from ``step_from``.
    """

    __events__ = ("on_unit_key",)
    step_from = StringProperty("0")
    units = ListProperty([])
    pounds_first = BooleanProperty(False)
    """Whether an empty figure is offered in the last of its units; ``follows_look: False`` keeps its own."""

    follows_look = BooleanProperty(True)

    def on_text(self, _self, text):
        self.says_unit = any(c.isalpha() or c in "'\"\u2019\u2032\u2033" for c in text)

    def on_pounds_first(self, _self, pounds_first):
        if self.units and not self.text and self.follows_look:
            self.unit = self.units[-1 if pounds_first else 0]

    def stated(self) -> str:
        """The text, with its unit where that is another one than the record's own."""
        if not self.text or not self.units or self.unit == self.units[0] or self.says_unit:
            return self.text
        return f"{self.text} {self.unit}"

    @property
    def next_unit(self) -> str:
        """What the unit key changes to; '' where there is one unit only."""
        if len(self.units) < 2:
            return ""
        at = self.units.index(self.unit) if self.unit in self.units else -1
        return self.units[(at + 1) % len(self.units)]

    def change_unit(self) -> None:
        """Take the next unit; the digits stay, so that they say something else."""
        if self.next_unit:
            self.dispatch("on_unit_key", self.next_unit)

    def on_unit_key(self, unit: str) -> None:
        """The unit key was pressed."""
        self.unit = unit
        if self.text:
            self.dispatch("on_edit", self.stated())

    def _edit(self, text):
        if text != self.text:
            self.text = text
            self.dispatch("on_edit", self.stated())

    def shown(self, text):
        """The figure as its reader writes it, while it is typed too; the text itself keeps its point."""
        return _POINT.sub(decimal_sign(), text)

    def step(self, step):
        if step.startswith("="):
            self._edit(step[1:])
            return
        try:
            figure = Decimal(self.text.strip().replace(",", ".") or self.step_from) + Decimal(step)
        except InvalidOperation:
            return
        self._edit(format(figure, "f"))

    def step_words(self, step):
        words = self.shown(str(step)).replace("-", "\N{MINUS SIGN}")
        return f"= {words[1:]}" if words.startswith("=") else words


kv_beside.load(__file__)
