"""Attachments: bytes that an entry names, kept sealed in pieces beside the entries.

Addressed by the SHA-256 of the plain bytes and never overwritten.  Pieces are
written one short transaction after the other, so that nobody who types waits
for a photo; the row that says an attachment is whole comes with the last one.
An entry that names bytes is stored only where they are whole, in the same
transaction as the look at them (``EntryStore.append``); from then on they are
marked as named and never taken away.  What a cut-off save left is named by
nothing, and `drop_loose` takes it away.
"""

from __future__ import annotations

import hashlib
from typing import Callable, Collection

from sqlalchemy import Connection, bindparam, delete, func, insert, select, update

from shared_models.ledger.engine import Store
from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.ledger.photos_waiting import in_order
from shared_models.ledger.prepared import Prepared
from shared_models.ledger.sealing import Codec
from shared_models.ledger.tables import attachment, attachment_piece
from shared_models.quantities.moments import moment_text, now_here

PIECE_BYTES = 256 * 1024


class Attachments:
    """The attachments of a tablet's store; a server keeps them as files."""

    _store: Store
    _codec: Codec

    def keep_attachment(
        self, data: bytes, on_share: Callable[[float], None] = lambda _share: None,
        is_cancelled: Callable[[], bool] = lambda: False,
    ) -> str:
        """Keep bytes and return their digest; whole and durable when this returns.

        ``on_share`` hears how far it is, 0 to 1.  Bytes that are there already
        stay as they are.  Raises NotSaved ``attachment_cancelled`` when
        ``is_cancelled`` said so, and ``not_saved_disk_full``, ``not_saved``,
        ``store_busy``; then nothing is there as whole.
        """
        digest = hashlib.sha256(data).hexdigest()
        if self.has_attachment(digest):
            return digest
        pieces = max(1, -(-len(data) // PIECE_BYTES))
        self._drop_pieces(digest)
        try:
            for number in range(pieces):
                if is_cancelled():
                    raise NotSaved("attachment_cancelled")
                piece = data[number * PIECE_BYTES:(number + 1) * PIECE_BYTES]
                sealed = self._codec.seal(place_of(digest, number, pieces), piece)
                with self._store.writing() as connection:
                    connection.execute(insert(attachment_piece).values(
                        digest=digest, number=number, content=sealed,
                    ))
                    if number == pieces - 1:
                        _say_whole(connection, digest, len(data), pieces)
                on_share((number + 1) / pieces)
        except NotSaved:
            self._drop_pieces_if_possible(digest)
            raise
        return digest

    def attachment(self, digest: str) -> bytes:
        """Return the bytes of a digest.

        Raises StoreRefusal ``attachment_not_here`` and, for bytes that are not
        what their digest says, ``attachment_damaged``; SealingRefusal for
        pieces that don't open.
        """
        with self._store.reading() as connection:
            whole = connection.execute(
                select(attachment).where(attachment.c.digest == digest)
            ).one_or_none()
            if whole is None:
                raise StoreRefusal("attachment_not_here")
            rows = connection.execute(
                select(attachment_piece.c.number, attachment_piece.c.content)
                .where(attachment_piece.c.digest == digest)
                .order_by(attachment_piece.c.number)
            )
            data = b"".join(
                self._codec.open(place_of(digest, row.number, whole.pieces), row.content)
                for row in rows
            )
        if hashlib.sha256(data).hexdigest() != digest:
            raise StoreRefusal("attachment_damaged")
        return data

    def has_attachment(self, digest: str) -> bool:
        """Tell whether the bytes of a digest are here, whole."""
        with self._store.reading() as connection:
            return connection.scalar(
                select(attachment.c.digest).where(attachment.c.digest == digest)
            ) is not None

    def attachments(self, named: bool | None = None) -> dict[str, int]:
        """Return the digest of every whole attachment with its size in bytes.

        ``named``: only those that an entry names, or that none does.
        """
        found = select(attachment.c.digest, attachment.c.bytes)
        if named is not None:
            found = found.where(attachment.c.named.is_(named))
        with self._store.reading() as connection:
            return {row.digest: row.bytes for row in connection.execute(found)}

    def attachment_part(self, digest: str, offset: int, most: int) -> bytes:
        """Return up to ``most`` bytes from ``offset`` on, opening no more than they need.

        Raises StoreRefusal ``attachment_not_here``, SealingRefusal.
        """
        first, last = offset // PIECE_BYTES, (offset + most - 1) // PIECE_BYTES
        with self._store.reading() as connection:
            pieces = connection.scalar(
                select(attachment.c.pieces).where(attachment.c.digest == digest)
            )
            if pieces is None:
                raise StoreRefusal("attachment_not_here")
            rows = connection.execute(
                select(attachment_piece.c.number, attachment_piece.c.content).where(
                    attachment_piece.c.digest == digest,
                    attachment_piece.c.number.between(first, last),
                ).order_by(attachment_piece.c.number)
            ).all()
        data = b"".join(self._codec.open(place_of(digest, row.number, pieces), row.content) for row in rows)
        skipped = offset - first * PIECE_BYTES
        return data[skipped:skipped + most]

    def waiting_attachments(self, epoch: str) -> dict[str, int]:
        """Return what entries name and the server of this epoch has not named as whole, with sizes.

        What it refused for good is left out, see ``refused_attachments``.
        """
        with self._store.reading() as connection:
            return dict(_WAITING.run(connection, epoch=epoch))

    def count_waiting_attachments(self, epoch: str) -> tuple[int, str]:
        """Return how many photos wait to be named as whole, refused ones too, and since when."""
        found = select(func.count(), func.min(attachment.c.kept_at)).where(*_not_whole(epoch))
        with self._store.reading() as connection:
            count, since = connection.execute(found).one()
        return count, since or ""

    def refused_attachments(self) -> dict[str, str]:
        """Return what a server does not take, with its sentence."""
        with self._store.reading() as connection:
            return {row.digest: row.refused for row in connection.execute(
                select(attachment.c.digest, attachment.c.refused).where(attachment.c.refused.is_not(None))
            )}

    def note_whole_at(self, digest: str, epoch: str) -> None:
        """Keep that the server of this epoch named the bytes as whole."""
        self._note_attachment(digest, whole_at=epoch, refused=None)

    def note_refused(self, digest: str, sentence: str) -> None:
        """Keep that a server does not take the bytes; they stay here."""
        self._note_attachment(digest, refused=sentence)

    def keep_fetched(self, digest: str, data: bytes, epoch: str) -> None:
        """Keep bytes that came from a server and that an entry here names."""
        if self.keep_attachment(data) != digest:
            raise StoreRefusal("attachment_damaged")
        self._note_attachment(digest, named=True, whole_at=epoch)

    def photos_in_order(self, clinic: str, tablet: str, waiting: Collection[str]) -> list[str]:
        """Return those of the waiting digests that this tablet's entries name, in the order in which they go."""
        with self._store.reading() as connection:
            return in_order(connection, self._codec, clinic, tablet, waiting)

    def _note_attachment(self, digest: str, **values: object) -> None:
        with self._store.writing() as connection:
            connection.execute(
                update(attachment).where(attachment.c.digest == digest).values(**values)
            )

    def drop_loose(self, drafted: Collection[str] = ()) -> int:
        """Take away bytes that no entry names; return of how many digests.

        ``drafted`` are the digests that drafts name: those stay.
        """
        with self._store.reading() as connection:
            there = set(connection.scalars(select(attachment_piece.c.digest).distinct()))
            named = set(connection.scalars(
                select(attachment.c.digest).where(attachment.c.named.is_(True))
            ))
            whole = set(connection.scalars(select(attachment.c.digest)))
        gone = sorted((there | whole) - named - (set(drafted) & whole))
        for digest in gone:
            self._drop_pieces(digest)
        return len(gone)

    def _drop_pieces(self, digest: str) -> None:
        with self._store.writing() as connection:
            loose = (attachment.c.digest == digest) & attachment.c.named.is_(False)
            connection.execute(delete(attachment).where(loose))
            kept = select(attachment.c.digest).where(attachment.c.digest == digest)
            connection.execute(
                delete(attachment_piece)
                .where(attachment_piece.c.digest == digest, ~kept.exists())
            )

    def _drop_pieces_if_possible(self, digest: str) -> None:
        """A disk that can't be written keeps the pieces until the next start."""
        try:
            self._drop_pieces(digest)
        except (NotSaved, StoreRefusal):
            pass


def _not_whole(epoch: object):
    elsewhere = attachment.c.whole_at.is_(None) | (attachment.c.whole_at != epoch)
    return attachment.c.named.is_(True), elsewhere


_WAITING = Prepared(select(attachment.c.digest, attachment.c.bytes).where(
    *_not_whole(bindparam("epoch")), attachment.c.refused.is_(None)
).order_by(attachment.c.kept_at))


def name_attachments(connection: Connection, digests: Collection[str]) -> None:
    """Mark bytes as named by an entry, within the transaction that stores it.

    Raises NotSaved ``attachment_not_whole`` unless all of them are here.
    """
    marked = connection.execute(
        update(attachment).where(attachment.c.digest.in_(set(digests))).values(named=True)
    )
    if marked.rowcount != len(set(digests)):
        raise NotSaved("attachment_not_whole")


def _say_whole(connection: Connection, digest: str, size: int, pieces: int) -> None:
    there = connection.scalar(
        select(func.count()).select_from(attachment_piece)
        .where(attachment_piece.c.digest == digest)
    )
    if there != pieces:  # somebody tidied up meanwhile
        raise NotSaved("attachment_not_whole")
    connection.execute(insert(attachment).values(
        digest=digest, bytes=size, pieces=pieces, kept_at=moment_text(now_here()), named=False,
    ))


def place_of(digest: str, number: int, pieces: int) -> str:
    """Bind a piece to its attachment and its number, so that none fits elsewhere."""
    return f"attachment:{digest}:{number}/{pieces}"
