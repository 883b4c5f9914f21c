"""A hybrid logical clock: display order that survives wrong wall clocks.

After Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical Physical Clocks",
2014 (algorithm in figure 5).  A reading is never smaller than any reading
seen before, and stays close to the wall clock as long as that is right.  It
orders what people see; it never decides which of two entries is current.

Text form ``mmmmmmmmmmmm-cccc``: milliseconds since 1970 UTC as twelve hex
digits, a counter as four, so that text order is clock order.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Callable

_FORM = re.compile(r"[0-9a-f]{12}-[0-9a-f]{4}")
_LARGEST_COUNT = 0xFFFF


class NotAClockReading(ValueError):
    """The text is no reading of a hybrid logical clock."""


def is_clock_reading(text: object) -> bool:
    """Tell whether ``text`` has the form of a reading."""
    return isinstance(text, str) and bool(_FORM.fullmatch(text))


@dataclass
class HybridClock:
    """The clock of one tablet or server.

    ``wall_ms`` returns the wall clock in milliseconds; ``last`` is the newest
    reading given or seen, kept over restarts by seeing the stored entries.
    """

    wall_ms: Callable[[], int]
    last: str = "000000000000-0000"

    def tick(self) -> str:
        """Return the reading for an entry made now."""
        last_ms, last_count = _parts(self.last)
        now = self.wall_ms()
        if now > last_ms:
            self.last = _text(now, 0)
        elif last_count < _LARGEST_COUNT:
            self.last = _text(last_ms, last_count + 1)
        else:
            self.last = _text(last_ms + 1, 0)
        return self.last

    def see(self, reading: str) -> None:
        """Take note of a reading made elsewhere."""
        _parts(reading)
        if reading > self.last:
            self.last = reading


def _parts(reading: str) -> tuple[int, int]:
    if not is_clock_reading(reading):
        raise NotAClockReading(f"{reading!r} is no clock reading")
    milliseconds, count = reading.split("-")
    return int(milliseconds, 16), int(count, 16)


def _text(milliseconds: int, count: int) -> str:
    return f"{milliseconds:012x}-{count:04x}"
