"""The kinds of column that the store's tables are made of.

Portable types only, so that the server runs on SQLite and on PostgreSQL.
Moments and clocks are text, amounts decimal text.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Text,
)

TABLET = "tablet"
SERVER = "server"
SIDES = (TABLET, SERVER)

metadata = MetaData()

ON_BOTH = {"sides": SIDES}
ON_TABLET = {"sides": (TABLET,)}
ON_SERVER = {"sides": (SERVER,)}
#: Counts up by itself on both databases.
RowNumber = BigInteger().with_variant(Integer, "sqlite")


def identifier(name: str, **options: object) -> Column[str]:
    """A short name of ours, always there: an id, a slot, a code."""
    return Column(name, String(100), nullable=False, **options)  # type: ignore[arg-type]


def key(name: str) -> Column[str]:
    """A short name that belongs to the primary key."""
    return identifier(name, primary_key=True)


def digest(name: str, **options: object) -> Column[str]:
    """A SHA-256 as 64 hex digits, always there."""
    return Column(name, String(64), nullable=False, **options)  # type: ignore[arg-type]


def moment(name: str, nullable: bool = False) -> Column[str]:
    """A moment as text with its offset, see ``quantities.moments``."""
    return Column(name, String(40), nullable=nullable)


def text(name: str, nullable: bool = True) -> Column[str]:
    """Text as typed; decimal text for amounts, in the unit the name states."""
    return Column(name, Text, nullable=nullable)


def content(name: str = "content", nullable: bool = False) -> Column[bytes]:
    """Bytes: canonical plaintext on a server, sealed on a tablet."""
    return Column(name, LargeBinary, nullable=nullable)


def count(name: str) -> Column[int]:
    """A whole number, always there."""
    return Column(name, Integer, nullable=False)
