"""Drafts: what is being typed, durable at once, and no entry yet."""

from __future__ import annotations

from typing import Any, Mapping

from sqlalchemy import Connection, bindparam, delete, select

from shared_models.entries.canonical import canonical_bytes, strict_json
from shared_models.ledger.engine import Store
from shared_models.ledger.prepared import Prepared, insert_one
from shared_models.ledger.sealing import Codec
from shared_models.ledger.tables import draft
from shared_models.quantities.moments import moment_text, now_here

_REMOVE = Prepared(delete(draft).where(draft.c.place == bindparam("at")))
_KEEP = insert_one(draft)


class Drafts:
    """The drafts of a tablet.

    ``place`` says what the draft is for; it stays readable in the file, so it
    is made of ids and slots (``fitting/<id>/alignment/static``), never names.
    """

    _store: Store
    _codec: Codec

    def keep_draft(self, place: str, value: Mapping[str, Any]) -> None:
        """Keep what is typed at ``place``; durable when this returns."""
        content = self._codec.seal(bound(place), canonical_bytes(dict(value)))
        with self._store.writing() as connection:
            remove_draft(connection, place)
            _KEEP.run(
                connection, place=place, content=content, changed_at=moment_text(now_here())
            )

    def draft(self, place: str) -> dict[str, Any] | None:
        """Return what was typed at ``place``, None when nothing was."""
        with self._store.reading() as connection:
            content = connection.scalar(
                select(draft.c.content).where(draft.c.place == place)
            )
        if content is None:
            return None
        found: dict[str, Any] = strict_json(self._codec.open(bound(place), content))
        return found

    def draft_places(self, beginning: str = "") -> tuple[str, ...]:
        """Return the places that have a draft and begin so, newest first."""
        with self._store.reading() as connection:
            return tuple(connection.scalars(
                select(draft.c.place)
                .where(draft.c.place.startswith(beginning, autoescape=True))
                .order_by(draft.c.changed_at.desc(), draft.c.place)
            ))

    def drop_draft(self, place: str) -> None:
        """Drop the draft at ``place``, if there is one."""
        with self._store.writing() as connection:
            remove_draft(connection, place)


def remove_draft(connection: Connection, place: str) -> None:
    """Drop a draft within an open transaction."""
    _REMOVE.run(connection, at=place)


def bound(place: str) -> str:
    """Return what a draft is sealed for, so that it opens at its own place only."""
    return f"draft:{place}"
