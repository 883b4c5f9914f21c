"""The lead clinician's list as SQL: each part by an index, counted, searched and read page by page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Collection, Sequence

from sqlalchemy import ColumnElement, Connection, Select, and_, case, func, or_, select, tuple_, union

from shared_models.checks.lead_list import ACCEPTED, IN_PROGRESS, RETURNED, WAITING
from shared_models.ledger.read_tables import (
    judge_anew,
    read_component,
    read_fitting,
    read_person,
    read_person_word,
    read_standing,
)

EVENTS, DOUBLE, OVERDUE = "events", "double", "overdue"
_LAST_LETTER = "\U0010ffff"
FEW = 500
#: The newest first; in every other part what has waited longest.
NEWEST_FIRST = (IN_PROGRESS, ACCEPTED)


@dataclass(frozen=True)
class Word:
    """One word of a search, folded; ``typed`` as it was typed; who and which sheets are called so."""

    folded: str
    typed: str
    staff: Collection[str] = ()
    sheets: Collection[str] = ()


@dataclass(frozen=True)
class Wanted:
    """What is looked for in a clinic's list on a day; every word must fit, and whose it is."""

    clinic: str
    today: date
    words: Sequence[Word] = ()
    prosthetist: str = ""
    #: The fittings that the words found, where they are few: they need not be looked for again.
    few: Sequence[str] | None = None


@dataclass(frozen=True)
class Line:
    """A fitting of the list; "" where nothing is recorded.  ``place`` is what it is sorted by.

    ``disputed_since`` and ``waits_since`` are moments in UTC, ``review_awaited_on``
    and ``event_open_since`` ISO days, ``prosthetist`` a staff id.
    """

    fitting: str
    place: str
    name: str
    born_on: str
    file_number: str
    side: str
    prosthetist: str
    standing: str
    waits_since: str
    disputed: int
    disputed_since: str
    review_awaited_on: str
    open_events: int
    serious_events: int
    event_open_since: str
    state: str
    review: str
    changed: bool
    missing: int
    last_entry_at: str
    #: Whether it is still to be judged anew: what stands here may be out of date.
    judged_anew: bool = False


def looked_for(connection: Connection, wanted: Wanted) -> Wanted:
    """Look for the words once, so that counts and parts need not each do it again; many stay words."""
    if not wanted.words:
        return wanted
    asked = select(read_standing.c.fitting).where(read_standing.c.clinic == wanted.clinic)
    for word in wanted.words:
        asked = asked.where(read_standing.c.fitting.in_(_named(word, wanted.clinic)))
    found = connection.scalars(asked.limit(FEW + 1)).all()
    return replace(wanted, few=found) if len(found) <= FEW else wanted


def counts(connection: Connection, wanted: Wanted) -> dict[str, int]:
    """Return how many fittings each part has: the four groups, open events, double corrections, overdue reviews."""
    groups = (WAITING, RETURNED, IN_PROGRESS, ACCEPTED)
    if wanted.words:  # looked for once for all parts; without words each part is counted along its index
        each = [func.count(case((_in_part(part, wanted), 1))) for part in (*groups, EVENTS, DOUBLE, OVERDUE)]
        row = connection.execute(_found(select(*each).select_from(read_standing), wanted)).one()
        return dict(zip((*groups, EVENTS, DOUBLE, OVERDUE), row))
    by_group: dict[str, int] = dict(connection.execute(  # type: ignore[arg-type]
        _found(select(read_standing.c.standing, func.count()), wanted).group_by(read_standing.c.standing)
    ).all())
    found = {group: by_group.get(group, 0) for group in groups}
    for part in (EVENTS, DOUBLE, OVERDUE):
        asked = _found(select(func.count()).select_from(read_standing), wanted)
        found[part] = connection.scalar(asked.where(_in_part(part, wanted))) or 0
    return found


def lines(
    connection: Connection, wanted: Wanted, part: str, most: int, after: tuple[str, str] | None = None
) -> list[Line]:
    """Return at most ``most`` lines of a part, those that come behind ``after`` (place, fitting)."""
    return [_line(row) for row in connection.execute(asked_for(wanted, part, most, after))]


def asked_for(wanted: Wanted, part: str, most: int, after: tuple[str, str] | None) -> Select[Any]:
    """Return what ``lines`` asks the store."""
    place = _place(part)
    asked = _found(
        select(
            read_standing, place.label("place"), read_person.c.name, read_person.c.born_on,
            read_person.c.identifier, read_fitting.c.side, read_fitting.c.last_entry_at,
            judge_anew.c.subject.label("marked"),
        )
        .join(read_fitting, (read_fitting.c.clinic == read_standing.c.clinic)
              & (read_fitting.c.fitting == read_standing.c.fitting))
        .outerjoin(read_person, (read_person.c.clinic == read_standing.c.clinic)
                   & (read_person.c.person == read_standing.c.person))
        .outerjoin(judge_anew, (judge_anew.c.clinic == read_standing.c.clinic)
                   & (judge_anew.c.sort == "fitting") & (judge_anew.c.subject == read_standing.c.fitting)), wanted,
    ).where(_in_part(part, wanted))
    order = (place, read_standing.c.fitting)
    newest_first = part in NEWEST_FIRST
    if after is not None:
        here = tuple_(*order)
        asked = asked.where(here < after if newest_first else here > after)
    return asked.order_by(*(c.desc() if newest_first else c for c in order)).limit(most)


def prosthetists(connection: Connection, clinic: str) -> list[str]:
    """Return the staff ids of the clinic's prosthetists, each found by one step along the index."""
    found: list[str] = []
    while True:
        nearest = connection.scalar(select(func.min(read_standing.c.prosthetist)).where(
            read_standing.c.clinic == clinic, read_standing.c.prosthetist > (found[-1] if found else "")
        ))
        if nearest is None:
            return found
        found.append(nearest)


def _place(part: str) -> ColumnElement[Any]:
    columns = {EVENTS: read_standing.c.event_open_since, DOUBLE: read_standing.c.disputed_since, OVERDUE: read_standing.c.review_awaited_on}
    return columns.get(part, read_standing.c.since)


def _in_part(part: str, wanted: Wanted) -> ColumnElement[bool]:
    if part == EVENTS:
        return read_standing.c.event_open_since > ""
    if part == DOUBLE:
        return read_standing.c.disputed_since > ""
    if part == OVERDUE:
        return read_standing.c.review_awaited_on < wanted.today.isoformat()
    return read_standing.c.standing == part


def _found(asked: Select[Any], wanted: Wanted) -> Select[Any]:
    asked = asked.where(read_standing.c.clinic == wanted.clinic)
    if wanted.prosthetist:
        asked = asked.where(read_standing.c.prosthetist == wanted.prosthetist)
    if wanted.few is not None:
        return asked.where(read_standing.c.fitting.in_(wanted.few))
    for word in wanted.words:
        asked = asked.where(read_standing.c.fitting.in_(_named(word, wanted.clinic)))
    return asked


def _named(word: Word, clinic: str) -> Any:
    """The fittings that a word finds: by person, by id, by prosthetist, by component."""
    one = read_standing.alias()
    people = select(read_person_word.c.person).where(
        read_person_word.c.clinic == clinic, _begins(read_person_word.c.word, word.folded)
    )
    component = [read_component.c.serial.in_(spelled(word.typed)), read_component.c.lot.in_(spelled(word.typed))]
    if word.sheets:
        component.append(read_component.c.sheet.in_(sorted(word.sheets)))
    ways = [
        select(one.c.fitting).where(one.c.clinic == clinic, one.c.person.in_(people)),
        select(one.c.fitting).where(one.c.clinic == clinic, _begins(one.c.fitting, word.folded)),
        select(read_component.c.fitting).where(read_component.c.clinic == clinic, or_(*component)),
    ]
    if word.staff:
        ways.append(select(one.c.fitting).where(one.c.clinic == clinic, one.c.prosthetist.in_(sorted(word.staff))))
    return union(*ways)


def _begins(column: ColumnElement[Any], text: str) -> ColumnElement[bool]:
    """By its beginning, as a stretch of the index: both databases compare text by its bytes."""
    return and_(column >= text, column < text + _LAST_LETTER)


def spelled(value: str) -> list[str]:
    """A value as typed, in capitals and in small letters: an index finds these, and no pattern."""
    return sorted({value, value.upper(), value.lower()})


def _line(row: Any) -> Line:
    return Line(
        row.fitting, row.place, row.name or "", row.born_on or "", row.identifier or "", row.side or "",
        row.prosthetist or "", row.standing, row.since, row.disputed, row.disputed_since or "",
        row.review_awaited_on or "", row.open_events, row.serious_events, row.event_open_since or "",
        row.state, row.review, bool(row.changed), row.missing, row.last_entry_at, row.marked is not None,
    )
