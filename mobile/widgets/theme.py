"""One theme for the whole tablet: colours, sizes of type, spacing and the size of a touch target.

kv files say ``#:import theme mobile.widgets.theme.theme`` and write, for instance,
``rgba: theme.colour('panel', theme.name)``; naming ``theme.name`` there makes the colour follow
when the theme changes.
"""

import gc
from contextlib import contextmanager

from kivy.event import EventDispatcher
from kivy.metrics import dp, sp
from kivy.properties import (
    AliasProperty,
    BooleanProperty,
    BoundedNumericProperty,
    NumericProperty,
    OptionProperty,
)
from kivy.utils import get_color_from_hex

from mobile.widgets.palettes import PALETTES

# Sizes of type in sp at a font scale of 1.
TYPE_SCALE_SP = {
    "figure": 40, "key": 28, "title": 30, "unit": 22, "button": 20,
    "lead": 19, "body": 18, "small": 15,
}  # fmt: skip
TRANSPARENT = (0, 0, 0, 0)
#: From above this size of type on, a page shares its room out anew.
LARGE_TYPE = 1.25


@contextmanager
def _no_search():
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


class Theme(EventDispatcher):
    """What the widgets look like; changing a property changes every widget on the screen."""

    name = OptionProperty("sun", options=list(PALETTES))
    """``'sun'`` for daylight, ``'dim'`` for a darkened room."""

    font_scale = BoundedNumericProperty(1.0, min=1.0, max=1.5)
    """How much larger than usual all type is, from 1 to 1.5."""

    large_type = AliasProperty(lambda self: self.font_scale > LARGE_TYPE, bind=["font_scale"])
    """Whether type is so large that what is one above the other at usual size leaves a field no room."""

    left_handed = BooleanProperty(False)
    """Whether the main button sits bottom left instead of bottom right."""

    pounds_first = BooleanProperty(False)
    """Whether an empty figure is offered in pounds, feet and inches before kilograms and millimetres."""

    touch = NumericProperty(dp(56))
    """The least height and width of anything to be pressed, in pixels."""

    gap = NumericProperty(dp(16))
    """The usual distance between two things, in pixels."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self._colours = {
            theme: {tone: tuple(get_color_from_hex(value)) for tone, value in palette.items()}
            for theme, palette in PALETTES.items()
        }

    def __setattr__(self, name: str, value) -> None:
        """Change a property with no search for garbage until every widget has followed.

        A page that was left follows too until such a search takes it away.  Began one while a
        rule of that page's kv file was at work, the rule would write to a widget that is gone.
        """
        with _no_search():
            super().__setattr__(name, value)

    def colour(self, tone: str, name: str | None = None) -> tuple:
        """The colour of a tone (``'ink'``, ``'panel'`` ...): red, green, blue, alpha of 0 to 1.

        An empty tone is transparent; an unknown one is a fault and raises ``KeyError``.
        """
        return self._colours[name or self.name][tone] if tone else TRANSPARENT

    def type_size(self, role: str, font_scale: float | None = None) -> float:
        """The size in pixels of type in this role (a key of :data:`TYPE_SCALE_SP`)."""
        return sp(TYPE_SCALE_SP[role]) * (font_scale or self.font_scale)


theme = Theme()
