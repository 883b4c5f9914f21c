"""Pictures read by a worker thread, one after the other, while their page is on the screen."""

from __future__ import annotations

from collections import deque
from typing import Callable

from kivy.clock import Clock

from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.photos import Work, look_at

POLL_SECONDS = 0.05


class Looking:
    """Reads kept photos for a page; each goes to its widget when it is there.

    ``is_shown`` says whether the page is still looked at; with it the reading ends.
    """

    def __init__(self, session, is_shown: Callable[[], bool]) -> None:
        self._session, self._is_shown = session, is_shown
        self._waiting: deque[tuple] = deque()
        self._under_way: tuple | None = None
        self._polls = None

    def show(self, digest: str, size: tuple[int, int], on_read, on_refused: Callable[[str], None]) -> None:
        """Read a photo no larger than ``size``; ``on_read(width, height, rgb)`` follows, or a sentence."""
        self._waiting.append((digest, size, on_read, on_refused))
        if self._polls is None:
            self._polls = Clock.schedule_interval(self._poll, POLL_SECONDS)

    def _poll(self, _dt) -> bool:
        if not self._is_shown():
            self._waiting.clear()
            self._under_way = self._polls = None
            return False
        if self._under_way is None and self._waiting:
            digest, size, *told = self._waiting.popleft()
            self._under_way = (look_at(self._session, digest, *size), *told)
        if self._under_way is not None:
            self._tell(*self._under_way)
        if self._under_way is None and not self._waiting:
            self._polls = None
            return False
        return True

    def _tell(self, work: Work, on_read, on_refused) -> None:
        work.drain()
        if not work.done:
            return
        self._under_way = None
        if isinstance(work.refusal, Refusal):
            on_refused(refusal_sentence(work.refusal))
        else:
            on_read(work.result.width, work.result.height, work.result.rgb)
