"""Work for the screen in parts, one in each frame, so that no frame is felt."""

from __future__ import annotations

from typing import Callable, Iterator

from kivy.clock import Clock

_NO_MORE = object()


def one_a_frame(parts: Iterator[None], is_wanted: Callable[[], bool]) -> None:
    """Do the first part now and one more in each frame, for as long as it is wanted."""
    def one(_dt: float) -> None:
        if is_wanted() and next(parts, _NO_MORE) is not _NO_MORE:
            Clock.schedule_once(one, 0)

    one(0)


def after_the_next_frame(act: Callable[[], None]) -> None:
    """Do something once the next frame has been laid out and drawn."""
    Clock.schedule_once(lambda _dt: Clock.schedule_once(lambda _dt: act(), 0), 0)
