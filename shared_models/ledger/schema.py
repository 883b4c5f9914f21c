"""The schema's revisions, and bringing a store up to the newest one."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, inspect, text

from shared_models.ledger.postgres import compare_text_by_bytes
from shared_models.ledger.revisions import KNOWN_REVISIONS

__all__ = ["KNOWN_REVISIONS", "Schema", "revision_of", "upgrade"]


@dataclass(frozen=True)
class Schema:
    """Where the revisions lie and which there are; tests bring their own."""

    script_location: str = "shared_models.ledger:migrations"
    known: tuple[str, ...] = KNOWN_REVISIONS

    @property
    def newest(self) -> str:
        """Return the revision that this program works with."""
        return self.known[-1]


def revision_of(connection: Connection) -> str | None:
    """Return the schema revision of a store, None when it has no tables yet."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def upgrade(connection: Connection, side: str, schema: Schema) -> None:
    """Bring the store to the newest revision within the open transaction.

    Alembic is imported here, not above: an up-to-date store never needs it.
    """
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", schema.script_location)
    config.attributes["connection"] = connection
    config.attributes["side"] = side
    command.upgrade(config, schema.newest)
    if connection.dialect.name == "postgresql":
        compare_text_by_bytes(connection)
