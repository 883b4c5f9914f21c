"""Statements that run at every save, put into SQLite's words once instead of each time."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from typing import Any, Callable, Iterator, Mapping, Sequence

from sqlalchemy import BindParameter, Connection, Table, bindparam, insert
from sqlalchemy.dialects import sqlite
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.expression import Executable

AT_ONCE = 400  # well below the variables that one SQLite statement takes


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
        if connection.dialect.name != "sqlite":
            # What the statement was made with stands in it, by names of its own for each database.
            empty = {name: None for name, value in self._made_with.items() if value is None}
            found = connection.execute(self._statement, {**empty, **given})
            return found.all() if found.returns_rows else ()
        return run_words(connection, self._words, self._values(given))

    def run_all(self, connection: Connection, rows: Sequence[Mapping[str, Any]]) -> None:
        """Run it once for each of some rows of values; raises DBAPIError."""
        if connection.dialect.name != "sqlite":
            empty = {name: None for name in self._made_with}
            connection.execute(self._statement, [{**empty, **row} for row in rows])
            return
        with _as_sqlalchemy_raises(connection, self._words):
            connection.connection.cursor().executemany(self._words, [self._values(row) for row in rows])

    def _values(self, given: Mapping[str, Any]) -> list[Any]:
        values = {**self._made_with, **given}
        return [values[name] for name in self._names]


class PreparedIn:
    """A statement over any number of values: ``make`` gives it for so many parameters.

    It is made for few numbers of values only; the last value stands again where there are fewer.
    """

    _NUMBERS = (1, 8, 64, AT_ONCE)

    def __init__(self, make: Callable[[Sequence[BindParameter[Any]]], Executable]) -> None:
        self._make = make
        self._made: dict[int, Prepared] = {}

    def run(self, connection: Connection, values: Sequence[Any], **given: Any) -> list[Any]:
        """Run it for all ``values``, as often as they need; raises DBAPIError."""
        found: list[Any] = []
        for start in range(0, len(values), AT_ONCE):
            part = values[start:start + AT_ONCE]
            number = next(n for n in self._NUMBERS if n >= len(part))
            named = {f"value_{n}": part[min(n, len(part) - 1)] for n in range(number)}
            found += self._for(number).run(connection, **named, **given)
        return found

    def _for(self, number: int) -> Prepared:
        if number not in self._made:
            self._made[number] = Prepared(self._make([bindparam(f"value_{n}") for n in range(number)]))
        return self._made[number]


def insert_one(table: Table) -> Prepared:
    """Return the adding of one row; columns that are not given stay empty."""
    return Prepared(insert(table).values({c.name: bindparam(c.name) for c in table.c}))


def run_words(connection: Connection, words: str, values: Sequence[Any] = ()) -> Sequence[Any]:
    """Have SQLite run a statement as it stands and return its rows; raises DBAPIError."""
    with _as_sqlalchemy_raises(connection, words):
        return connection.connection.cursor().execute(words, values).fetchall()


@contextmanager
def _as_sqlalchemy_raises(connection: Connection, words: str) -> Iterator[None]:
    """Raise what SQLite raises as SQLAlchemy would; what was to be stored is left out of its text."""
    try:
        yield
    except sqlite3.Error as error:
        raise DBAPIError.instance(
            words, None, error, sqlite3.Error, hide_parameters=True, dialect=connection.dialect,
        ) from error
