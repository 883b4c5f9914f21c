"""Working ahead, steered: whether the next part is ready before this one is sent is drawn from the seed.

The program packs the next part while one is sent, and asks for the next page
while one is stored, in a thread beside.  Here that thread runs to its end at
once, or not before its result is asked for: the two ends between which it may
fall, so that a world played again does the same.  Parts and pages are small,
that there are several in a schedule.  Threads that truly run beside are in
``tests/sync_server/test_working_ahead.py``.
"""

from __future__ import annotations

import random
from collections import Counter
from contextlib import contextmanager
from typing import Any, Callable, Iterator

import mobile.keeping.courier as courier
import mobile.keeping.incoming as incoming
import mobile.keeping.outbox as outbox
import shared_models.exchange.pull as pulls
from mobile.keeping.ahead import Ahead

#: A part, and a page, carry so many at most; after cut lines one, and two.
ENTRIES_A_PART, ITEMS_A_PAGE = 3, 4


@contextmanager
def working_ahead(chance: random.Random) -> Iterator[Counter]:
    """Have tablets work ahead inside the block, on small parts and pages; count what came of it."""
    count: Counter = Counter()

    class Drawn(Ahead[Any]):
        def __init__(self, work: Callable[[], Any], now: bool) -> None:
            super().__init__(work, now=now or chance.random() < 0.75)

        def __enter__(self) -> "Drawn":
            super().__enter__()
            if self._thread:
                self._thread.join()
                count["made ready ahead"] += self._found is not None
            return self

    put = [
        (courier, "Ahead", Drawn), (incoming, "Ahead", Drawn),
        (outbox, "ENTRIES_A_BATCH", ENTRIES_A_PART), (outbox, "_SMALLEST_SHARE", ENTRIES_A_PART),
        (pulls, "USUAL_ITEMS", ITEMS_A_PAGE), (incoming, "_FEWEST_ITEMS", 2),
    ]
    before = [(module, name, getattr(module, name)) for module, name, _ in put]
    for module, name, value in put:
        setattr(module, name, value)
    try:
        yield count
    finally:
        for module, name, value in before:
            setattr(module, name, value)
