"""Writing a clinic's whole record into an archive, and taking such an archive into a fresh store.

An archive holds the record alone: entries, signatures, photos.  Whoever takes
it has the same digests and verdicts, and enrols tablets and people anew.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, Iterator

from sqlalchemy import Connection, Row, Select, func, select

from shared_models.checks.picture_form import Looked, looked_at
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from shared_models.exports.archive import ArchiveRefusal, Contents, write_archive
from shared_models.exports.archive_reading import Archive, open_archive
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.attachment_tables import attachment_held
from shared_models.ledger.opening import program_version
from shared_models.ledger.held_attachments import note_held
from shared_models.ledger.rows import entry_of, signature_of
from shared_models.ledger.sealing import Plain
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.server_read_rows import rebuild
from shared_models.ledger.tables import entry as entry_table
from shared_models.ledger.tables import held as held_table
from shared_models.ledger.tables import signature as signature_table
from shared_models.quantities.moments import moment_text, now_here
from shared_models.verifying.archive import look_over_archive
from shared_models.wording.verifying import finding_sentence
from sync_server.services.attachment_files import AttachmentFiles
from sync_server.services.soundness import check
from sync_server.services.station import Station

_OPERATOR = "operator"
#: So many lines are read or stored at once.
_AT_ONCE = 500
_SHOWN = 16


@dataclass(frozen=True)
class Done:
    """What an archive holds; ``lacking`` and ``held``: how many items it leaves out."""

    clinic: str
    entries: int
    signatures: int
    photos: int
    lacking: int
    manifest_sha256: str
    held: int = 0


def write(station: Station, files: AttachmentFiles, clinic: str, path: Path) -> Done:
    """Write a clinic's archive; it gets its name when it was read back with every check.

    Refused: as ``write_archive``, ``archive_unsound``, and what ``check`` finds in the store.
    """
    if path.exists():
        raise ArchiveRefusal("archive_there", file=path.name)
    check(station.store)
    unfinished = path.with_name(f"{path.name}.{os.getpid()}.unfinished")
    try:
        with station.store.reading() as connection:
            held = _undecided(connection, clinic)
            _refuse_loose_signature(connection, clinic)
            write_archive(unfinished, _contents(connection, files, clinic))
        with open_archive(unfinished) as archive:
            _refuse_unsound(archive)
            done = _done(archive, held)
        _name(unfinished, path)
    finally:
        unfinished.unlink(missing_ok=True)
    station.audit.note([AuditRow(_OPERATOR, "archive", clinic, "", "written", "command")])
    return done


def take(station: Station, files: AttachmentFiles, archive: Archive) -> Done:
    """Take an archive into a store that holds no clinic: all of it in one transaction, or nothing.

    The store begins a new epoch, and this server's key is recorded on a chain of
    its own.  Refused: ``archive_unsound``, ``archive_over_clinic``, ``archive_file_changed``.
    """
    _refuse_unsound(archive)
    _refuse_clinic(station)
    station.store.begin_new_epoch()
    written: list[str] = []
    try:
        with station.writing(archive.clinic) as reading:
            if reading.clinics():
                raise ArchiveRefusal("archive_over_clinic")
            _take_lines(station, reading, archive)
            for sha256 in archive.photos:
                _take_photo(reading, files, archive, sha256, written)
            _introduce(station, reading)
            rebuild(reading.connection, reading, station.today())
            station.audit.note(
                [AuditRow(_OPERATOR, "take archive", archive.clinic, "", "stored", "command")],
                within=reading.connection,
            )
    except BaseException:
        for sha256 in written:
            files.drop(archive.clinic, sha256)
        raise
    return _done(archive)


def _take_lines(station: Station, reading: ClinicReading, archive: Archive) -> None:
    """Store entries, then the signatures over them, a few at a time."""
    entries, signatures = archive.entries(), archive.signatures()
    while few := list(islice(entries, _AT_ONCE)):
        station.keep(reading, few, fold=False)
        reading.forget_remembered()
    while few_signed := list(islice(signatures, _AT_ONCE)):
        station.keep(reading, (), few_signed, fold=False)
    reading.forget_common()


def _contents(connection: Connection, files: AttachmentFiles, clinic: str) -> Contents:
    """Give a clinic's record as it stands in this transaction: read line by line, not held."""
    mine = entry_table.c.clinic == clinic

    def entries(tablet: str) -> Iterator[Entry]:
        wanted = select(entry_table).where(mine, entry_table.c.tablet == tablet)
        for row in _few(connection, wanted.order_by(entry_table.c.number, entry_table.c.digest)):
            yield entry_of(row, Plain())

    def signatures(tablet: str) -> Iterator[Signature]:
        wanted = select(signature_table).join(entry_table, signature_table.c.signs == entry_table.c.digest)
        wanted = wanted.where(mine, signature_table.c.clinic == clinic, entry_table.c.tablet == tablet)
        order = (entry_table.c.number, signature_table.c.signs, signature_table.c.digest)
        for row in _few(connection, wanted.order_by(*order)):
            yield signature_of(row, Plain())

    tablets = connection.scalars(select(entry_table.c.tablet).where(mine).distinct())
    photos = connection.scalars(select(attachment_held.c.sha256).where(attachment_held.c.clinic == clinic))
    return Contents(
        clinic, tuple(sorted(tablets)), entries, signatures,
        {sha256: files.path(clinic, sha256) for sha256 in photos}, moment_text(now_here()), program_version(),
    )


def _few(connection: Connection, wanted: Select[Any]) -> Iterator[Row[Any]]:
    # Options that are set on the connection itself would stay with it.
    yield from connection.execute(wanted, execution_options={"yield_per": _AT_ONCE})


def _undecided(connection: Connection, clinic: str) -> int:
    return connection.scalar(select(func.count()).select_from(held_table).where(
        held_table.c.clinic == clinic, held_table.c.decided_at.is_(None)
    )) or 0


def _name(unfinished: Path, path: Path) -> None:
    """Give a finished archive its name, never that of a file that came meanwhile."""
    try:
        os.link(unfinished, path)
        handle = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except FileExistsError as error:
        raise ArchiveRefusal("archive_there", file=path.name) from error
    except OSError as error:
        raise ArchiveRefusal("archive_not_written", file=path.name) from error


def _refuse_loose_signature(connection: Connection, clinic: str) -> None:
    """A signature over an entry that is not there would be left out without a word."""
    loose = connection.scalar(
        select(signature_table.c.digest)
        .outerjoin(entry_table, signature_table.c.signs == entry_table.c.digest)
        .where(signature_table.c.clinic == clinic, entry_table.c.digest.is_(None)).limit(1)
    )
    if loose is not None:
        raise ArchiveRefusal("archive_unsound", finding=f"signature {loose[:_SHOWN]} signs an entry that is not there")


def _refuse_unsound(archive: Archive) -> None:
    found = look_over_archive(archive).findings
    if found:
        raise ArchiveRefusal("archive_unsound", finding=finding_sentence(found[0]).rstrip("."))


def _refuse_clinic(station: Station) -> None:
    if station.clinics():
        raise ArchiveRefusal("archive_over_clinic")


def _take_photo(
    reading: ClinicReading, files: AttachmentFiles, archive: Archive, sha256: str, written: list[str]
) -> None:
    """Put a photo beside the store as if it had been sent: whole and looked at."""
    data = archive.photo(sha256)
    stand = files.stand(archive.clinic, sha256)
    if not stand.whole:
        written.append(sha256)
        files.append(archive.clinic, sha256, stand.offset, data[stand.offset:])
    looked = files.finish(archive.clinic, sha256, looked_at)
    assert isinstance(looked, Looked)
    note_held(reading.connection, archive.clinic, sha256, len(data), looked)


def _introduce(station: Station, reading: ClinicReading) -> None:
    """Record this server's key, unless it is the key of the server that the archive came from."""
    if not any(e.kind == "tablet" for e in reading.of_subject("tablet", station.chain)):
        body = {"name": "Stancebook server", "public_key": station.public_key}
        station.record_facts(reading, [("tablet", Subject("tablet", station.chain), body)])


def _done(archive: Archive, held: int = 0) -> Done:
    return Done(
        archive.clinic, archive.entry_count, archive.signature_count, len(archive.photos),
        len(archive.lacking), archive.manifest_sha256, held,
    )
