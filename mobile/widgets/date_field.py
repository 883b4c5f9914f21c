"""A field for a day, typed in figures on our own keypad or on a keyboard."""

from datetime import date, timedelta

from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty

from mobile.widgets.figure_field import FigureField
from shared_models.language import counted


class DateField(FigureField):
    """A day as ISO text, year-month-day; hyphens come by themselves while digits are typed.

    ``steps`` are days from the date in the field, or from ``today`` (ISO text, the clock's day when
    empty) while it has none; a step of 0 puts in today.
    """

    steps = ListProperty([0, 1, 7, 14, 28])
    decimals = BooleanProperty(False)
    most_characters = NumericProperty(10)
    today = StringProperty("")
    how = StringProperty("")
    """How it is typed, for ``hint`` while no day stands there."""


    def take(self, characters):
        text = self.text
        for character in characters:
            if len(text) in (4, 7) and character.isdigit():
                text += "-"
            if character.isprintable() and len(text) < self.most_characters:
                text += character
        self._edit(text)

    def rub_out(self):
        text = self.text[:-1]
        self._edit(text[:-1] if text.endswith("-") else text)

    def step(self, step):
        today = self.today or date.today().isoformat()
        try:
            start = date.fromisoformat(today if int(step) == 0 else self.text or today)
            self._edit((start + timedelta(days=int(step))).isoformat())
        except (ValueError, OverflowError):
            return

    def step_words(self, step):
        days = int(step)
        if days == 0:
            return "today"
        sign = "+" if days > 0 else "\N{MINUS SIGN}"
        return counted("{sign}{number} day", "{sign}{number} days", abs(days), sign=sign)
