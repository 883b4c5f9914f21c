"""Summaries: what a tablet's list shows of each fitting, kept beside the entries.

A summary is never the truth, always worked out from the entries again.  The
transaction that stores an entry marks the summaries that it may change as
stale; whoever shows the list works them out anew and keeps them with the mark
they were worked out for, so that nothing recorded meanwhile is passed over.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Callable, Iterable, Mapping, Sequence

from sqlalchemy import Connection, bindparam, case, func, select, update
from sqlalchemy.dialects.sqlite import insert

from shared_models.entries.canonical import canonical_bytes, strict_json
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from shared_models.ledger.engine import Store
from shared_models.ledger.prepared import Prepared
from shared_models.ledger.sealing import Codec, SealingRefusal
from shared_models.ledger.tables import entry as entry_table
from shared_models.ledger.tables import fitting_summary


@dataclass(frozen=True)
class SummaryRow:
    """A summary as it lies in the store.

    ``touched`` is the newest clock reading among the fitting's entries;
    ``marks`` counts how often it was marked; ``content`` is sealed, None when
    it was never worked out.
    """

    fitting: str
    person: str
    touched: str
    marks: int
    stale: bool
    content: bytes | None


class Summaries:
    """The summaries of a tablet's store; a server has its read tables."""

    _store: Store
    _codec: Codec
    _about: Callable[..., tuple[Any, ...]]

    def summary_rows(self) -> list[SummaryRow]:
        """Return all summaries, the fitting touched last first."""
        table = fitting_summary
        with self._store.reading() as connection:
            rows = connection.execute(select(
                table.c.fitting, table.c.person, table.c.touched, table.c.marks,
                table.c.stale, table.c.content,
            ).order_by(table.c.touched.desc(), table.c.fitting)).all()
        return [SummaryRow(*row) for row in rows]

    def opened_summary(self, row: SummaryRow) -> dict[str, Any] | None:
        """Return what a row says; None when it was never worked out or does not open."""
        if row.content is None:
            return None
        try:
            found: dict[str, Any] = strict_json(self._codec.open(place_of(row.fitting), row.content))
        except SealingRefusal as refusal:
            if refusal.code == "store_locked":
                raise
            return None
        return found

    def keep_summary(self, row: SummaryRow, person: str, says: Mapping[str, Any]) -> bool:
        """Keep what was worked out for ``row``; False when it was marked again meanwhile."""
        content = self._codec.seal(place_of(row.fitting), canonical_bytes(dict(says)))
        with self._store.writing() as connection:
            kept = connection.execute(
                update(fitting_summary)
                .where(fitting_summary.c.fitting == row.fitting, fitting_summary.c.marks == row.marks)
                .values(person=person, content=content, stale=False)
            )
        return kept.rowcount == 1

    def drop_summaries(self) -> None:
        """Forget what all summaries say; they are worked out again."""
        with self._store.writing() as connection:
            _mark_all(connection, content=None)

    def has_subject(self, type_: str, id_: str) -> bool:
        """Tell whether anything is stored of a subject."""
        wanted = select(entry_table.c.digest).where(*self._about(Subject(type_, id_))).limit(1)
        with self._store.reading() as connection:
            return connection.scalar(wanted) is not None

    def subject_ids(self, type_: str) -> list[str]:
        """Return the ids of all subjects of one type, sorted."""
        with self._store.reading() as connection:
            return list(connection.scalars(
                select(entry_table.c.subject_id).where(entry_table.c.subject_type == type_)
                .distinct().order_by(entry_table.c.subject_id)
            ))


def mark_summaries(
    connection: Connection, entries: Sequence[Entry], signatures: Sequence[Signature]
) -> None:
    """Mark what these items may change, within the transaction that stores them."""
    types = {e.subject.type for e in entries if e.kind != "staff_key"}
    if types & {"staff", "component_sheet"}:
        _mark_all(connection)  # names, roles and sheets stand behind every verdict
    rows = _rows_of(e for e in entries if e.subject.type == "fitting")
    if len(rows) == 1:
        _TOUCHED_ONE.run(connection, **rows[0])
    elif rows:
        connection.execute(_TOUCHED, rows)
    for fitting in sorted({e.subject.id for e in entries if e.subject.type == "fitting"}):
        _MARK_BESIDE.run(connection, of=fitting)  # a visit starts from the fitting before it
    _mark_people(connection, {e.subject.id for e in entries if e.subject.type == "person"})
    signed = {s.signs for s in signatures if s.signer_type == "staff"} - {e.digest for e in entries}
    for digest in sorted(signed):
        connection.execute(
            update(fitting_summary)
            .where(fitting_summary.c.fitting.in_(
                select(entry_table.c.subject_id).where(entry_table.c.digest == digest)
            ))
            .values(marks=fitting_summary.c.marks + 1, stale=True)
        )


def _rows_of(entries: Iterable[Entry]) -> list[dict[str, Any]]:
    """Return one row for each fitting: its newest clock reading, the person if an opening names one."""
    rows: dict[str, dict[str, Any]] = {}
    for entry in entries:
        row = rows.setdefault(entry.subject.id, {
            "fitting": entry.subject.id, "clinic": entry.clinic, "touched": "", "marks": 1,
            "stale": True, "person": "",
        })
        row["touched"] = max(row["touched"], entry.clock)
        if entry.kind == "opened":
            row["person"] = str(entry.body.get("person", "")) or row["person"]
    return list(rows.values())


def _mark_people(connection: Connection, people: Iterable[str]) -> None:
    for person in sorted(people):
        _MARK_OF_PERSON.run(connection, of=person)


def _mark_all(connection: Connection, **also: Any) -> None:
    connection.execute(update(fitting_summary).values(
        marks=fitting_summary.c.marks + 1, stale=True, **also
    ))


def _touched_statement() -> Any:
    """A fitting's row made or marked: the newest clock stays, a person once known too."""
    new = insert(fitting_summary).values({
        name: bindparam(name)
        for name in ("fitting", "clinic", "person", "touched", "marks", "stale")
    })
    return new.on_conflict_do_update(index_elements=["fitting"], set_={
        "touched": func.max(fitting_summary.c.touched, new.excluded.touched),
        "marks": fitting_summary.c.marks + 1,
        "stale": True,
        "person": case((new.excluded.person != "", new.excluded.person), else_=fitting_summary.c.person),
    })


_TOUCHED = _touched_statement()
_TOUCHED_ONE = Prepared(_TOUCHED)
_MARK_OF_PERSON = Prepared(
    update(fitting_summary).where(fitting_summary.c.person == bindparam("of"))
    .values(marks=fitting_summary.c.marks + 1, stale=True)
)

_OWN = fitting_summary.alias("own")
_MARK_BESIDE = Prepared(
    update(fitting_summary)
    .where(
        fitting_summary.c.fitting != bindparam("of"), fitting_summary.c.person != "",
        fitting_summary.c.person == select(_OWN.c.person).where(_OWN.c.fitting == bindparam("of")).scalar_subquery(),
    )
    .values(marks=fitting_summary.c.marks + 1, stale=True)
)


def place_of(fitting: str) -> str:
    """Bind a summary to its fitting, so that none fits elsewhere."""
    return f"summary:{fitting}"
