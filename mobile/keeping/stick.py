"""Carrying by stick: what is unsent goes out as sealed files, the receipt comes back.

For a tablet with no network at all.  What goes out is exactly what would be
sent, sealed so that only this clinic's server opens it; nothing counts as sent
until the server's receipt says so, however often a stick is lost.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Callable

from shared_models.entries.signatures import public_text
from shared_models.exchange.carried import (
    ENDING, CarriedReceipt, StickRefusal, Told, decode_receipt, files_in, write_file,
)
from shared_models.exchange.sealed_file import (
    ENTRIES, PHOTO, PHOTO_PIECE, RECEIPT, SealedRefusal, open_sealed, photo_content, seal,
)
from shared_models.language import spoken
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal
from mobile.keeping.outbox import fitting_part, packed_part
from mobile.keeping.session import Session

Progress = Callable[[str, float], None]


@dataclass
class Written:
    """What lies on the stick now."""

    files: int = 0
    entries: int = 0
    photos: int = 0


@dataclass
class TakenBack:
    """What receipts said: how many entries and photos the server has more than was known here."""

    receipts: int = 0
    entries: int = 0
    photos: int = 0
    refused: list[Told] = field(default_factory=list)
    copied: bool = False


def write_out(session: Session, folder: Path, progress: Progress) -> Written:
    """Write everything unsent to a folder; ``progress`` may raise to break off.

    Raises StickRefusal, Refusal ``stick_needs_server``, PracticeRefusal for practice.
    """
    access = session.entries.sync_state(session.clinic).access
    if not access:
        raise StickRefusal("stick_needs_server")
    done = Written()
    _write_entries(session, folder, str(access["server_key"]), progress, done)
    _write_photos(session, folder, str(access["server_key"]), progress, done)
    return done


def _write_entries(session: Session, folder: Path, to_key: str, progress: Progress, done: Written) -> None:
    state = session.entries.sync_state(session.clinic)
    entries = session.entries.chain_written(session.clinic, session.tablet, state.acknowledged_number + 1)
    start = 0
    while start < len(entries):
        part = fitting_part(entries, start)
        progress(spoken("Writing the record, {start} of {entries}", start=start, entries=len(entries)), start / len(entries) / 2)
        packed, _ = packed_part(session, part)
        first, last = part[0].number, part[-1].number
        write_file(
            folder, f"stancebook-entries-{session.tablet}-{first:07}-{last:07}",
            _sealed(session, ENTRIES, packed, to_key, first),
        )
        done.files, done.entries = done.files + 1, done.entries + len(part)
        start += len(part)


def _write_photos(session: Session, folder: Path, to_key: str, progress: Progress, done: Written) -> None:
    epoch = session.entries.sync_state(session.clinic).epoch
    waiting = session.entries.waiting_attachments(epoch)
    if not waiting:
        return
    first = session.entries.photos_in_order(session.clinic, session.tablet, waiting)
    order = first + [d for d in waiting if d not in set(first)]
    for place, digest in enumerate(order):
        size = waiting[digest]
        for number, offset in enumerate(range(0, max(size, 1), PHOTO_PIECE)):
            progress(spoken("Writing photo {place} of {order}", place=place + 1, order=len(order)), 0.5 + place / len(order) / 2)
            data = session.entries.attachment_part(digest, offset, PHOTO_PIECE)
            write_file(
                folder, f"stancebook-photo-{session.tablet}-{digest[:16]}-{number:03}",
                _sealed(session, PHOTO, photo_content(digest, offset, size, data), to_key, place * 1000 + number),
            )
            done.files += 1
        done.photos += 1


def _sealed(session: Session, sort: str, content: bytes, to_key: str, order: int) -> bytes:
    return seal(
        sort, content, clinic=session.clinic, sender=session.tablet, key=session.device_key,
        to_key=to_key, made_at=moment_text(now_here()), order=order,
    )


def take_back(session: Session, folder: Path) -> TakenBack:
    """Take every receipt for this tablet in a folder; one taken before changes nothing.

    Files that the server has whole are taken off the stick.  Raises StickRefusal,
    and ``stick_has_no_receipt``; the refusal of a receipt where none could be taken.
    """
    done, why = TakenBack(), None
    files, _ = files_in(folder)
    for _, data, header in files:
        if header["sort"] != RECEIPT or header["to_key"] != _own_key(session):
            continue
        try:
            _take_one(session, data, done)
        except Refusal as refusal:
            why = refusal
    if not done.receipts:
        raise why or StickRefusal("stick_has_no_receipt", folder=str(folder))
    _tidy(session, folder)
    return done


def _take_one(session: Session, data: bytes, done: TakenBack) -> None:
    state = session.entries.sync_state(session.clinic)
    found = open_sealed(data, session.device_key)
    if not state.access or found.sender_key != state.access["server_key"]:
        raise SealedRefusal("sealed_server_unknown")
    receipt = decode_receipt(found.content)
    if found.clinic != session.clinic or receipt.standing.clinic != session.clinic:
        raise SealedRefusal("receipt_other_clinic")
    if state.epoch and receipt.standing.epoch != state.epoch:
        raise SealedRefusal("receipt_after_restore")
    done.receipts += 1
    _note_entries(session, receipt, done)
    there = session.entries.waiting_attachments(receipt.standing.epoch)
    for digest in receipt.whole:
        if digest in there:
            session.entries.note_whole_at(digest, receipt.standing.epoch)
            done.photos += 1
    done.refused += [told for told in receipt.told if told.code]


def _note_entries(session: Session, receipt: CarriedReceipt, done: TakenBack) -> None:
    number, digest = receipt.standing.chains.get(session.tablet, (0, ""))
    own = session.entries.numbers(session.clinic, session.tablet, number, number)
    if number and digest not in own.get(number, frozenset()):
        done.copied = True  # told apart, and settled, at the next meeting over the network
        return
    more = session.note_acknowledged(number)
    done.entries += more


def _own_key(session: Session) -> str:
    return public_text(session.device_key)


def _tidy(session: Session, folder: Path) -> None:
    """Take what has arrived off the stick: no record lies about longer than it must."""
    acknowledged = session.acknowledged()
    waiting = session.entries.waiting_attachments(session.entries.sync_state(session.clinic).epoch)
    for path in folder.glob(f"stancebook-*-{session.tablet}-*{ENDING}"):
        sort, told = path.name.split("-")[1], path.name.removesuffix(ENDING)
        last = told.rpartition("-")[2]
        arrived = sort == ENTRIES and last.isdigit() and int(last) <= acknowledged
        gone = sort == PHOTO and not any(d.startswith(told.split("-")[-2]) for d in waiting)
        if arrived or gone:
            try:
                path.unlink()
            except OSError:
                continue
