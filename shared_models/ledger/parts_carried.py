"""Who carries a part or did: the question of the day of a field safety notice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Iterator, Mapping

from sqlalchemy import ColumnElement, Select, and_, func, or_, select

from shared_models.ledger.engine import Store
from shared_models.ledger.lead_queries import spelled
from shared_models.ledger.read_tables import read_component, read_fitting, read_person

#: So many lines stand on a page; who asks is told how many there are, and the call list has all.
MOST = 200
_AT_ONCE = 1000
_COLUMNS = {
    "serial": read_component.c.serial, "lot": read_component.c.lot,
    "device_identifier": read_component.c.device_identifier, "sheet": read_component.c.sheet,
}


@dataclass(frozen=True)
class PartCarried:
    """A part of somebody's leg; "" where nothing is recorded."""

    fitting: str
    person: str
    name: str
    born_on: str
    file_number: str
    side: str
    place: str
    sheet: str
    sheet_version: str
    serial: str
    lot: str
    device_identifier: str
    built_in: bool
    happened_at: str
    #: The entry by which it was built in.
    digest: str = ""
    telephone: str = ""


@dataclass(frozen=True)
class Carried:
    """What a search by part finds: how many are built in now and were before, and the first lines of it."""

    now: int
    before: int
    parts: tuple[PartCarried, ...]

    @property
    def more(self) -> bool:
        """Whether there are more lines than these."""
        return self.now + self.before > len(self.parts)


def parts_carried(store: Store, clinic: str, wanted: list[Mapping[str, str]], most: int = MOST) -> Carried:
    """Return parts of a clinic for which all of one of the wanted groups holds, those built in now first.

    Each group maps ``serial``, ``lot``, ``device_identifier`` or ``sheet`` to a
    value; capital and small letters are alike.  At most ``most`` lines are read.
    """
    where = _holds(clinic, wanted)
    if where is None:
        return Carried(0, 0, ())
    with store.reading() as connection:
        rows = connection.execute(_asked(where).limit(most)).all()
        if len(rows) < most:
            now = sum(bool(row.built_in) for row in rows)
            return Carried(now, len(rows) - now, tuple(_part(row) for row in rows))
        counted: dict[bool, int] = {bool(built_in): count for built_in, count in connection.execute(
            select(read_component.c.built_in, func.count()).where(where).group_by(read_component.c.built_in)
        )}
    return Carried(counted.get(True, 0), counted.get(False, 0), tuple(_part(row) for row in rows))


def every_part(store: Store, clinic: str, wanted: list[Mapping[str, str]]) -> Iterator[PartCarried]:
    """Give every line, in the same order and at one moment, without holding all of them."""
    where = _holds(clinic, wanted)
    if where is None:
        return
    with store.reading() as connection:
        for row in connection.execution_options(yield_per=_AT_ONCE).execute(_asked(where)):
            yield _part(row)


def _holds(clinic: str, wanted: list[Mapping[str, str]]) -> ColumnElement[bool] | None:
    groups = [
        and_(*(_COLUMNS[name].in_(spelled(value)) for name, value in group.items()))
        for group in wanted if group
    ]
    return and_(read_component.c.clinic == clinic, or_(*groups)) if groups else None


def _asked(where: ColumnElement[bool]) -> Select[Any]:
    return (
        select(
            read_component, read_person.c.name, read_person.c.born_on,
            read_person.c.identifier, read_person.c.telephone, read_fitting.c.side,
        )
        .join(read_fitting, (read_fitting.c.fitting == read_component.c.fitting)
              & (read_fitting.c.clinic == read_component.c.clinic))
        .outerjoin(read_person, (read_person.c.person == read_component.c.person)
                   & (read_person.c.clinic == read_component.c.clinic))
        .where(where)
        .order_by(read_component.c.built_in.desc(), read_person.c.name, read_component.c.happened_at,
                  read_component.c.digest)
    )


def _part(row: Any) -> PartCarried:
    return PartCarried(
        row.fitting, row.person, row.name or "", row.born_on or "", row.identifier or "", row.side or "",
        row.place, row.sheet or "", row.sheet_version or "", row.serial or "", row.lot or "",
        row.device_identifier or "", bool(row.built_in), row.happened_at, row.digest,
        row.telephone or "",
    )
