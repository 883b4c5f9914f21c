"""A pad for a personal number: what is typed shows as discs only."""

from kivy.clock import Clock
from kivy.graphics import SmoothEllipse
from kivy.metrics import dp
from kivy.properties import NumericProperty, StringProperty
from kivy.uix.behaviors import FocusBehavior

from mobile.device.typing_pace import Pace
from mobile.widgets import kv_beside
from mobile.widgets import focus_order
from mobile.widgets import message_line  # noqa: F401 (used by the kv file)
from mobile.widgets.focus_order import lets_go_when_left
from mobile.widgets.keypad import Key, TypingPad
from mobile.widgets.marks import Mark
from mobile.widgets.theme import theme
from shared_models.language import phrase, spoken

SCANNED = phrase("A scanned code is no PIN. It was taken back; type the PIN on the keys.")
PIN_KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "rub_out", "0", "enter"]


class PinDiscs(Mark):
    """One disc for each digit typed, rings for those still owed."""

    count = NumericProperty(0)
    least = NumericProperty(4)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.fbind("count", self._again)
        self.fbind("least", self._again)

    def draw(self, x, y, _r):
        self.use(self.tone)
        places = max(int(self.least), int(self.count))
        r, apart = dp(8), dp(30)
        left = x - apart * (places - 1) / 2
        for number in range(places):
            if number < self.count:
                SmoothEllipse(pos=(left + number * apart - r, y - r), size=(2 * r, 2 * r))
            else:
                self.ring(left + number * apart, y, r)


class PinPad(FocusBehavior, TypingPad):
    """Takes a personal number and dispatches ``on_pin(digits)`` when it is entered.

    ``label`` says whose number is asked for, ``enter_words`` what the last key does, ``message``
    what went wrong. ``least_digits`` to ``most_digits`` can be typed; the digits are forgotten as
    soon as they have been handed on, or by :meth:`forget`. A hardware keyboard works as well while
    the pad has the focus, which it takes when it comes on the screen. Keys are called ``pin:1`` ...
    ``pin:rub_out`` and ``pin:enter``.
    """

    __events__ = ("on_pin",)
    label = StringProperty("")
    enter_words = StringProperty("enter")
    message = StringProperty("")
    message_kind = StringProperty("refusal")
    least_digits = NumericProperty(4)
    most_digits = NumericProperty(8)
    count = NumericProperty(0)

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._digits = ""
        self._pace = Pace()
        self._keys = {}
        for key in PIN_KEYS:
            button = Key(key=key, test_name=f"pin:{key}", text=key)
            button.fbind("on_release", lambda pressed: self.press(pressed.key))
            self.ids.pad_keys.add_widget(button)
            self._keys[key] = button
        self._keys["rub_out"].text = spoken("rub out")
        for name in ("count", "enter_words", "least_digits"):
            self.fbind(name, self._show)
        self.fbind("parent", self._take_focus)
        self.fbind("width", self._keep_words_whole)
        for key in ("rub_out", "enter"):
            for name in ("text", "font_size"):
                self._keys[key].fbind(name, self._keep_words_whole)
        self._keep_words_whole()
        self._show()

    def press(self, key: str) -> None:
        """Do what a key does: a digit, ``'rub_out'`` or ``'enter'``."""
        if key == "enter":
            self._enter()
            return
        if key == "rub_out":
            self._digits = self._digits[:-1]
        elif len(self._digits) < self.most_digits:
            self._digits += key
        self.count = len(self._digits)

    def forget(self) -> None:
        """Forget the digits typed so far."""
        self._digits = ""
        self._pace = Pace()
        self.count = 0

    def on_pin(self, digits: str) -> None:
        """A person entered these digits."""

    def keyboard_on_textinput(self, window, text):
        if lets_go_when_left(self):
            return
        if self._pace.note(self._digits):
            self._digits = self._pace.before
            self.count = len(self._digits)
            self.message_kind, self.message = "refusal", spoken(SCANNED)
            return
        for character in text:
            if character in "0123456789":
                self.press(character)

    def keyboard_on_key_down(self, window, keycode, text, modifiers):
        if lets_go_when_left(self):
            return False
        if keycode[1] == "backspace":
            self.press("rub_out")
        elif keycode[1] in ("enter", "numpadenter"):
            if not self._pace.ends_scan():
                self._enter()
        elif keycode[1] == "tab" and focus_order.walk is not None:
            return False
        else:
            return super().keyboard_on_key_down(window, keycode, text, modifiers)
        return True

    def _enter(self):
        if len(self._digits) < self.least_digits:
            return
        digits = self._digits
        self.forget()
        self.dispatch("on_pin", digits)

    def _show(self, *_args):
        self._keys["enter"].text = self.enter_words
        self._keys["enter"].disabled = self.count < self.least_digits

    def _keep_words_whole(self, *_args):
        """The two columns that hold words take what those need; the middle one keeps a finger's width."""
        room = self.width - 2 * theme.gap - 2 * dp(8) - theme.touch
        for key in ("rub_out", "enter"):
            button = self._keys[key]
            button.size_hint_min_x = max(theme.touch, min(button.natural_width, room / 2))

    def _take_focus(self, _self, parent):
        if parent is None:
            self.focus = False
            self.forget()
            return
        Clock.schedule_once(self._focus_if_shown, 0)

    def _focus_if_shown(self, _dt):
        if self.get_parent_window() is not None:
            self.focus = True


kv_beside.load(__file__)
