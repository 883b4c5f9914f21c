"""What entries and signatures that come in may change: which fittings, and which people's.

The fittings that they are about, and those beside them, are few.  A name, a
role, a key or a voucher can concern every fitting of a clinic: of these only
the people are told, and ``judging_anew`` knows which fittings rest on them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Collection, Iterable

from sqlalchemy import and_, select

from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import Signature
from shared_models.ledger.fingerprints import AT_ONCE
from shared_models.ledger.read_tables import read_fitting
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.tables import entry as entry_table


@dataclass(frozen=True)
class Touched:
    """Fittings touched themselves; staff and sheets that any number of fittings may rest on."""

    fittings: frozenset[str]
    staff: frozenset[str]
    sheets: frozenset[str]


def touched_by(
    reading: ClinicReading, entries: Iterable[Entry], signatures: Iterable[Signature] = ()
) -> Touched:
    """Return what these items, which are stored already, may change."""
    subjects = {(e.subject.type, e.subject.id) for e in entries}
    subjects |= _subjects_of(reading, {s.signs for s in signatures if s.signer_type == "staff"})
    fittings: set[str] = set()
    for type_, id_ in sorted(subjects):
        if type_ == "fitting":
            fittings |= {id_, *_beside(reading, id_)}
        elif type_ == "person":
            fittings.update(reading.fittings_of(id_))
    return Touched(
        frozenset(fittings),
        frozenset(_vouched_through(reading, {id_ for type_, id_ in subjects if type_ == "staff"})),
        frozenset(id_ for type_, id_ in subjects if type_ == "component_sheet"),
    )


def _beside(reading: ClinicReading, fitting: str) -> list[str]:
    """The person's other fittings and visits: a visit starts from the one before it."""
    own = read_fitting.alias("own")
    return list(reading.connection.scalars(
        select(read_fitting.c.fitting).join(own, and_(
            own.c.clinic == read_fitting.c.clinic, own.c.person == read_fitting.c.person,
        )).where(
            own.c.clinic == reading.clinic, own.c.fitting == fitting, own.c.person != "",
            read_fitting.c.fitting != fitting,
        )
    ))


def _vouched_through(reading: ClinicReading, people: set[str]) -> set[str]:
    """These people, and whoever they vouched for, and so on: a voucher counts by its author's role and key."""
    found = set(people)
    vouches = [e for e in reading.common() if e.kind == "key_vouched"] if people else []
    grown = True
    while grown:
        more = {e.subject.id for e in vouches if e.recorded_by in found} - found
        found, grown = found | more, bool(more)
    return found


def _subjects_of(reading: ClinicReading, digests: Collection[str]) -> set[tuple[str, str]]:
    found: set[tuple[str, str]] = set()
    asked = sorted(digests)
    for start in range(0, len(asked), AT_ONCE):
        rows = reading.connection.execute(
            select(entry_table.c.subject_type, entry_table.c.subject_id)
            .where(
                entry_table.c.clinic == reading.clinic,
                entry_table.c.digest.in_(asked[start:start + AT_ONCE]),
            )
        )
        found.update((row.subject_type, row.subject_id) for row in rows)
    return found
