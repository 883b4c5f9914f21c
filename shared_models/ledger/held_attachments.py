"""What a server's store says of photos' bytes: named by whom, whole or lacking.

Per clinic throughout: that another clinic holds the same bytes is nobody's
business, and naming a hash must not be a way to be given what it stands for.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Collection

from sqlalchemy import Connection, delete, func, insert, select, update

from shared_models.checks.attached import named_bytes, photos_in
from shared_models.checks.picture_form import Looked
from shared_models.entries.fitting import FittingView
from shared_models.ledger.attachment_tables import attachment_held, read_attachment
from shared_models.quantities.moments import moment_text, now_here


@dataclass(frozen=True)
class Held:
    """Bytes that are here whole."""

    sha256: str
    bytes: int
    media_type: str


def rows_of_attachments(view: FittingView, clinic: str) -> list[dict[str, Any]]:
    """Return which of a fitting's entries name which bytes."""
    wanted = {photo.sha256 for photo in photos_in(view)}
    return [
        {"clinic": clinic, "fitting": view.id, "digest": entry.digest, "sha256": named,
         "wanted": named in wanted}
        for entry in view.entries() for named in named_bytes(entry)
    ]


def fittings_naming(connection: Connection, clinic: str, sha256: str) -> list[str]:
    """Return the fittings of a clinic that name some bytes; [] when none does."""
    return list(connection.scalars(
        select(read_attachment.c.fitting).distinct()
        .where(read_attachment.c.clinic == clinic, read_attachment.c.sha256 == sha256)
        .order_by(read_attachment.c.fitting)
    ))


def held(connection: Connection, clinic: str, sha256: str) -> Held | None:
    """Return what is known of bytes that are here whole."""
    row = connection.execute(
        select(attachment_held).where(*_place(clinic, sha256))
    ).one_or_none()
    return Held(row.sha256, row.bytes, row.media_type) if row else None


def note_held(connection: Connection, clinic: str, sha256: str, size: int, looked: Looked) -> None:
    """Say that bytes are here whole; saying it again changes nothing."""
    if held(connection, clinic, sha256) is not None:
        return
    connection.execute(insert(attachment_held).values(
        clinic=clinic, sha256=sha256, bytes=size, media_type=looked.media_type,
        width=looked.width, height=looked.height, held_at=moment_text(now_here()), whole_above="",
    ))


def forget_held(connection: Connection, clinic: str, sha256: str) -> None:
    """Say that bytes are not here after all: their file is gone or damaged."""
    connection.execute(delete(attachment_held).where(*_place(clinic, sha256)))


def lacking_of(connection: Connection, view: FittingView, clinic: str) -> frozenset[str]:
    """Return the hashes of a fitting's photos whose bytes are not here."""
    wanted = sorted({photo.sha256 for photo in photos_in(view)})
    there = set(connection.scalars(select(attachment_held.c.sha256).where(
        attachment_held.c.clinic == clinic, attachment_held.c.sha256.in_(wanted),
    ))) if wanted else set()
    return frozenset(wanted) - there


def lacking_in(connection: Connection, clinic: str) -> list[str]:
    """Return every hash that a clinic's record waits for."""
    there = select(attachment_held.c.sha256).where(
        attachment_held.c.clinic == clinic, attachment_held.c.sha256 == read_attachment.c.sha256,
    )
    return list(connection.scalars(
        select(read_attachment.c.sha256).distinct()
        .where(read_attachment.c.clinic == clinic, read_attachment.c.wanted.is_(True), ~there.exists())
        .order_by(read_attachment.c.sha256)
    ))


def not_whole_above(connection: Connection, clinic: str, epoch: str) -> list[Held]:
    """Return what is here whole and not known to be whole on the server above."""
    rows = connection.execute(
        select(attachment_held)
        .where(attachment_held.c.clinic == clinic, attachment_held.c.whole_above != epoch)
        .order_by(attachment_held.c.held_at.desc(), attachment_held.c.sha256)
    )
    return [Held(row.sha256, row.bytes, row.media_type) for row in rows]


def note_whole_above(connection: Connection, clinic: str, sha256: str, epoch: str) -> None:
    """Say that the server above named these bytes as whole."""
    connection.execute(
        update(attachment_held).where(*_place(clinic, sha256)).values(whole_above=epoch)
    )


def all_held(connection: Connection) -> list[tuple[str, str]]:
    """Return clinic and hash of all bytes that are said to be here whole."""
    rows = connection.execute(
        select(attachment_held.c.clinic, attachment_held.c.sha256)
        .order_by(attachment_held.c.clinic, attachment_held.c.sha256)
    )
    return [(row.clinic, row.sha256) for row in rows]


def bytes_held(connection: Connection, clinics: Collection[str] | None = None) -> int:
    """Return how many bytes of photos are here whole."""
    wanted = select(func.sum(attachment_held.c.bytes))
    if clinics is not None:
        wanted = wanted.where(attachment_held.c.clinic.in_(sorted(clinics)))
    return connection.scalar(wanted) or 0


def _place(clinic: str, sha256: str):
    return (attachment_held.c.clinic == clinic, attachment_held.c.sha256 == sha256)
