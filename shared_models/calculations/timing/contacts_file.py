"""Contacts that another instrument recorded, read from CSV.

Each line is one contact: side, time in seconds and, if both are stated, the
event (initial or final contact).  Read exactly: what can't be read refuses
the file and names the line; columns that are not needed are named, not used.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from typing import Sequence

from shared_models.calculations.timing.contacts import LATEST_S, Contact
from shared_models.quantities.refusals import Refusal

#: A contact file of an hour is about 100 kB.
LARGEST_BYTES = 1_000_000
_SIDES = {
    "left": "left", "l": "left", "right": "right", "r": "right",
    "left foot": "left", "right foot": "right",
}
_EVENTS = {
    "": "initial", "initial": "initial", "initial contact": "initial", "ic": "initial",
    "heel strike": "initial", "hs": "initial", "foot strike": "initial", "contact": "initial",
    "final": "final", "final contact": "final", "fc": "final", "toe off": "final",
    "to": "final", "foot off": "final",
}
#: Hyphens and underscores count as spaces, in headers and in cells.
_HEADS = {
    "side": ("side", "foot", "leg", "limb"),
    "time_s": (
        "time s", "time", "t", "t s", "s", "seconds", "sec", "time (s)", "time [s]", "time sec",
        "time seconds", "time in s", "time in seconds", "contact s", "ic s", "timestamp s",
    ),
    "event": ("event", "type", "kind", "contact type", "event type"),
}
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?")
_DELIMITERS = (";", "\t", ",")


@dataclass(frozen=True)
class ContactsFile:
    """What a file states: initial and final contacts, and columns not used."""

    contacts: tuple[Contact, ...]
    finals: tuple[Contact, ...]
    columns_not_used: tuple[str, ...]


@dataclass(frozen=True)
class _Columns:
    side: int
    time_s: int
    event: int | None
    names: tuple[str, ...]


def read_contacts(data: bytes) -> ContactsFile:
    """Return the contacts of a CSV file.

    UTF-8 (with or without BOM) or UTF-16 with BOM; commas, semicolons or tabs;
    point or comma decimals; a header or none; columns in any order.  Lines
    that are empty or begin with # are passed over.  A contact whose time is
    left empty is kept without a time.  Raises Refusal: contacts_file_* and
    contacts_line_*, with the line.
    """
    rows = _rows(_text(data))
    if not rows:
        raise Refusal("contacts_file_empty")
    columns, rows = _columns(rows)
    found: dict[str, list[Contact]] = {"initial": [], "final": []}
    for line, cells in rows:
        event, contact = _contact(line, cells, columns)
        found[event].append(contact)
    _refuse_out_of_order(found["initial"], by_side=False)
    _refuse_out_of_order(found["final"], by_side=True)
    if not found["initial"]:
        raise Refusal("contacts_file_without_initial", finals=len(found["final"]))
    used = {columns.side, columns.time_s, columns.event}
    not_used = tuple(name for at, name in enumerate(columns.names) if at not in used)
    return ContactsFile(tuple(found["initial"]), tuple(found["final"]), not_used)


def _text(data: bytes) -> str:
    if len(data) > LARGEST_BYTES:
        raise Refusal("contacts_file_too_large", bytes=len(data), largest=LARGEST_BYTES)
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        text = data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        raise Refusal("contacts_file_not_text") from None
    if "\0" in text:
        raise Refusal("contacts_file_not_text")
    return text


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Return (line number, cells) of every line that says something."""
    lines = re.split(r"\r\n|\r|\n", text)
    told = [line for line in lines if line.strip() and not line.lstrip().startswith("#")]
    delimiter = next((d for d in _DELIMITERS if told and d in told[0]), ",")
    rows = []
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        try:
            (cells,) = csv.reader(io.StringIO(line), delimiter=delimiter, strict=True, skipinitialspace=True)
        except (csv.Error, ValueError):
            raise Refusal("contacts_line_unreadable", line=number) from None
        rows.append((number, [cell.strip() for cell in cells]))
    return rows


def _columns(rows: list[tuple[int, list[str]]]) -> tuple[_Columns, list[tuple[int, list[str]]]]:
    """Return where side, time and event stand, and the rows below the header."""
    line, first = rows[0]
    plain = [_plain(cell) for cell in first]
    heads = {
        name: [at for at, cell in enumerate(plain) if cell in words]
        for name, words in _HEADS.items()
    }
    if not any(heads.values()):
        return _without_header(line, first), rows
    for name in ("side", "time_s"):
        if not heads[name]:
            raise Refusal("contacts_column_missing", line=line, column=name, found=_shown(", ".join(first)))
    for name, places in heads.items():
        if len(places) > 1:
            raise Refusal("contacts_column_twice", line=line, column=name)
    event = heads["event"][0] if heads["event"] else None
    return _Columns(heads["side"][0], heads["time_s"][0], event, tuple(first)), rows[1:]


def _without_header(line: int, first: list[str]) -> _Columns:
    sides = [at for at, cell in enumerate(first) if _plain(cell) in _SIDES]
    times = [at for at, cell in enumerate(first) if cell == "" or _number(cell) is not None]
    events = [
        at for at, cell in enumerate(first)
        if cell and _plain(cell) in _EVENTS and at not in sides
    ]
    if len(sides) != 1 or not times or len(first) > 3:
        raise Refusal("contacts_columns_unclear", line=line, found=_shown(", ".join(first)))
    third = {0, 1, 2} - {sides[0], times[0]}
    event = events[0] if events else third.pop() if len(first) == 3 else None
    names = ("",) * len(first)
    return _Columns(sides[0], times[0], event, names)


def _contact(line: int, cells: list[str], columns: _Columns) -> tuple[str, Contact]:
    while len(cells) > len(columns.names) and cells[-1] == "":
        cells = cells[:-1]  # a delimiter too many at the end says nothing
    if len(cells) > len(columns.names):
        raise Refusal(
            "contacts_line_too_long", line=line, cells=len(cells), columns=len(columns.names))
    if len(cells) <= max(columns.side, columns.time_s):
        raise Refusal("contacts_line_too_short", line=line, found=_shown(", ".join(cells)))
    side = _SIDES.get(_plain(cells[columns.side]))
    if side is None:
        raise Refusal("contacts_line_side", line=line, found=_shown(cells[columns.side]))
    stated = "" if columns.event is None or columns.event >= len(cells) else cells[columns.event]
    event = _EVENTS.get(_plain(stated))
    if event is None:
        raise Refusal("contacts_line_event", line=line, found=_shown(stated))
    return event, Contact(side, _time_s(line, side, cells[columns.time_s]), line)


def _time_s(line: int, side: str, cell: str) -> float | None:
    if cell == "":
        return None
    time_s = _number(cell)
    if time_s is None:
        raise Refusal("contacts_line_time", line=line, side=side, found=_shown(cell))
    if time_s < 0:
        raise Refusal("contacts_line_negative", line=line, side=side, time_s=time_s)
    if time_s > LATEST_S:
        raise Refusal("contacts_line_too_late", line=line, side=side, found=_shown(cell), latest_s=LATEST_S)
    return time_s


def _number(cell: str) -> float | None:
    """Return a plain decimal figure; nan, inf, 1_000 and units are none."""
    return float(cell.replace(",", ".")) if cell.isascii() and _NUMBER.fullmatch(cell) else None


def _refuse_out_of_order(contacts: Sequence[Contact], by_side: bool) -> None:
    before: dict[str, Contact] = {}
    for contact in contacts:
        if contact.time_s is None:
            continue
        lane = contact.side if by_side else ""
        earlier = before.get(lane)
        if earlier is not None and contact.time_s < earlier.time_s:  # type: ignore[operator]
            raise Refusal(
                "contacts_line_out_of_order", line=contact.line, side=contact.side,
                time_s=contact.time_s, before_s=earlier.time_s, before_line=earlier.line)
        before[lane] = contact


def _plain(cell: str) -> str:
    return " ".join(cell.replace("-", " ").replace("_", " ").split()).casefold()


def _shown(cell: str) -> str:
    """Return what a cell says, shortened, without what does not print."""
    kept = "".join(c if c.isprintable() else "?" for c in cell)
    return kept if len(kept) <= 40 else kept[:37] + "..."
