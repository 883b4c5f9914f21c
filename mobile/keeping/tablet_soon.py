"""A tablet whose store is being opened while its locked page is shown already."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any, Callable

from shared_models.exchange.practice import BEHIND, PREFIX
from shared_models.ledger.peeking import Peek, peek
from mobile.keeping.places import STORE_NAME


class TabletSoon:
    """Stands for a `Tablet`: knows at once who has a PIN, and has the rest when it is asked for.

    Whatever is asked of it waits for the opening, and raises what that raised.
    ``begin`` starts the opening off the screen's thread; ``on_failed`` then
    hears what went wrong, on that other thread.
    """

    def __init__(self, folder: Path, seen: Peek, open_tablet: Callable[[], Any]) -> None:
        self.path = folder / STORE_NAME
        self._seen, self._open_tablet = seen, open_tablet
        self._opened: Any = None
        self._failed: BaseException | None = None
        self._lock = threading.Lock()

    @classmethod
    def where_it_can(cls, folder: Path, open_tablet: Callable[[], Any]) -> "TabletSoon | None":
        """Return a tablet that is soon open, None where it must be opened first: new, older or damaged."""
        seen = peek(folder / STORE_NAME, PREFIX, BEHIND)
        return cls(folder, seen, open_tablet) if seen is not None and seen.people else None

    def begin(self, on_failed: Callable[[BaseException], None] = lambda _error: None) -> None:
        """Open the store on a thread of its own."""
        def opening() -> None:
            try:
                self.open()
            except BaseException as error:  # whoever asks next raises it too
                on_failed(error)

        threading.Thread(target=opening, name="opening the store", daemon=True).start()

    def open(self) -> Any:
        """Return the opened tablet, once; raises what the opening raised."""
        with self._lock:
            if self._failed is not None:
                raise self._failed
            if self._opened is None:
                try:
                    self._opened = self._open_tablet()
                except BaseException as error:
                    self._failed = error
                    raise
            return self._opened

    def people(self) -> tuple[str, ...]:
        """Staff ids that have a PIN here."""
        return self._seen.people if self._opened is None else self._opened.people()

    @property
    def is_practice(self) -> bool:
        """Whether only practice lies here."""
        return self._seen.is_practice if self._opened is None else self._opened.is_practice

    def close(self) -> None:
        """Close the store, if it was ever opened."""
        with self._lock:
            if self._opened is not None:
                self._opened.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.open(), name)
