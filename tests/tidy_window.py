"""What one test leaves of its pages, taken away before the next: it would be looked through and drawn with it.

A page is thousands of objects that hold one another.  A bar that still fades, or a layout that
waits for a frame, holds its whole page; so pages of earlier tests pile up, follow each change of
theme, and each search for garbage looks through them and through every module besides.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

#: What is due by the clock before the first test: Kivy's own.
_KIVYS_OWN: list = []
#: More objects than these are not what a test left behind, but what the program has loaded.
_SOME_PAGES = 100_000


@contextmanager
def tidied(window) -> Iterator[None]:
    """Keep a window to one test: what stands before it is left out of its searches, what it shows goes with it."""
    from mobile.screens.quiet_moments import THRESHOLDS

    # Only now, since what the fixtures of the test before gave was held until all of them had ended;
    # and before a size or a theme is chosen, which every page that is left would follow.
    _end_what_moves_or_waits()
    gc.collect()
    if len(gc.get_objects()) > _SOME_PAGES:
        gc.freeze()  # modules, fonts, the catalogue: they stay, no search need look through them again
    thresholds = gc.get_threshold()
    gc.set_threshold(*THRESHOLDS)  # as the app itself has it
    yield
    for child in window.children[:]:
        window.remove_widget(child)
    _let_go_of_the_keyboard()
    _end_what_moves_or_waits()
    gc.set_threshold(*thresholds)


def _let_go_of_the_keyboard() -> None:
    from kivy.uix.behaviors import FocusBehavior

    for widget in list(FocusBehavior._keyboards.values()):
        if widget is not None:
            widget.focus = False


def _end_what_moves_or_waits() -> None:
    from kivy.animation import Animation
    from kivy.clock import Clock

    due = Clock.get_events()
    if not _KIVYS_OWN:
        _KIVYS_OWN.extend(due)
    Animation.cancel_all(None)
    for event in due:
        if not any(event is own for own in _KIVYS_OWN):
            event.cancel()
