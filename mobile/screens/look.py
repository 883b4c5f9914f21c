"""How the tablet looks and speaks: light, size of type, hand, units, click and language; a sheet over whatever page is open.

A sheet, not a page: the page beneath stays as it is, with all that is typed on it, and shows at
once what a change does.
"""

from __future__ import annotations

from pathlib import Path
from typing import Callable

from mobile.keeping.look import SCALES, Look, keep_look
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.sheet import Sheet
from mobile.widgets.theme import theme
from shared_models.language import Phrases, choose_language, current_language, languages, phrase, spoken

LEAD = phrase("Kept on this tablet, for whoever holds it. Nothing you typed changes.")
NOT_KEPT = phrase("This holds until the app is closed: the tablet has no room to keep it.")
_LIGHT = Phrases({"sun": "Bright, for sun", "dim": "Dark, for a dim room"})
_HAND = Phrases({"right": "Right hand", "left": "Left hand"})
_UNITS = [("metric", "kg, mm, N·m"), ("pounds", "lb, in, lbf·in")]
_CLICK = Phrases({"on": "Click at each tap", "off": "Silent"})


def apply(look: Look) -> None:
    """Show everything in this look, at once."""
    theme.name, theme.font_scale, theme.left_handed = look.light, look.scale, look.left_handed
    theme.pounds_first = look.pounds_first
    choose_language(look.language)


def look_now() -> Look:
    """Return the look everything has now."""
    return Look(theme.name, theme.font_scale, theme.left_handed, theme.pounds_first, current_language())


class LookSheet(Sheet):
    """Choices that take effect as they are pressed; 'As before' takes all of them back."""

    def __init__(self, folder: Path, session=None, spoken_anew: Callable[[], None] = lambda: None):
        super().__init__(
            title=spoken("How it looks"), lead=spoken(LEAD), test_name="look", main_words=spoken("Done"), plain_words=spoken("As before"),
        )
        self.folder, self.session, self._spoken_anew = folder, session, spoken_anew
        self._before = look_now()
        self._clicked_before = self._click() if session else "on"
        self._row("light", spoken("Light"), _LIGHT.items(), theme.name, lambda key: setattr(theme, "name", key))
        sizes = [(str(scale), f"{scale:.0%}") for scale in SCALES]
        self._row("type", spoken("Size of type"), sizes, str(theme.font_scale), lambda key: setattr(theme, "font_scale", float(key)))
        hand = "left" if theme.left_handed else "right"
        self._row("hand", spoken("The main button lies at the"), _HAND.items(), hand, lambda key: setattr(theme, "left_handed", key == "left"))
        units = "pounds" if theme.pounds_first else "metric"
        self._row("units", spoken("Empty figures begin in"), _UNITS, units, lambda key: setattr(theme, "pounds_first", key == "pounds"))
        tongues = [(each.code, each.own_name) for each in languages() if each.whole]
        # In English beside the reader's language, so that whoever can't read this finds back.
        label = spoken("Language")
        label = label if label == "Language" else f"{label} · Language"
        self._row("language", label, tongues, current_language(), choose_language)
        if session is not None:
            self._row("click", spoken("Timing a walk by taps"), _CLICK.items(), self._clicked_before, self._set_click)

    def on_confirm(self) -> None:
        """All is applied already; another language asks for the page anew."""
        self.dismiss()
        if current_language() != self._before.language:
            self._spoken_anew()

    def on_withdraw(self) -> None:
        """Take back what was changed since the sheet came up."""
        apply(self._before)
        if self.session is not None and self._click() != self._clicked_before:
            self._set_click(self._clicked_before)
        self._keep()

    def _row(self, name: str, label: str, options, value: str, act) -> None:
        row = ChoiceRow(test_name=f"look_{name}", label=label, options=options, value=value)

        def chosen(_row, key: str) -> None:
            act(key)
            self._keep()

        row.fbind("on_edit", chosen)
        self.content.add_widget(row)

    def _keep(self) -> None:
        try:
            keep_look(self.folder, look_now())
        except OSError:
            self.lead = spoken(NOT_KEPT)

    def _click(self) -> str:
        from mobile.screens.timing import click_is_on

        return "on" if click_is_on(self.session) else "off"

    def _set_click(self, key: str) -> None:
        from mobile.screens.timing import keep_click

        keep_click(self.session, key == "on")
