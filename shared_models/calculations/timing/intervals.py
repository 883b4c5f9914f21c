"""From contacts to intervals: steps, strides, swing and stance, each of one side.

Nothing is left out here; what a pause or a turn does to the figures is told
apart afterwards (``steady``).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Sequence

from shared_models.calculations.timing.contacts import Contact


@dataclass(frozen=True)
class Interval:
    """One interval of ``quantity`` that belongs to ``side``, ``time_s`` long.

    ``start`` and ``end`` are points: the number of an initial contact (from 0),
    or of a final contact as -1, -2, ... so that the error of one tap is known
    to be the same error in both intervals that it bounds.
    """

    quantity: str
    side: str
    start: int
    end: int
    time_s: float


def gaps(contacts: Sequence[Contact]) -> tuple[Interval, ...]:
    """Return every gap between neighbours, whatever their sides; side of the later."""
    return tuple(
        Interval("contact_interval_s", b.side, i, i + 1, b.time_s - a.time_s)
        for i, (a, b) in enumerate(zip(contacts, contacts[1:]))
        if a.time_s is not None and b.time_s is not None
    )


def steps(contacts: Sequence[Contact]) -> tuple[Interval, ...]:
    """Return the steps: from a contact of the other side to the next contact, of this side.

    The step belongs to the side whose foot lands.
    """
    return tuple(
        Interval("step_time_s", gap.side, gap.start, gap.end, gap.time_s)
        for gap in gaps(contacts) if contacts[gap.start].side != gap.side
    )


def strides(contacts: Sequence[Contact]) -> tuple[Interval, ...]:
    """Return the strides: from one contact of a side to the next of the same side."""
    found = []
    before: dict[str, int] = {}
    for at, contact in enumerate(contacts):
        start = before.get(contact.side)
        before[contact.side] = at
        if start is None:
            continue
        first_s = contacts[start].time_s
        if first_s is not None and contact.time_s is not None:
            found.append(Interval("stride_time_s", contact.side, start, at, contact.time_s - first_s))
    return tuple(found)


def swings(contacts: Sequence[Contact], finals: Sequence[Contact]) -> tuple[Interval, ...]:
    """Return the swings: from a side's final contact to its next initial contact."""
    found = []
    for between in _between_landings(contacts, finals):
        if between.end is not None and between.finals:
            at = between.finals[-1]
            time_s = contacts[between.end].time_s - finals[at].time_s  # type: ignore[operator]
            found.append(Interval("swing_time_s", finals[at].side, -1 - at, between.end, time_s))
    return tuple(sorted(found, key=lambda each: each.end))


def stances(contacts: Sequence[Contact], finals: Sequence[Contact]) -> tuple[Interval, ...]:
    """Return the stances: from a side's initial contact to its next final contact."""
    found = []
    for between in _between_landings(contacts, finals):
        if between.start is not None and between.finals:
            at = between.finals[0]
            time_s = finals[at].time_s - contacts[between.start].time_s  # type: ignore[operator]
            found.append(Interval("stance_time_s", finals[at].side, between.start, -1 - at, time_s))
    return tuple(sorted(found, key=lambda each: each.start))


@dataclass(frozen=True)
class _Between:
    """The final contacts of one side between two timed initial contacts (None: an end)."""

    start: int | None
    end: int | None
    finals: tuple[int, ...]


def _between_landings(contacts: Sequence[Contact], finals: Sequence[Contact]) -> list[_Between]:
    """Return each side's final contacts by the timed initial contacts around them.

    A foot lands and leaves in turn.  Where it landed without a time in
    between, which final contact belongs to which landing is known only if one
    more final contact is there than such landings; otherwise none is named.
    """
    found = []
    for side in ("left", "right"):
        own = [i for i, c in enumerate(contacts) if c.side == side]
        timed = [(t, place) for place, i in enumerate(own) if (t := contacts[i].time_s) is not None]
        lane = [(t, i) for i, c in enumerate(finals) if c.side == side and (t := c.time_s) is not None]
        lane.sort()
        ends = [(-math.inf, -1), *timed, (math.inf, len(own))]
        for (start_s, first), (end_s, last) in zip(ends, ends[1:]):
            # A foot that leaves at the very moment it lands has stood for no time.
            low, high = bisect_right(lane, (start_s, math.inf)), bisect_right(lane, (end_s, math.inf))
            inside = tuple(i for _, i in lane[low:high])
            untimed = last - first - 1
            if untimed and len(inside) != untimed + 1:
                inside = ()
            found.append(_Between(
                own[first] if first >= 0 else None, own[last] if last < len(own) else None, inside))
    return found
