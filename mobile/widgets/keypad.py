"""The large keypad for figures: digits, point, sign, rub out, clear, unit, next and the likely steps."""

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import (
    BooleanProperty,
    DictProperty,
    NumericProperty,
    ObjectProperty,
    StringProperty,
)
from kivy.uix.behaviors import FocusBehavior

from mobile.widgets import kv_beside
from mobile.widgets.buttons import PressButton
from mobile.widgets.surface import Surface
from mobile.widgets.theme import theme
from shared_models.language import Phrases, decimal_sign

KEYS = [
    "1", "2", "3", "rub_out",
    "4", "5", "6", "clear",
    "7", "8", "9", "sign",
    "point", "0", "unit", "next",
]  # fmt: skip
KEY_WORDS = Phrases({
    "rub_out": "rub out", "clear": "clear", "next": "next", "unit": "unit",
    "sign": "+ / \N{MINUS SIGN}",
})  # fmt: skip


class Key(PressButton):
    """One key; ``key`` is what it does."""

    key = StringProperty("")


class StepKey(PressButton):
    """One likely step of the figure in hand."""

    step = ObjectProperty(None)


class TypingPad(Surface):
    """A pad that types into a field without taking the field out of hand."""

    def on_touch_down(self, touch):
        if self.collide_point(*touch.pos):
            FocusBehavior.ignored_touch.append(touch)
        return super().on_touch_down(touch)


class Keypad(TypingPad):
    """Types into ``target``, a figure field; the field sets it when it is taken in hand.

    Give the fields ``keypad: pad``. With nothing in hand the keys are disabled. Keys are called
    ``key:1`` ... ``key:point``, ``key:sign``, ``key:rub_out``, ``key:clear``, ``key:unit``, ``key:next`` and the
    steps ``step:<step>``, such as ``step:+0.5``. ``key_words`` replaces the words on keys;
    ``key:point`` bears the reader's decimal sign and types a point, which the field shows with that sign; ``has_steps: False`` leaves the line of steps out. The pad
    is as high as it needs; give it more and the keys grow. It must stand beside what scrolls, never
    in it: a scrolling pane would hold each press back, and the field would leave the hand.
    """

    target = ObjectProperty(None, allownone=True)
    key_words = DictProperty()
    has_steps = BooleanProperty(True)
    line_height_px = NumericProperty(dp(64))
    most_height = NumericProperty(0)
    """Pixels that the pane around it has for it, above 0: its keys are lower then, down to what a finger needs."""
    least_width = NumericProperty(0)
    """Pixels that it needs so that no word on a key or a step is broken."""

    def __init__(self, **kwargs):
        kwargs.setdefault("key_words", {**dict(KEY_WORDS.items()), "point": decimal_sign()})
        super().__init__(**kwargs)
        self._keys = {}
        rows = self.ids
        for number, key in enumerate(KEYS):
            button = Key(key=key, test_name=f"key:{key}", text=self.key_words.get(key, key))
            button.fbind("on_release", self._press)
            rows[f"line_{number // 4}"].add_widget(button)
            self._keys[key] = button
        self.fbind("key_words", self._name_keys)
        self.fbind("target", self._follow)
        self._measure_soon = Clock.create_trigger(self._measure, -1)
        self.fbind("width", self._type_grew)
        # Bound weakly: the theme outlives every keypad.
        theme.bind(font_scale=self._type_grew)
        self._follow()

    @staticmethod
    def height_of(line_px: float, steps_px: float, most_px: float) -> float:
        """Pixels from its foot to its top: as its lines want it, or as low as ``most_px`` asks and a finger allows."""
        around = steps_px + dp(8) * 4 + 2 * theme.gap
        lowest = max(dp(56), theme.touch) * 4 + around
        wanted = line_px * 4 + around
        return max(lowest, min(wanted, most_px)) if most_px > 0 else wanted

    @property
    def wanted_height(self) -> float:
        """Pixels as its lines want it, whatever room there is now."""
        return self.height_of(self.line_height_px, self.ids.steps.height, 0)

    def _type_grew(self, *_args):
        self._measure_soon()

    def _measure(self, *_args):
        """All keys are as wide as the one with the longest word needs to be, each step by what stands on it."""
        steps = self.ids.steps.children
        for step in steps:
            step.size_hint_x = max(theme.touch, step.natural_width)
        keys = 4 * max(key.whole_width for key in self._keys.values()) + 3 * dp(8)
        line = sum(step.size_hint_x for step in steps) + max(0, len(steps) - 1) * dp(8)
        self.least_width = max(keys, line) + 2 * theme.gap

    def _name_keys(self, *_args):
        for key, button in self._keys.items():
            button.text = self.key_words.get(key, key)
        self._measure_soon()

    def _follow(self, *_args):
        target = self.target
        for key, button in self._keys.items():
            wanted = {"sign": "signed", "point": "decimals"}.get(key)
            button.disabled = target is None or (wanted and not getattr(target, wanted)) or False
        self._name_unit()
        self._measure_soon()
        line = self.ids.steps
        # A field that only loses the focus for a moment leaves the steps standing, so that the
        # pad does not jump.
        if target is None:
            for button in line.children:
                button.disabled = True
            return
        line.clear_widgets()
        for step in target.steps:
            words = target.step_words(step)
            button = StepKey(step=step, text=words, test_name=f"step:{step}")
            button.fbind("on_release", self._press_step)
            line.add_widget(button)

    def _name_unit(self):
        """The unit key says which unit is in hand and which one it brings."""
        following = getattr(self.target, "next_unit", "")
        button = self._keys["unit"]
        button.disabled = not following
        button.text = f"{self.target.unit} \N{RIGHTWARDS ARROW} {following}" if following else self.key_words.get("unit", "unit")

    def _change_unit(self):
        self.target.change_unit()
        self._follow()

    def _press_step(self, button):
        if self.target is not None:
            self.target.step(button.step)

    def _press(self, button):
        target = self.target
        if target is None:
            return
        action = {
            "rub_out": target.rub_out, "clear": target.clear,
            "next": target.go_next, "sign": target.turn_sign, "unit": self._change_unit,
        }.get(button.key)  # fmt: skip
        if action is not None:
            action()
        else:
            target.take("." if button.key == "point" else button.key)


kv_beside.load(__file__)
