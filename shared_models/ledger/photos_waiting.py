"""In which order photos go to a server: those of the newest signed fitting first.

Photos wait that were taken lately, so a tablet's own chain is read from its end
backwards, and no further than to the last one that waits; of the fittings only
those are asked about that these photos belong to.  So it costs the same
however much is held.
"""

from __future__ import annotations

from typing import Collection, Iterator

from sqlalchemy import Connection, func, select

from shared_models.checks.attached import named_bytes
from shared_models.entries.envelope import Entry
from shared_models.ledger.rows import entry_of
from shared_models.ledger.sealing import Codec
from shared_models.ledger.tables import entry

#: So many numbers of a chain are looked at at once, and so many fittings.
_AT_ONCE = 500


def in_order(
    connection: Connection, codec: Codec, clinic: str, tablet: str, waiting: Collection[str]
) -> list[str]:
    """Return those of the waiting digests that this tablet's entries name, as they go.

    The newest signed fitting first, then the fitting touched last; within one, as
    what they show was recorded.
    """
    left, found = set(waiting), []
    for photo in _newest_first(connection, codec, clinic, tablet):
        named = left.intersection(named_bytes(photo))
        if named:
            found.append(photo)
            left -= named
        if not left:
            break
    found.sort(key=lambda photo: photo.clock)
    fittings = sorted({photo.subject.id for photo in found})
    signed = _newest_clocks(connection, clinic, fittings, entry.c.kind == "sign_off")
    touched = _newest_clocks(connection, clinic, fittings)
    found.sort(key=lambda p: (signed.get(p.subject.id, ""), touched.get(p.subject.id, "")), reverse=True)
    wanted = set(waiting)
    return list(dict.fromkeys(name for photo in found for name in named_bytes(photo) if name in wanted))


def _newest_first(connection: Connection, codec: Codec, clinic: str, tablet: str) -> Iterator[Entry]:
    own = (entry.c.clinic == clinic, entry.c.tablet == tablet)
    end = connection.scalar(select(func.max(entry.c.number)).where(*own)) or 0
    while end > 0:
        rows = connection.execute(
            select(entry).where(*own, entry.c.number.between(end - _AT_ONCE + 1, end), entry.c.kind == "photo")
            .order_by(entry.c.number.desc())
        ).all()
        yield from (entry_of(row, codec) for row in rows)
        end -= _AT_ONCE


def _newest_clocks(connection: Connection, clinic: str, fittings: list[str], *more: object) -> dict[str, str]:
    """Return the clock of each fitting's newest entry."""
    found: dict[str, str] = {}
    for start in range(0, len(fittings), _AT_ONCE):
        found.update((row[0], row[1]) for row in connection.execute(
            select(entry.c.subject_id, func.max(entry.c.clock)).where(
                entry.c.clinic == clinic, entry.c.subject_type == "fitting",
                entry.c.subject_id.in_(fittings[start:start + _AT_ONCE]), *more,  # type: ignore[arg-type]
            ).group_by(entry.c.subject_id)
        ))
    return found
