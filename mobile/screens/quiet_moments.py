"""Python's search for garbage, put off to moments in which nobody touches the screen.

A page is thousands of objects that hold one another, so only a search finds
that they are no longer wanted.  Left to itself the search looks through
everything the program holds, several times while one page is opened, and holds
up the screen each time.
"""

from __future__ import annotations

import gc
import time
from typing import TYPE_CHECKING

from kivy.clock import Clock

if TYPE_CHECKING:
    from mobile.screens.stage import Stage

#: So many objects come before a search begins although nobody paused: some six pages, a third
#: of a second.  Then small searches before a middle one, middle ones before a whole one.
THRESHOLDS = (300_000, 5, 5)
_PYTHONS_OWN = (700, 10, 10)
#: So long nobody has touched the screen when a search may begin.
PAUSE_SECONDS = 2.0
_LOOK_EVERY_SECONDS = 1.0


class QuietMoments:
    """Has garbage looked for while the tablet lies idle, at most once between two touches."""

    def __init__(self, stage: Stage) -> None:
        self._stage = stage
        self._searched_at = 0.0
        self._is_settled = False
        gc.set_threshold(*THRESHOLDS)
        self._looking = Clock.schedule_interval(self._look, _LOOK_EVERY_SECONDS)

    def close(self) -> None:
        """Leave the search to Python again."""
        self._looking.cancel()
        gc.unfreeze()
        gc.set_threshold(*_PYTHONS_OWN)

    def settle(self) -> None:
        """Leave out of every later search what is here now: it stays as long as the program."""
        gc.collect()
        gc.freeze()
        self._is_settled = True

    def search(self) -> None:
        """Look through everything that came since `settle`."""
        gc.collect()

    def _look(self, _dt) -> None:
        touched = self._stage.touched_at
        is_quiet = time.monotonic() - touched > PAUSE_SECONDS
        if not is_quiet or self._searched_at > touched or self._stage.session is None:
            return
        page = self._stage.page
        if getattr(page, "times_touches", False) or self._stage.must_stay_in_reach():
            return  # somebody walks, and the next touch may be timed
        self._searched_at = time.monotonic()
        if self._is_settled:
            self.search()
        else:
            self.settle()
