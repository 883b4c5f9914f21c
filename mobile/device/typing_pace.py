"""Whether keys come as a person types them, or faster: from a barcode scanner that poses as a keyboard.

A scanner types a code of digits and Enter.  Where neither a PIN nor a figure may take that for
what somebody typed, each key is noted here, and what came too fast is taken back.
"""

from __future__ import annotations

import time
from contextlib import contextmanager
from typing import Iterator

from kivy.clock import Clock

#: Keys that come faster than this on average were not typed by hand.  Scanners take 1 to 30 ms a
#: key, quick typists 80 ms or more (common practice; measured on no particular scanner).
BY_HAND_S = 0.035
#: After so long a pause something new begins.
PAUSE_S = 0.12
#: Two keys under one stroke may come at once by hand; three do not.
_FEWEST = 3


class _Time:
    """The steady clock; while a finger of tests or rehearsal types, the pace that it types at."""

    def __init__(self) -> None:
        self._typed_at: float | None = None
        self._ahead_s = self._key_s = 0.0

    def now_s(self) -> float:
        return time.monotonic() + self._ahead_s if self._typed_at is None else self._typed_at

    def waited_s(self) -> float:
        """How long keys may have waited while the screen was busy: then they come all at once."""
        return max(0.0, Clock.time() - Clock.get_time()) if self._typed_at is None else 0.0

    @contextmanager
    def typing(self, key_s: float) -> Iterator[None]:
        """Play a hand, or a scanner, that takes ``key_s`` seconds for each :meth:`key`."""
        self._typed_at, self._key_s = self.now_s() + 2 * PAUSE_S, key_s
        try:
            yield
        finally:
            self._ahead_s, self._typed_at = self._typed_at + 2 * PAUSE_S - time.monotonic(), None

    def key(self) -> None:
        """The next key comes."""
        if self._typed_at is not None:
            self._typed_at += self._key_s


moments = _Time()


class Pace:
    """Notes keys as they come; one for each field that must not take a scan for typing."""

    def __init__(self) -> None:
        self._count, self._began_s, self._last_s, self._waited_s = 0, 0.0, -1e9, 0.0
        self.before = None
        self._burst = False

    def note(self, so_far) -> bool:
        """Note a key; ``so_far`` is what stood before it. True when it belongs to a scan.

        Then ``before`` is what stood before the scan began.
        """
        now_s = moments.now_s()
        if now_s - self._last_s > PAUSE_S:
            self._count, self._began_s, self._waited_s = 0, now_s, moments.waited_s()
            self.before, self._burst = so_far, False
        self._count += 1
        self._last_s = now_s
        took_s = now_s - self._began_s + self._waited_s
        if self._count >= _FEWEST and took_s < (self._count - 1) * BY_HAND_S:
            self._burst = True
        return self._burst

    def ends_scan(self) -> bool:
        """Whether an Enter that comes now is the last key of a scan."""
        return self._burst and moments.now_s() - self._last_s <= PAUSE_S
