"""What comes down: page after page of the clinic's sequence, none larger than the line carries."""

from __future__ import annotations

from typing import Iterator

from shared_models.exchange import pull as pulls
from mobile.keeping.ahead import Ahead
from mobile.keeping.line import Line, SyncRefusal

#: Of this many items a page comes through within seconds at 64 kbit/s.
_FEWEST_ITEMS = 50


class Incoming:
    """Asks for pages; ``works_ahead``: for the next one while one is checked and stored."""

    def __init__(self, works_ahead: bool) -> None:
        self._works_ahead = works_ahead
        #: How many items a page is asked for: few on a line that was cut while one came.
        self._items = pulls.USUAL_ITEMS

    def pages(self, line: Line, after: int) -> Iterator[pulls.Pull]:
        """Give what comes after a sequence number, each page checked; raises SyncRefusal, BatchRefusal.

        Whoever stops before the end closes it: then nothing is under way any more.
        """
        data = self._asked(line, after)
        while True:
            page = pulls.opened(data)
            if not page.more:
                yield page.checked()
                break
            behind = page.next
            with Ahead(lambda: self._asked(line, behind), self._works_ahead) as following:
                yield page.checked()
                data = following.result()
        # It held to the end: the next time try larger ones.
        self._items = min(self._items * 2, pulls.USUAL_ITEMS)

    def _asked(self, line: Line, after: int) -> bytes:
        """Ask for a page; where the line is cut, the next is smaller, for half a page is of no use."""
        try:
            return line.content_of("GET", f"entries?after={after}&limit={self._items}")
        except SyncRefusal as refusal:
            if refusal.code == "server_not_reached":
                self._items = max(self._items // 4, _FEWEST_ITEMS)
            raise
