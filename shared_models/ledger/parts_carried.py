"""Who carries a part or did: the question of the day of a field safety notice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping

from sqlalchemy import and_, or_, select

from shared_models.ledger.engine import Store
from shared_models.ledger.lead_queries import spelled
from shared_models.ledger.read_tables import read_component, read_fitting, read_person

#: More than these are not answered at once; who asks is told.
MOST = 2000
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


def parts_carried(store: Store, clinic: str, wanted: list[Mapping[str, str]]) -> list[PartCarried]:
    """Return parts of a clinic for which all of one of the wanted groups holds, those built in now first.

    Each group maps ``serial``, ``lot``, ``device_identifier`` or ``sheet`` to a
    value; capital and small letters are alike.  At most ``MOST`` + 1 are returned.
    """
    groups = [
        and_(*(_COLUMNS[name].in_(spelled(value)) for name, value in group.items()))
        for group in wanted if group
    ]
    if not groups:
        return []
    query = (
        select(
            read_component, read_person.c.name, read_person.c.born_on,
            read_person.c.identifier, read_fitting.c.side,
        )
        .join(read_fitting, (read_fitting.c.fitting == read_component.c.fitting)
              & (read_fitting.c.clinic == read_component.c.clinic))
        .outerjoin(read_person, (read_person.c.person == read_component.c.person)
                   & (read_person.c.clinic == read_component.c.clinic))
        .where(read_component.c.clinic == clinic, or_(*groups))
        .order_by(read_component.c.built_in.desc(), read_person.c.name, read_component.c.happened_at,
                  read_component.c.digest)
        .limit(MOST + 1)
    )
    with store.reading() as connection:
        rows = connection.execute(query).all()
    return [
        PartCarried(
            row.fitting, row.person, row.name or "", row.born_on or "", row.identifier or "", row.side or "",
            row.place, row.sheet or "", row.sheet_version or "", row.serial or "", row.lot or "",
            row.device_identifier or "", bool(row.built_in), row.happened_at, row.digest,
        )
        for row in rows
    ]
