"""Keeping the verdict and the read tables in step with the entries.

Rows are a pure function of a fitting's view and the day, so they can be thrown
away and made again from entries alone, row for row.
"""

from __future__ import annotations

from datetime import date
from typing import Any, Collection, Iterable, Mapping

from sqlalchemy import Connection, Table, delete, insert, select, update

from shared_models.checks.verdict import Verdict, judge
from shared_models.entries.canonical import canonical_bytes
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.ledger.attachment_tables import read_attachment
from shared_models.ledger.held_attachments import lacking_of, rows_of_attachments
from shared_models.ledger.lead_rows import keep_awaited, keep_open_events, keep_words, standing_row
from shared_models.ledger.read_tables import (
    judge_anew,
    read_component,
    read_fitting,
    read_person,
    read_person_word,
    read_setting,
    read_staff,
    read_standing,
    read_torque,
)
from shared_models.ledger.server_folding import ClinicReading
from shared_models.ledger.tables import verdict as verdict_table

_OF_A_FITTING = (
    read_fitting, read_standing, read_component, read_setting, read_torque, read_attachment, read_staff,
    verdict_table,
)
#: How many fittings are made anew at once.
AT_ONCE = 100
#: Read tables are for finding, never the truth: a longer text is cut there, so
#: that an index can hold it on every database.
LONGEST_TEXT = 300
#: No id of a subject is longer: what is longer names nobody.
LONGEST_ID = 100
READ_TABLES = (read_person, read_person_word, *_OF_A_FITTING)


def keep_read_rows(reading: ClinicReading, fittings: Iterable[str], day: date,
                   persons: Iterable[str] = ()) -> None:
    """Make the rows of some fittings, and of the persons they are for, anew."""
    touched = set(persons)
    asked = sorted(set(fittings))
    for start in range(0, len(asked), AT_ONCE):
        touched |= _keep_fittings(reading, asked[start:start + AT_ONCE], day)
    for person in sorted(touched - {""}):
        _keep_person(reading, person)


def _keep_fittings(reading: ClinicReading, fittings: Collection[str], day: date) -> set[str]:
    """Make the rows of some fittings anew; return the persons they were and are for."""
    persons = _persons_of(reading, fittings)
    _clear(reading, fittings)
    rows: dict[Table, list[dict[str, Any]]] = {table: [] for table in _OF_A_FITTING}
    for fitting in fittings:
        view = reading.view(fitting)
        if view is None or not view.entries():
            continue  # only a withdrawal is here, and not yet what it withdraws
        lacking = lacking_of(reading.connection, view, reading.clinic)
        for table, found in _rows(view, judge(view, day, lacking), reading.clinic).items():
            rows[table] += found
        persons.add(view.person.id[:LONGEST_TEXT])
    _insert(reading.connection, rows)
    return persons


def rebuild(connection: Connection, reading: ClinicReading, day: date) -> int:
    """Throw away a clinic's read tables and verdicts and make them from entries.

    Returns how many fittings there are.
    """
    for table in READ_TABLES:
        connection.execute(delete(table).where(table.c.clinic == reading.clinic))
    fittings = reading.subjects("fitting")
    keep_read_rows(reading, fittings, day, reading.subjects("person"))
    return len(fittings)


def read_rows(connection: Connection, clinic: str) -> dict[str, list[tuple[Any, ...]]]:
    """Return every row of a clinic's read tables, in a fixed order, to compare."""
    return {
        table.name: [
            tuple(row) for row in connection.execute(
                select(table).where(table.c.clinic == clinic)
                .order_by(*table.primary_key.columns)
            )
        ]
        for table in READ_TABLES
    }


def _persons_of(reading: ClinicReading, fittings: Collection[str]) -> set[str]:
    return set(reading.connection.scalars(
        select(read_fitting.c.person).where(
            read_fitting.c.clinic == reading.clinic, read_fitting.c.fitting.in_(fittings)
        )
    ))


def _clear(reading: ClinicReading, fittings: Collection[str]) -> None:
    for table in _OF_A_FITTING:
        reading.connection.execute(delete(table).where(
            table.c.clinic == reading.clinic, table.c.fitting.in_(fittings)
        ))
    reading.connection.execute(delete(judge_anew).where(
        judge_anew.c.clinic == reading.clinic, judge_anew.c.sort == "fitting", judge_anew.c.subject.in_(fittings)
    ))


def _insert(connection: Connection, rows: Mapping[Table, list[dict[str, Any]]]) -> None:
    for table, found in rows.items():
        if found:
            connection.execute(insert(table), found)


def _rows(view: FittingView, verdict: Verdict, clinic: str) -> dict[Table, list[dict[str, Any]]]:
    here = {"clinic": clinic, "fitting": view.id}
    return {
        read_fitting: [{**here, **_fitting_row(view)}],
        read_standing: [{**here, "person": view.person.id[:LONGEST_TEXT], **standing_row(view, verdict)}],
        read_component: [
            {**here, **_component_row(view, entry, built_in)} for entry, built_in in _components(view)
        ],
        read_setting: [
            {**here, **_setting_row(view, head)} for head in _heads(view, "setting/*")
        ],
        read_torque: [
            {**here, **_torque_row(view, head, stage)}
            for stage in ("interim", "final") for head in _heads(view, f"torque_{stage}/*")
        ],
        read_attachment: rows_of_attachments(view, clinic),
        read_staff: [
            {**here, "staff": staff} for staff in sorted(view.record.staff_asked) if 0 < len(staff) <= LONGEST_ID
        ],
        verdict_table: [{
            **here, "person": view.person.id[:LONGEST_TEXT], "state": verdict.state,
            "review": verdict.review, "fingerprint": verdict.digest,
            "detail": canonical_bytes(verdict.as_record()).decode(),
        }],
    }


def _heads(view: FittingView, pattern: str) -> list[Entry]:
    return [head for slot in view.filled(pattern) for head in view.heads(slot)]


def _text(entry: Entry | None, field: str) -> str | None:
    value = entry.body.get(field) if entry else None
    return value[:LONGEST_TEXT] if isinstance(value, str) else None


def _fitting_row(view: FittingView) -> dict[str, Any]:
    entries = view.entries()
    signed = view.head("sign_off")
    return {
        "person": view.person.id[:LONGEST_TEXT], "side": _text(view.opened, "side"),
        "edition": view.edition.name, "prosthetist": view.prosthetist or None,
        "technician": _text(signed, "technician"),
        "started_at": (view.opened or entries[0]).happened_at,
        "last_entry_at": entries[-1].recorded_at,
        "review_due_on": _text(view.head("review_plan"), "review_on"),
        "entries": len(entries),
    }


def _components(view: FittingView) -> list[tuple[Entry, bool]]:
    """Every part that is built in or was: on the day of a recall both are asked for.

    The same part recorded anew, by a newer version of its sheet, is one part.
    """
    found: list[tuple[Entry, bool]] = []
    for name in view.own("component/*"):
        slot = view.record.slot(view.subject, name)
        now = list(slot.heads())
        here = {_part_of(e) for e in now}
        before = {_part_of(e): e for e in slot.history() if e.kind == "component" and e not in now}
        found += [(e, True) for e in now] + [(e, False) for part, e in before.items() if part not in here]
    return found


def _part_of(entry: Entry) -> tuple[str | None, ...]:
    return tuple(_text(entry, f) for f in ("sheet", "serial", "lot", "device_identifier"))


def _component_row(view: FittingView, entry: Entry, built_in: bool) -> dict[str, Any]:
    sheet = view.sheet_of(entry)
    return {
        "place": _text(entry, "place") or "", "digest": entry.digest,
        "person": view.person.id[:LONGEST_TEXT], "sheet": _text(entry, "sheet"),
        "sheet_version": sheet.version if sheet else None,
        "serial": _text(entry, "serial"), "lot": _text(entry, "lot"),
        "device_identifier": _text(entry, "device_identifier"), "built_in": built_in,
        "happened_at": entry.happened_at,
    }


def _setting_row(view: FittingView, entry: Entry) -> dict[str, Any]:
    adjuster = view.adjuster(_text(entry, "function") or "")
    return {
        "adjuster": _text(entry, "function") or "", "digest": entry.digest,
        "position": _text(entry, "position"), "unit": adjuster.unit if adjuster else None,
        "happened_at": entry.happened_at, "recorded_by": entry.recorded_by,
    }


def _torque_row(view: FittingView, entry: Entry, stage: str) -> dict[str, Any]:
    placed = view.screw(_text(entry, "screw") or "")
    figure = None
    if placed:
        figure = placed.screw.final_nm if stage == "final" else placed.screw.interim_nm
    return {
        "screw": _text(entry, "screw") or "", "stage": stage, "digest": entry.digest,
        "figure_nm": None if figure is None else str(figure),
        "reading_nm": _text(entry, "reading_nm"), "wrench": _text(entry, "wrench"),
        "calibrated_on": _text(entry, "wrench_calibrated_on"),
        "locking": _text(entry, "locking_method"),
        "happened_at": entry.happened_at, "recorded_by": entry.recorded_by,
    }


def _tell_exchanged(reading: ClinicReading, views: Collection[FittingView]) -> None:
    """A part left at one visit is no longer built in once a later one put another into its place."""
    for view in views:
        before = view.former if view.exchanged else None
        while before is not None:
            reading.connection.execute(
                update(read_component).where(
                    read_component.c.clinic == reading.clinic, read_component.c.fitting == before.id,
                    read_component.c.place.in_(sorted(view.exchanged)),
                ).values(built_in=False)
            )
            before = before.former


def _keep_person(reading: ClinicReading, person: str) -> None:
    reading.connection.execute(delete(read_person).where(
        read_person.c.clinic == reading.clinic, read_person.c.person == person
    ))
    keep_awaited(reading.connection, reading.clinic, person)
    identity = reading.identity(person).head(Subject("person", person), "identity")
    views = [v for f in reading.fittings_of(person) if (v := reading.view(f))]
    if identity is None and not views and not reading.of_subject("person", person):
        keep_words(reading.connection, reading.clinic, person, ())
        return
    newest = max(views, key=lambda v: v.opened.order if v.opened else ("",), default=None)
    names = [_text(identity, "given_name"), _text(identity, "family_name")]
    _tell_exchanged(reading, views)
    keep_open_events(reading.connection, reading.clinic, views)
    keep_words(reading.connection, reading.clinic, person, (*names, _text(identity, "file_number"), person))
    reading.connection.execute(insert(read_person).values(
        clinic=reading.clinic, person=person,
        name=" ".join(n for n in names if n) or None,
        born_on=_text(identity, "born_on"), identifier=_text(identity, "file_number"),
        telephone=_text(identity, "telephone"),
        side=_text(newest.opened, "side") if newest else None,
        level=_text(newest.opened, "amputation_level") if newest else None,
        functional_level=_text(newest.head("activity"), "functional_level") if newest else None,
        body_mass_kg=_text(newest.head("body"), "body_mass_kg") if newest else None,
        carried_load_kg=_text(newest.head("body"), "carried_load_kg") if newest else None,
    ))
