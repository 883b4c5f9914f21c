"""Taking in what came on a stick, and writing the receipts that go back on it.

The same judging as over the network: a file's batch goes through ``take_batch``
and a photo's piece through the attachment lane, for the tablet whose enrolled
key signed the file.  Taking a file in twice changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Mapping

from shared_models.exchange.carried import CarriedReceipt, Told, encode_receipt, files_in, write_file
from shared_models.exchange.intake import Refused
from shared_models.exchange.sealed_file import (
    ENTRIES, PHOTO, RECEIPT, Sealed, SealedRefusal, photo_in,
)
from shared_models.ledger.held_attachments import fittings_naming, held
from shared_models.ledger.tablet_access import Access
from shared_models.quantities.refusals import Refusal
from shared_models.wording.server_sentences import server_sentence
from sync_server.services.attachment_lane import AttachmentLane
from sync_server.services.holding import outside
from sync_server.services.intake import take_batch
from sync_server.services.outgo import standing_for
from sync_server.services.station import Station

FROM_WHERE = "stick"


@dataclass
class _Sender:
    """What came from one tablet: by which key, what was said of each file, which photos."""

    key: str
    told: list[Told]
    photos: set[str]


def take_in_folder(station: Station, lane: AttachmentLane, folder: Path) -> list[Told]:
    """Take every sealed file of a folder in; write a receipt for each tablet beside them.

    Returns what is said of each file.  Raises StickRefusal where the folder can't be
    read, or a receipt not be written: then everything is taken, and may be taken again.
    """
    files, unreadable = files_in(folder)
    lines = [_refused(path.name, refusal) for path, refusal in unreadable]
    senders: dict[tuple[str, str], _Sender] = {}
    for path, data, header in files:
        if header["sort"] == RECEIPT:
            continue
        try:
            found = station.open_sealed(data)
            access = _sender(station, found)
        except Refusal as refusal:
            lines.append(_refused(path.name, refusal))
            continue
        about = senders.setdefault(
            (access.clinic, access.tablet), _Sender(found.sender_key, [], set())
        )
        line = _taken(station, lane, access, found, path.name, about)
        about.told.append(line)
        lines.append(line)
    for (clinic, tablet), about in senders.items():
        _write_receipt(station, folder, Access(tablet, clinic), about)
    return lines


def _sender(station: Station, found: Sealed) -> Access:
    """Return whose file it is; refused ``sealed_sender_unknown``.

    A tablet whose access was taken away is still heard: what it brings is held.
    """
    with station.reading(found.clinic) as reading:
        known = station.keys(reading).of_tablet(found.sender)
        gone = found.sender in outside(reading).tablets
    if found.sender_key not in known:
        raise SealedRefusal("sealed_sender_unknown", tablet=found.sender[:100])
    return Access(found.sender, found.clinic, gone)


def _taken(
    station: Station, lane: AttachmentLane, access: Access, found: Sealed, name: str, about: _Sender
) -> Told:
    try:
        if found.sort == ENTRIES:
            answer = take_batch(station, access, found.content, FROM_WHERE)
            if isinstance(answer, Refused):
                first = answer.reasons[0]
                return Told(name, first.code, server_sentence(first))
        elif found.sort == PHOTO:
            _take_photo(lane, access, found.content, about)
    except Refusal as refusal:
        return _refused(name, refusal)
    return Told(name)


def _take_photo(lane: AttachmentLane, access: Access, content: bytes, about: _Sender) -> None:
    sha256, offset, length, data = photo_in(content)
    about.photos.add(sha256)
    try:
        lane.take(
            access, sha256, offset, data, last=offset + len(data) == length, length=length,
            from_where=FROM_WHERE,
        )
    except Refusal as refusal:
        there = lane.stand(access, sha256) if refusal.code in ("upload_is_whole", "upload_offset_differs") else None
        if there is None or not (there.whole or there.offset >= offset + len(data)):
            raise


def _write_receipt(station: Station, folder: Path, access: Access, about: _Sender) -> None:
    with station.store.reading() as connection:
        whole = tuple(
            sha256 for sha256 in sorted(about.photos)
            if fittings_naming(connection, access.clinic, sha256) and held(connection, access.clinic, sha256)
        )
    content = encode_receipt(CarriedReceipt(standing_for(station, access), whole, tuple(about.told)))
    data = station.seal_for(about.key, RECEIPT, content, access.clinic)
    write_file(folder, f"stancebook-receipt-{access.tablet}", data)


def _refused(name: str, refusal: Refusal) -> Told:
    return Told(name, refusal.code, server_sentence(refusal))


