"""From contacts to intervals: steps, strides, swing and stance, each of one side.

Nothing is left out here; what a pause or a turn does to the figures is told
apart afterwards (``steady``).
"""

from __future__ import annotations

from bisect import bisect_left
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
    for at, point, following in _bounded(contacts, finals, after=True):
        time_s = contacts[following].time_s - finals[at].time_s  # type: ignore[operator]
        found.append(Interval("swing_time_s", finals[at].side, point, following, time_s))
    return tuple(found)


def stances(contacts: Sequence[Contact], finals: Sequence[Contact]) -> tuple[Interval, ...]:
    """Return the stances: from a side's initial contact to its next final contact."""
    found = []
    for at, point, before in _bounded(contacts, finals, after=False):
        time_s = finals[at].time_s - contacts[before].time_s  # type: ignore[operator]
        found.append(Interval("stance_time_s", finals[at].side, before, point, time_s))
    return tuple(found)


def _bounded(
    contacts: Sequence[Contact], finals: Sequence[Contact], after: bool
) -> list[tuple[int, int, int]]:
    """Return (final contact, its point, the initial contact next to it on that side).

    A final contact with another final one, or a contact without a time, in
    between bounds nothing.
    """
    found = []
    for side in ("left", "right"):
        own = [i for i, c in enumerate(contacts) if c.side == side]
        timed = [(t, place) for place, i in enumerate(own) if (t := contacts[i].time_s) is not None]
        lane = [(t, i) for i, c in enumerate(finals) if c.side == side and (t := c.time_s) is not None]
        for number, (time_s, at) in enumerate(lane):
            near = _nearest(own, timed, time_s, after)
            near_s = None if near is None else contacts[near].time_s
            if near is None or near_s is None:
                continue
            beside = lane[number + 1:number + 2] if after else lane[max(0, number - 1):number]
            if any(t <= near_s if after else t >= near_s for t, _ in beside):
                continue
            found.append((at, -1 - at, near))
    return sorted(found)


def _nearest(
    own: Sequence[int], timed: Sequence[tuple[float, int]], time_s: float, after: bool
) -> int | None:
    """Return the next (or the last) contact of ``own`` beside a time.

    ``timed`` are times and places in ``own``.  A contact without a time that
    may lie between is returned itself, since the next one is then not known.
    """
    before = bisect_left(timed, (time_s, -1)) - 1
    place = timed[before][1] if before >= 0 else -1
    following = own[place + 1] if place + 1 < len(own) else None
    if after:
        return following
    next_timed = timed[before + 1][1] if before + 1 < len(timed) else len(own)
    if next_timed > place + 1:
        return following  # it has no time, and may lie before this one
    return own[place] if place >= 0 else None
