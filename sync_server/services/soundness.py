"""Whether a server's store is what it says: read only, while others may write.

Looks at everything in one snapshot: the database's own pages and references,
each entry's and signature's digest, the columns beside it, each chain, each
signature, and that every number of a clinic's sequence is there once.  A few
rows at a time and no further than the first fault: what backups, restores and
archives ask before they go on.  ``stancebook verify`` asks more: whose keys
they are, whether all leads up to signed ends, whether photos are what they
were; it names everything that is wrong, and keeps a line of notes on each entry.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Iterator

from sqlalchemy import Connection, Row, select

from shared_models.exchange.chains import PlainRow, verify_chain
from shared_models.ledger.engine import Store
from shared_models.ledger.faults_of_storage import StoreRefusal
from shared_models.ledger.fingerprints import fingerprint_of
from shared_models.ledger.raw_rows import file_troubles
from shared_models.ledger.rows import entry_of, signature_of
from shared_models.ledger.sealing import Plain
from shared_models.ledger.tables import clinic_sequence
from shared_models.ledger.tables import entry as entry_table
from shared_models.ledger.tables import signature as signature_table
from shared_models.quantities.refusals import Refusal
from shared_models.verifying.store import columns_that_differ

_AT_ONCE = 500
_SHOWN = 16


class UnsoundRefusal(Refusal):
    """Something in a store is not what it was: ``store_unsound`` (figure ``finding``)."""


@dataclass(frozen=True)
class ClinicCount:
    """What a store holds of a clinic."""

    entries: int
    signatures: int
    last: int
    fingerprint: str


def check(store: Store) -> dict[str, ClinicCount]:
    """Return what the store holds by clinic; raise UnsoundRefusal at the first fault."""
    try:
        with store.at_one_moment(), store.reading() as connection:
            for trouble in file_troubles(store):
                raise UnsoundRefusal("store_unsound", finding=trouble)
            clinics = connection.scalars(
                select(entry_table.c.clinic).union(
                    select(signature_table.c.clinic), select(clinic_sequence.c.clinic)
                )
            ).all()
            return {clinic: _check_clinic(connection, clinic) for clinic in sorted(clinics)}
    except StoreRefusal as refusal:
        named = str(refusal.figures.get("digest", refusal.figures.get("finding", refusal.code)))
        raise UnsoundRefusal("store_unsound", finding=f"damaged: {named[:_SHOWN]}") from refusal


def _check_clinic(connection: Connection, clinic: str) -> ClinicCount:
    numbers: list[int] = []
    digests: list[str] = []
    entries = signatures = 0
    chain, of_tablet = [], ""
    for row in _rows(connection, entry_table, clinic, "tablet", "number", "digest"):
        found = entry_of(row, Plain())
        if columns_that_differ(found, row._mapping):
            raise UnsoundRefusal("store_unsound", finding=f"columns beside {row.digest[:_SHOWN]} differ")
        if row.tablet != of_tablet:
            _check_chain(clinic, of_tablet, chain)
            chain, of_tablet = [], row.tablet
        chain.append(PlainRow(row.number, row.digest, row.content))
        numbers.append(row.server_sequence)
        digests.append(row.digest)
        entries += 1
    _check_chain(clinic, of_tablet, chain)
    for row in _rows(connection, signature_table, clinic, "digest"):
        if not signature_of(row, Plain()).is_valid():
            raise UnsoundRefusal("store_unsound", finding=f"signature {row.digest[:_SHOWN]} does not verify")
        numbers.append(row.server_sequence)
        digests.append(row.digest)
        signatures += 1
    last = connection.scalar(
        select(clinic_sequence.c.last).where(clinic_sequence.c.clinic == clinic)
    ) or 0
    if sorted(numbers) != list(range(1, last + 1)):
        raise UnsoundRefusal("store_unsound", finding=f"the sequence of {clinic} has a gap or ends early")
    return ClinicCount(entries, signatures, last, fingerprint_of(digests))


def _check_chain(clinic: str, tablet: str, rows: list[PlainRow]) -> None:
    bad = verify_chain(rows)
    if bad is not None:
        raise UnsoundRefusal(
            "store_unsound", finding=f"entry {bad.number} of {tablet} in {clinic}: {bad.code}"
        )


def _rows(connection: Connection, table: Any, clinic: str, *order: str) -> Iterator[Row[Any]]:
    """Give a clinic's rows a few at a time, so that a big store needs little memory."""
    wanted = select(table).where(table.c.clinic == clinic).order_by(*(table.c[name] for name in order))
    yield from connection.execute(wanted, execution_options={"yield_per": _AT_ONCE})
