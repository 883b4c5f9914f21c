"""Photos' bytes in and out, per clinic, in a lane of their own.

Only a hash that an entry of the clinic names is taken or given: entries go
first, so bytes that nobody names have no business here, and a hash alone opens
nothing.  Nothing here holds a clinic's writers while bytes travel.
"""

from __future__ import annotations

import re
from pathlib import Path

from shared_models.checks.picture_form import Looked, looked_at, refuse_size
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.held_attachments import (
    all_held,
    fittings_naming,
    forget_held,
    held,
    note_held,
)
from shared_models.ledger.server_read_rows import keep_read_rows
from shared_models.ledger.tablet_access import Access
from shared_models.quantities.refusals import Refusal
from sync_server.services.attachment_files import AttachmentFiles, Stand, UploadRefusal
from sync_server.services.station import Station

_SHA256 = re.compile(r"[0-9a-f]{64}")


class AttachmentLane:
    """The lane of one server."""

    def __init__(self, station: Station, files: AttachmentFiles) -> None:
        self._station = station
        self.files = files

    def stand(self, access: Access, sha256: str) -> Stand:
        """Return how far bytes have come; refused ``attachment_not_named``.

        Whole is only what the store says is whole: a server killed between the
        file's name and that finishes here.
        """
        self._refuse_unnamed(access, sha256)
        found = self.files.stand(access.clinic, sha256)
        if found.whole and not self._is_held(access.clinic, sha256):
            self._finish(access, sha256, None, "")
        return found

    def take(
        self, access: Access, sha256: str, offset: int, data: bytes, *,
        last: bool, length: int | None, from_where: str,
    ) -> Stand:
        """Add bytes at an offset; with the ``last`` ones look at the whole and name it.

        Refused: as ``AttachmentFiles.append`` and ``finish``, PictureForm, and
        ``attachment_not_named``.
        """
        self._refuse_unnamed(access, sha256)
        refuse_size(max(length or 0, offset + len(data)))
        stand = self.files.append(access.clinic, sha256, offset, data)
        if not last:
            return stand
        self._finish(access, sha256, length, from_where)
        return Stand(stand.offset, True)

    def given(self, access: Access, sha256: str, from_where: str) -> Path:
        """Return the file of whole bytes; refused ``attachment_not_whole_yet``."""
        fittings = self._refuse_unnamed(access, sha256)
        path = self.files.path(access.clinic, sha256)
        if not path.exists() or not self._is_held(access.clinic, sha256):
            raise UploadRefusal("attachment_not_whole_yet")
        self._station.audit.note([
            AuditRow(access.tablet, "fetch photo", access.clinic, f"fitting/{fitting}", "given", from_where)
            for fitting in fittings
        ])
        return path

    def mend(self) -> list[tuple[str, str, str]]:
        """Look at all bytes that are said to be whole; return clinic, hash and code of those that were not.

        These are lacking again.  Where there are any a new epoch begins, so that
        tablets, which think of them as safe here, send them again: no process of
        this server may run.
        """
        with self._station.store.reading() as connection:
            said = all_held(connection)
        wrong = [(clinic, sha256, code) for clinic, sha256 in said if (code := self.look_over(clinic, sha256))]
        if wrong:
            self._station.store.begin_new_epoch()
        return wrong

    def look_over(self, clinic: str, sha256: str) -> str:
        """Look at whole bytes once more; return the code of what is wrong, "" when sound.

        Damaged bytes are dropped and lacking again, so that whoever has them sends them.
        Refused ``attachment_disk`` where they can't be read: they stay.
        """
        try:
            self.files.finish(clinic, sha256, looked_at)
        except Refusal as refusal:
            if refusal.code == "attachment_disk":
                raise
            self.files.drop(clinic, sha256)
            with self._station.writing(clinic) as reading:
                forget_held(reading.connection, clinic, sha256)
                keep_read_rows(reading, fittings_naming(reading.connection, clinic, sha256), self._station.today())
            return refusal.code
        return ""

    def _finish(self, access: Access, sha256: str, length: int | None, from_where: str) -> None:
        clinic = access.clinic
        outcome = "stored"
        try:
            looked = self.files.finish(clinic, sha256, looked_at, length)
        except Refusal as refusal:
            outcome = f"refused: {refusal.code}"
            raise
        finally:
            self._station.audit.note([
                AuditRow(access.tablet, "send photo", clinic, f"fitting/{fitting}", outcome, from_where)
                for fitting in self._fittings(clinic, sha256)
            ])
        assert isinstance(looked, Looked)
        size = self.files.stand(clinic, sha256).offset
        with self._station.writing(clinic) as reading:
            note_held(reading.connection, clinic, sha256, size, looked)
            keep_read_rows(
                reading, fittings_naming(reading.connection, clinic, sha256), self._station.today()
            )

    def _refuse_unnamed(self, access: Access, sha256: str) -> list[str]:
        if not _SHA256.fullmatch(sha256):
            raise UploadRefusal("attachment_name_wrong")
        fittings = self._fittings(access.clinic, sha256)
        if not fittings:
            raise UploadRefusal("attachment_not_named")
        return fittings

    def _fittings(self, clinic: str, sha256: str) -> list[str]:
        with self._station.store.reading() as connection:
            return fittings_naming(connection, clinic, sha256)

    def _is_held(self, clinic: str, sha256: str) -> bool:
        with self._station.store.reading() as connection:
            return held(connection, clinic, sha256) is not None
