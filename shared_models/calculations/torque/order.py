"""Which screw comes next: opposing set screws crosswise, or as the sheet says.

Common practice: screws that press on one pyramid from opposite sides are
tightened in opposing pairs, so that the first of a pair is not left pushing the
alignment over while others are turned.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Collection, Sequence


@dataclass(frozen=True)
class Place:
    """A screw's place: ``order`` from 1 (None where the sheet has none), ``opposes`` a key."""

    key: str
    order: int | None = None
    opposes: str = ""


def crosswise(screws: Sequence[Place], first: str = "") -> tuple[str, ...]:
    """Return the order in which screws of one part are tightened; () where none is known.

    The sheet's own ``order`` wins.  Otherwise opposing pairs follow each other:
    of four screws front, left, back, right that is front, back, left, right.
    ``first`` begins with another screw.  A screw without order and without an
    opposite comes last, as listed.
    """
    if any(s.order is not None for s in screws):
        listed = [s.key for s in screws]
        ordered = sorted((s for s in screws if s.order is not None), key=lambda s: (s.order, listed.index(s.key)))
        return tuple(s.key for s in (*ordered, *(s for s in screws if s.order is None)))
    partner = partners(screws)
    if not partner:
        return ()
    keys = [s.key for s in screws]
    if first in keys:
        keys.insert(0, keys.pop(keys.index(first)))
    found: list[str] = []
    for key in keys:
        if key not in found and key in partner:
            found += [key, partner[key]]
    return (*found, *(k for k in keys if k not in found))


def partners(screws: Sequence[Place]) -> dict[str, str]:
    """Return each screw's opposite, said on either of the two."""
    keys, found = {s.key for s in screws}, {}
    for screw in screws:
        if screw.opposes in keys and screw.opposes != screw.key:
            found.setdefault(screw.key, screw.opposes)
            found.setdefault(screw.opposes, screw.key)
    return found


def skipped_before(screws: Sequence[Place], key: str, done: Collection[str]) -> tuple[str, ...]:
    """Return the screws that should have been tightened before ``key`` and were not.

    With the sheet's ``order``: every screw with a lower one.  With opposing
    pairs: the opposite of each screw begun before, other than ``key``'s own.
    """
    own = next((s for s in screws if s.key == key), None)
    if own is None:
        return ()
    if any(s.order is not None for s in screws):
        if own.order is None:
            return ()
        return tuple(
            s.key for s in screws
            if s.order is not None and s.order < own.order and s.key not in done
        )
    partner = partners(screws)
    return tuple(
        partner[s.key] for s in screws
        if s.key in done and s.key != key and partner.get(s.key, key) != key
        and partner[s.key] not in done
    )
