"""The picture of a photo for the lead clinician who reads the fitting, and a note that it was seen."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from shared_models.checks.attached import photos_in
from shared_models.checks.picture_form import JPEG, PNG
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.held_attachments import Held, held
from shared_models.quantities.refusals import Refusal
from sync_server.services.attachment_files import AttachmentFiles, UploadRefusal
from sync_server.services.signing_in import Reviewer, SessionRefusal
from sync_server.services.station import Station

_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class Picture:
    """Where the bytes lie, and what they are by their content."""

    path: Path
    media_type: str


def picture_of(
    station: Station, files: AttachmentFiles, reviewer: Reviewer, fitting: str, sha256: str, from_where: str,
) -> Picture:
    """Return a photo's picture, of a fitting of the reviewer's clinic that shows it.

    Refused ``not_found`` where no photo of this fitting that holds its place
    names these bytes (one that was taken out is not shown), and
    ``attachment_not_whole_yet`` while they have not arrived.
    """
    clinic = reviewer.account.clinic
    outcome = "shown"
    try:
        found = _held(station, clinic, fitting, sha256)
        path = files.path(clinic, sha256)
        if found is None or not path.exists():
            raise UploadRefusal("attachment_not_whole_yet")
        # Only what was looked at as a picture is ever given as one.
        if found.media_type not in (JPEG, PNG):
            raise SessionRefusal("not_found")
        return Picture(path, found.media_type)
    except Refusal as refusal:
        outcome = f"refused: {refusal.code}"
        raise
    finally:
        station.audit.note([AuditRow(
            reviewer.account.login, "see photo", clinic, f"fitting/{fitting}", outcome, from_where,
        )])


def _held(station: Station, clinic: str, fitting: str, sha256: str) -> Held | None:
    """What is here of the bytes; refused ``not_found`` where the fitting shows no such photo."""
    with station.reading(clinic) as reading:
        view = reading.view(fitting) if _SHA256.fullmatch(sha256) else None
        if view is None or sha256 not in {photo.sha256 for photo in photos_in(view)}:
            raise SessionRefusal("not_found")
        return held(reading.connection, clinic, sha256)
