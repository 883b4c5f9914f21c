"""Folding a fitting from a server's store, within an open transaction.

A fitting's record is its own entries, those of the person it is for, the
component sheets it names, and the clinic's staff and keys.  Reading within the
transaction that stores new entries keeps verdict and read tables in step with
them, also when several processes write.
"""

from __future__ import annotations

from typing import Any, Collection, Iterable

from sqlalchemy import Connection, Select, select

from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.entries.signatures import Signature
from shared_models.ledger.fingerprints import AT_ONCE
from shared_models.ledger.postgres import hold_names
from shared_models.ledger.read_tables import read_fitting
from shared_models.ledger.rows import entry_kept_plain, entry_of, signature_of
from shared_models.ledger.sealing import Codec, Plain
from shared_models.ledger.store import _hold_sequence
from shared_models.ledger.tables import clinic_sequence
from shared_models.ledger.tables import entry as entry_table
from shared_models.ledger.tables import signature as signature_table

_COMMON = ("clinic", "staff", "tablet")


class ClinicReading:
    """What one clinic's part of the store says, read through ``connection``."""

    def __init__(self, connection: Connection, codec: Codec, clinic: str) -> None:
        self.connection = connection
        self.clinic = clinic
        self._codec = codec
        self._common: list[Entry] | None = None
        self._remembered: dict[str, Entry] = {}

    def hold(self) -> None:
        """Make other writers of this clinic wait until the transaction ends."""
        _hold_sequence(self.connection, self.clinic)
        self.forget_common()

    def forget_common(self) -> None:
        """Read anew what the clinic holds in common: some of it was just added."""
        self._common = None

    def remember(self, entries: Iterable[Entry]) -> None:
        """Keep what this transaction stored, so that it need not be read from its bytes again."""
        self._remembered.update((e.digest, e) for e in entries)

    def forget_remembered(self) -> None:
        """Let go of what was kept by ``remember``, where very much is stored at once."""
        self._remembered.clear()

    def clinics(self) -> list[str]:
        """Return the ids of all clinics that have entries."""
        return list(self.connection.scalars(
            select(entry_table.c.clinic).distinct().order_by(entry_table.c.clinic)
        ))

    def common(self) -> list[Entry]:
        """Return the clinic's own entries, its staff's and its tablets'."""
        if self._common is None:
            self._common = self._entries(
                self._mine().where(entry_table.c.subject_type.in_(_COMMON))
            )
        return self._common

    def of_kinds(self, *kinds: str) -> list[Entry]:
        """Return the clinic's entries of some kinds."""
        return self._entries(self._mine().where(entry_table.c.kind.in_(kinds)))

    def sheets(self) -> list[Entry]:
        """Return every version of the clinic's component sheets: found by their subject, which has an index."""
        return self._entries(self._mine().where(
            entry_table.c.subject_type == "component_sheet", entry_table.c.kind == "component_sheet"
        ))

    def of_subject(self, type_: str, id_: str) -> list[Entry]:
        """Return the clinic's entries about one subject."""
        return self._entries(self._mine().where(
            entry_table.c.subject_type == type_, entry_table.c.subject_id == id_
        ))

    def of_digests(self, digests: Collection[str]) -> list[Entry]:
        """Return the clinic's entries of these digests, in no particular order."""
        asked, found = sorted(digests), []
        for start in range(0, len(asked), AT_ONCE):
            found += self._entries(self._mine().where(entry_table.c.digest.in_(asked[start:start + AT_ONCE])))
        return found

    def staff_record(self) -> Record:
        """Return the record of what the clinic holds in common."""
        record = Record()
        common = self.common()
        record.add(common, self._signatures_over([e.digest for e in common if e.kind == "key_vouched"]))
        return record

    def view(self, fitting: str) -> FittingView | None:
        """Return one fitting, None when the clinic has no entry of it."""
        own = self.of_subject("fitting", fitting)
        if not own:
            return None
        record, read = self.staff_record(), {fitting}
        while own:
            record.add(own, self._signatures_over([e.digest for e in own]))
            record.add(self._sheets(_sheets_named(own)))
            for person in _named(own, "person"):
                record.add(self.of_subject("person", person))
            # A visit starts from the one before it.
            before = [id_ for id_ in _named(own, "after") if id_ not in read]
            read.update(before)
            own = [e for id_ in before for e in self.of_subject("fitting", id_)]
        return FittingView(record, fitting)

    def identity(self, person: str) -> Record:
        """Return the record of one person's own entries."""
        record = Record()
        record.add(self.of_subject("person", person))
        return record

    def subjects(self, type_: str) -> list[str]:
        """Return the ids of the clinic's subjects of one type, sorted."""
        return list(self.connection.scalars(
            select(entry_table.c.subject_id)
            .where(
                entry_table.c.clinic == self.clinic,
                entry_table.c.subject_type == type_,
            )
            .distinct().order_by(entry_table.c.subject_id)
        ))

    def chain_end(self, tablet: str) -> tuple[int, str]:
        """Return number and digest of a chain's last entry; (0, "") if none."""
        row = self.connection.execute(
            select(entry_table.c.number, entry_table.c.digest)
            .where(
                entry_table.c.clinic == self.clinic, entry_table.c.tablet == tablet
            )
            .order_by(entry_table.c.number.desc(), entry_table.c.digest).limit(1)
        ).one_or_none()
        return (0, "") if row is None else (row.number, row.digest)

    def newest_clock(self, no_later_than: str) -> str | None:
        """Return the clinic's newest clock reading that is not wildly wrong."""
        return self.connection.scalar(
            select(entry_table.c.clock)
            .where(entry_table.c.clinic == self.clinic, entry_table.c.clock <= no_later_than)
            .order_by(entry_table.c.clock.desc()).limit(1)
        )

    def last_sequence(self) -> int:
        """Return the newest sequence number given in the clinic."""
        return self.connection.scalar(
            select(clinic_sequence.c.last).where(clinic_sequence.c.clinic == self.clinic)
        ) or 0

    def of_other_clinics(self, subjects: Collection[tuple[str, str]]) -> set[tuple[str, str]]:
        """Return which of these subjects already belong to another clinic.

        Until the transaction ends nobody else can give them to a clinic.
        """
        new = set(subjects) - self._belonging(subjects, entry_table.c.clinic == self.clinic)
        hold_names(self.connection, [f"{type_}/{id_}" for type_, id_ in new])
        return self._belonging(subjects, entry_table.c.clinic != self.clinic)

    def _belonging(self, subjects: Collection[tuple[str, str]], where: Any) -> set[tuple[str, str]]:
        found: set[tuple[str, str]] = set()
        for type_ in sorted({type_ for type_, _ in subjects}):
            ids = sorted(id_ for other, id_ in subjects if other == type_)
            for start in range(0, len(ids), AT_ONCE):
                found.update((type_, id_) for id_ in self.connection.scalars(
                    select(entry_table.c.subject_id).where(
                        where, entry_table.c.subject_type == type_,
                        entry_table.c.subject_id.in_(ids[start:start + AT_ONCE]),
                    ).distinct()
                ))
        return found

    def fittings_of(self, person: str) -> list[str]:
        """Return the fittings that the read tables know of a person."""
        return self._fittings(read_fitting.c.person == person)

    def _fittings(self, condition: Any) -> list[str]:
        return list(self.connection.scalars(
            select(read_fitting.c.fitting)
            .where(read_fitting.c.clinic == self.clinic, condition)
            .order_by(read_fitting.c.fitting)
        ))

    def _mine(self) -> Select[Any]:
        wanted = select(entry_table.c.digest, entry_table.c.content)
        return wanted.where(entry_table.c.clinic == self.clinic).order_by(
            entry_table.c.clock, entry_table.c.tablet, entry_table.c.number,
            entry_table.c.digest,
        )

    def _entries(self, wanted: Select[Any]) -> list[Entry]:
        rows = self.connection.execute(wanted).all()
        if isinstance(self._codec, Plain):
            return [self._kept(digest, content) for digest, content in rows]
        return [entry_of(row, self._codec) for row in rows]

    def _kept(self, digest: str, content: bytes) -> Entry:
        """Return the entry of a row; a remembered one where the row holds the very bytes of it."""
        known = self._remembered.get(digest)
        return known if known and known.plaintext() == content else entry_kept_plain(digest, content)

    def _sheets(self, digests: Collection[str]) -> list[Entry]:
        asked, found = sorted(digests), []
        for start in range(0, len(asked), AT_ONCE):
            found += self._entries(self._mine().where(
                entry_table.c.subject_type == "component_sheet",
                entry_table.c.digest.in_(asked[start:start + AT_ONCE]),
            ))
        return found

    def _signatures_over(self, digests: list[str]) -> list[Signature]:
        found: list[Signature] = []
        for start in range(0, len(digests), AT_ONCE):
            rows = self.connection.execute(select(signature_table).where(
                signature_table.c.signs.in_(digests[start:start + AT_ONCE])
            )).all()
            found.extend(signature_of(row, self._codec) for row in rows)
        return found


def _named(entries: Iterable[Entry], field: str) -> list[str]:
    """The people, or the visits before, that an opening names."""
    named = {str(e.body.get(field) or "") for e in entries if e.kind == "opened"}
    return sorted(named - {""})


def _sheets_named(entries: Iterable[Entry]) -> set[str]:
    named: set[str] = set()
    for entry in entries:
        if entry.kind == "component":
            named |= {str(entry.body.get("sheet_digest", "")), *entry.rests_on}
    return named
