"""Foot contacts, and what is odd about a row of them.

A contact is the moment a foot meets the floor, as tapped by a thumb or stated
by an instrument.  Nothing odd is dropped: it is found and shown as a doubt.
What can't be (a time before zero, taps out of order) is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from statistics import median
from typing import Any, Mapping, Sequence

from shared_models.quantities.refusals import Refusal

SIDES = ("left", "right")
#: Two contacts closer than this are doubted as one tap made twice.  The
#: quickest running has about 200 contacts a minute, 0.3 s apart; common practice.
DOUBLED_CLOSER_THAN_S = 0.2
#: A gap longer than this many usual (median) gaps is doubted as a pause, a
#: turn, or contacts that were missed: one missed contact makes two gaps of one.
LONG_GAP_TIMES_USUAL = 1.8
#: Latest time that is taken: beyond it a float of seconds no longer tells
#: microseconds, and even a count of seconds since 1970 stays below.
LATEST_S = 1e10
#: Fewer gaps than this have no 'usual' gap to compare with.
_FEWEST_FOR_USUAL = 3
#: Doubts that leave nothing to compute with.
IMPOSSIBLE = ("side_unknown", "time_not_a_number", "time_negative", "time_too_late", "time_out_of_order")


@dataclass(frozen=True)
class Contact:
    """One foot contact: ``side`` left or right, ``time_s`` from any zero.

    ``time_s`` is None when an instrument saw the contact but states no time.
    ``line`` is where it stands in a file, None for a tap.
    """

    side: str
    time_s: float | None
    line: int | None = None


@dataclass(frozen=True)
class Doubt:
    """Something odd: a stable ``code``, the contact it was found at, and figures.

    ``at`` counts contacts from 0; -1 means the row as a whole.  ``last`` is the
    other contact when two are concerned (a gap runs from ``at`` to ``last``).
    """

    code: str
    at: int
    last: int = -1
    figures: Mapping[str, Any] = field(default_factory=dict)

    @property
    def impossible(self) -> bool:
        """Return whether nothing may be computed from a row with this doubt."""
        return self.code in IMPOSSIBLE


def doubts_in(contacts: Sequence[Contact]) -> tuple[Doubt, ...]:
    """Return everything odd about initial contacts, in their order.

    Codes: side_unknown, time_not_a_number, time_negative, time_too_late,
    time_out_of_order (these are ``impossible``); time_missing, doubled,
    same_side_twice, long_gap, one_side_only.
    """
    impossible = _impossible(contacts)
    if impossible:
        return impossible
    found = [
        _doubt("time_missing", at, -1, contact)
        for at, contact in enumerate(contacts) if contact.time_s is None
    ]
    two_sided = len({contact.side for contact in contacts}) == 2
    if contacts and not two_sided:
        found.append(Doubt("one_side_only", -1, -1, {"side": contacts[0].side}))
    usual_s = usual_gap_s(contacts)
    for at in range(len(contacts) - 1):
        found.extend(_of_gap(contacts, at, usual_s, two_sided))
    return tuple(sorted(found, key=lambda doubt: (doubt.at, doubt.last)))


def usual_gap_s(contacts: Sequence[Contact]) -> float | None:
    """Return the median gap between neighbours in seconds, doubled taps left aside.

    With two sides only gaps from one side to the other count.  None when there
    are fewer than three of them.
    """
    two_sided = len({contact.side for contact in contacts}) == 2
    gaps = [
        later.time_s - earlier.time_s
        for earlier, later in zip(contacts, contacts[1:])
        if earlier.time_s is not None and later.time_s is not None
        and (earlier.side != later.side or not two_sided)
    ]
    usable = [gap for gap in gaps if gap >= DOUBLED_CLOSER_THAN_S]
    return median(usable) if len(usable) >= _FEWEST_FOR_USUAL else None


def refuse_impossible(contacts: Sequence[Contact], event: str = "initial") -> None:
    """Refuse a row with a time or side that can't be, naming the first one.

    ``event`` final: order is asked within each side only, since the end of one
    foot's stance may be stated after the other's.
    """
    found = [d for d in _impossible(contacts, by_side=event == "final") if d.impossible]
    if not found:
        return
    first = found[0]
    places = {"contact": first.at + 1, "line": contacts[first.at].line, "event": event}
    figures = {**first.figures, **{k: v for k, v in places.items() if v is not None}}
    if first.code == "side_unknown":
        raise Refusal("contact_side_unknown", **figures)
    if first.code == "time_not_a_number":
        raise Refusal("contact_time_not_a_number", **figures)
    if first.code == "time_negative":
        raise Refusal("contact_time_negative", **figures)
    if first.code == "time_too_late":
        raise Refusal("contact_time_too_late", **figures)
    raise Refusal("contact_out_of_order", **figures)


def _impossible(contacts: Sequence[Contact], by_side: bool = False) -> tuple[Doubt, ...]:
    found = []
    before: dict[str, float] = {}
    for at, contact in enumerate(contacts):
        if contact.side not in SIDES:
            found.append(_doubt("side_unknown", at, -1, contact))
        time_s = contact.time_s
        if time_s is None:
            continue
        if isinstance(time_s, bool) or not isinstance(time_s, (int, float)) or not math.isfinite(time_s):
            found.append(_doubt("time_not_a_number", at, -1, contact))
            continue
        if time_s < 0:
            found.append(_doubt("time_negative", at, -1, contact))
        if time_s > LATEST_S:
            found.append(_doubt("time_too_late", at, -1, contact, latest_s=LATEST_S))
        lane = contact.side if by_side else ""
        if lane in before and time_s < before[lane]:
            found.append(_doubt("time_out_of_order", at, -1, contact, before_s=before[lane]))
        before[lane] = max(time_s, before.get(lane, time_s))
    return tuple(found)


def _of_gap(contacts: Sequence[Contact], at: int, usual_s: float | None, two_sided: bool) -> list[Doubt]:
    earlier, later = contacts[at], contacts[at + 1]
    if earlier.time_s is None or later.time_s is None:
        return []
    gap_s = later.time_s - earlier.time_s
    if gap_s < DOUBLED_CLOSER_THAN_S:
        return [_doubt("doubled", at, at + 1, later, gap_s=gap_s, closer_than_s=DOUBLED_CLOSER_THAN_S)]
    found = []
    if two_sided and earlier.side == later.side:
        found.append(_doubt("same_side_twice", at, at + 1, later, gap_s=gap_s))
    elif usual_s is not None and gap_s > LONG_GAP_TIMES_USUAL * usual_s:
        found.append(_doubt("long_gap", at, at + 1, later, gap_s=gap_s, usual_s=usual_s))
    return found


def _doubt(code: str, at: int, last: int, contact: Contact, **figures: Any) -> Doubt:
    stated: dict[str, Any] = {"side": contact.side, "time_s": contact.time_s, "contact": at + 1}
    if contact.line is not None:
        stated["line"] = contact.line
    return Doubt(code, at, last, {**stated, **figures})
