"""Attachments: bytes that an entry names, kept sealed in pieces beside the entries.

Addressed by the SHA-256 of the plain bytes and never overwritten.  Pieces are
written one short transaction after the other, so that nobody who types waits
for a photo; the row that says an attachment is whole comes with the last one.
An entry that names bytes is stored only where they are whole, in the same
transaction as the look at them (``EntryStore.append``).  What a cut-off save
left is named by nothing, and `drop_attachments` takes it away.
"""

from __future__ import annotations

import hashlib
from typing import Callable, Collection, Iterable

from sqlalchemy import Connection, delete, insert, select

from shared_models.ledger.engine import Store
from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.ledger.sealing import Codec
from shared_models.ledger.tables import attachment, attachment_piece
from shared_models.quantities.moments import moment_text, now_here

PIECE_BYTES = 256 * 1024


class Attachments:
    """The attachments of a tablet's store; a server keeps none yet."""

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
                sealed = self._codec.seal(_place(digest, number, pieces), piece)
                with self._store.writing() as connection:
                    connection.execute(insert(attachment_piece).values(
                        digest=digest, number=number, content=sealed,
                    ))
                    if number == pieces - 1:
                        connection.execute(insert(attachment).values(
                            digest=digest, bytes=len(data), pieces=pieces,
                            kept_at=moment_text(now_here()),
                        ))
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
                self._codec.open(_place(digest, row.number, whole.pieces), row.content)
                for row in rows
            )
        if hashlib.sha256(data).hexdigest() != digest:
            raise StoreRefusal("attachment_damaged")
        return data

    def has_attachment(self, digest: str) -> bool:
        """Tell whether the bytes of a digest are here, whole."""
        with self._store.reading() as connection:
            return bool(whole_ones(connection, [digest]))

    def attachments(self) -> dict[str, int]:
        """Return the digest of every whole attachment with its size in bytes."""
        with self._store.reading() as connection:
            rows = connection.execute(select(attachment.c.digest, attachment.c.bytes))
            return {row.digest: row.bytes for row in rows}

    def drop_attachments(self, named: Collection[str]) -> int:
        """Take away all bytes that nothing names any more; return how many digests.

        ``named`` must hold every digest that any entry or draft names.
        """
        with self._store.reading() as connection:
            there = set(connection.scalars(select(attachment_piece.c.digest).distinct()))
            there |= set(connection.scalars(select(attachment.c.digest)))
        gone = sorted(there - set(named))
        for digest in gone:
            self._drop_pieces(digest)
        return len(gone)

    def _drop_pieces(self, digest: str) -> None:
        with self._store.writing() as connection:
            connection.execute(delete(attachment).where(attachment.c.digest == digest))
            connection.execute(
                delete(attachment_piece).where(attachment_piece.c.digest == digest)
            )

    def _drop_pieces_if_possible(self, digest: str) -> None:
        """A disk that can't be written keeps the pieces until the next start."""
        try:
            self._drop_pieces(digest)
        except (NotSaved, StoreRefusal):
            pass


def whole_ones(connection: Connection, digests: Iterable[str]) -> set[str]:
    """Return those of the digests whose bytes are here, whole, within a transaction."""
    wanted = list(digests)
    return set(connection.scalars(
        select(attachment.c.digest).where(attachment.c.digest.in_(wanted))
    ))


def _place(digest: str, number: int, pieces: int) -> str:
    """Bind a piece to its attachment and its number, so that none fits elsewhere."""
    return f"attachment:{digest}:{number}/{pieces}"
