"""One sync at a time, in a worker thread; the screen takes its news in turn."""

from __future__ import annotations

import queue
import threading
from typing import Any

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from mobile.keeping.courier import Courier, SyncResult
from mobile.keeping.session import Session


class SyncRun:
    """A sync under way.  ``drain`` is called on the screen's thread.

    After ``done``: ``result`` holds what it did, or ``refusal`` why it did not.
    A fault of ours in the worker is raised again by ``drain``.
    """

    def __init__(self, courier: Courier, session: Session) -> None:
        self.session = session
        self.words, self.share = spoken("Starting"), 0.0
        self.done = False
        self.result: SyncResult | None = None
        self.refusal: Refusal | None = None
        self._news: queue.SimpleQueue[tuple[str, Any]] = queue.SimpleQueue()
        self._cancelled = threading.Event()
        self._worker = threading.Thread(target=self._work, args=(courier,), daemon=True)
        self._worker.start()

    def cancel(self) -> None:
        """Stop at the next batch; what went through stays sent."""
        self._cancelled.set()

    def drain(self) -> None:
        """Take the worker's news: progress, entries fetched, the end."""
        while True:
            try:
                sort, news = self._news.get_nowait()
            except queue.Empty:
                return
            if sort == "progress":
                self.words, self.share = news
            elif sort == "pulled":
                self.session.absorb(*news)
            else:
                self.done = True
                if isinstance(news, SyncResult):
                    self.result = news
                elif isinstance(news, Refusal):
                    self.refusal = news
                else:
                    raise news

    def _work(self, courier: Courier) -> None:
        try:
            result = courier.sync(
                self.session,
                lambda words, share: self._news.put(("progress", (words, share))),
                lambda entries, signatures: self._news.put(("pulled", (entries, signatures))),
                self._cancelled.is_set,
            )
        except Exception as error:  # handed to the screen's thread, which raises faults
            self._news.put(("end", error))
            return
        self._news.put(("end", result))
