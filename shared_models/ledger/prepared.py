"""Statements that run at every save, put into SQLite's words once instead of each time."""

from __future__ import annotations

import sqlite3
from typing import Any, Sequence

from sqlalchemy import Connection, Table, bindparam, insert
from sqlalchemy.dialects import sqlite
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.expression import Executable


class Prepared:
    """A statement with named parameters; those not given take the values it was made with.

    For columns of text, whole numbers, yes/no and bytes, which SQLite takes and
    gives as they are.  On another database the statement runs as it was made.
    """

    def __init__(self, statement: Executable) -> None:
        compiled = statement.compile(dialect=sqlite.dialect())
        self._statement = statement
        self._words = str(compiled)
        self._names = tuple(compiled.positiontup or ())
        self._made_with = dict(compiled.params)

    def run(self, connection: Connection, **given: Any) -> Sequence[Any]:
        """Run it within an open transaction and return its rows; raises DBAPIError."""
        values = {**self._made_with, **given}
        if connection.dialect.name != "sqlite":
            found = connection.execute(self._statement, values)
            return found.all() if found.returns_rows else ()
        return _run_words(connection, self._words, [values[name] for name in self._names])


def insert_one(table: Table) -> Prepared:
    """Return the adding of one row; columns that are not given stay empty."""
    return Prepared(insert(table).values({c.name: bindparam(c.name) for c in table.c}))


def _run_words(connection: Connection, words: str, values: Sequence[Any]) -> Sequence[Any]:
    """Have SQLite run a statement as it stands and return its rows; raises DBAPIError."""
    try:
        return connection.connection.cursor().execute(words, values).fetchall()
    except sqlite3.Error as error:
        # As SQLAlchemy raises it; what was to be stored is left out of its text.
        raise DBAPIError.instance(
            words, None, error, sqlite3.Error, hide_parameters=True, dialect=connection.dialect,
        ) from error
