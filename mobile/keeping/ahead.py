"""Doing the next thing while the one before it is still waited for."""

from __future__ import annotations

import threading
from types import TracebackType
from typing import Callable, Generic, TypeVar

T = TypeVar("T")


class Ahead(Generic[T]):
    """Work that is under way beside whoever made it, and ended when the block is left.

    ``now`` False leaves it until it is asked for, so that a simulator sees one
    thing after the other.
    """

    def __init__(self, work: Callable[[], T], now: bool) -> None:
        self._work = work
        self._found: T | None = None
        self._error: BaseException | None = None
        self._thread = threading.Thread(target=self._run, daemon=True) if now else None

    def __enter__(self) -> "Ahead[T]":
        if self._thread:
            self._thread.start()
        return self

    def __exit__(
        self, _type: type[BaseException] | None, _error: BaseException | None, _at: TracebackType | None
    ) -> None:
        if self._thread:
            self._thread.join()

    def _run(self) -> None:
        try:
            self._found = self._work()
        except BaseException as error:  # it belongs to whoever asks for the result
            self._error = error

    def result(self) -> T:
        """Wait for the work and return what came of it, or raise what it raised."""
        if self._thread:
            self._thread.join()
        else:
            self._run()
        if self._error is not None:
            raise self._error
        return self._found  # type: ignore[return-value]
