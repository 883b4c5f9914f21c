"""The form of a component sheet, field by field: which fields there are, and a sheet's body written into them.

A field is named by its row, ``screws-0-final_nm``.  What names another row of
the sheet (what a cap closes, the screw opposite, whose place is drawn) holds
that row, ``screws-0``, so that a key changed on the way loses nothing.
"""

from __future__ import annotations

import re
from typing import Any, Iterable, Mapping

from shared_models.catalogue.adapters import BUILD_NAMES, LEVELS_OF
from shared_models.catalogue.sheet_form import readable
from shared_models.catalogue.sheets import ALIGNMENT_NAMES, SERVICE_NAMES
from shared_models.checks.as_typed import typed_words
from shared_models.checks.sheet_taking import COMPARED_AGAIN, TORQUES
from shared_models.language import figure_said

#: Sort of row -> its columns in the order of the form.
ROWS: Mapping[str, tuple[str, ...]] = {
    "adjusters": ("name", "function", "unit", "lowest", "highest", "start", "smallest_step", "largest_step", "clockwise"),
    "screws": ("name", "key", "interim_nm", "final_nm", "tolerance_percent", "locking_method",
               "locking_sets_min", "locking_cures_min", "order", "opposes", "note"),
    "caps": ("name", "key", "over"),
    "adapters": ("name", "level", "tilt_limit_deg", "slide_limit_mm"),
    "outlines": ("view", "corners_mm"),
    "circles": ("view", "x_mm", "y_mm", "radius_mm"),
    "places": ("of", "view", "x_mm", "y_mm"),
}
DRAWN = ("outlines", "circles", "places")
PLAIN = ("name", "maker", "version", "device_identifier", "mass_limit_kg", "mass_basis", "lowest_level", "highest_level")
OPTIONAL = {
    "maker", "device_identifier", "locking_sets_min", "locking_cures_min", "order", "opposes", "note",
    "tilt_limit_deg", "slide_limit_mm", *ALIGNMENT_NAMES, *SERVICE_NAMES, *(n for names in BUILD_NAMES.values() for n in names),
}
#: Made of the name where it is left empty.
KEYED = ("screws", "caps")
#: Slot of a sheet -> the sort of row it is, and the column that names it.
SLOTS = {"setting": ("adjusters", "function"), "screw": ("screws", "key"), "cap": ("caps", "key")}
#: Figures that stand together, each under its own name.
GROUPS = ("alignment", "build", "service")
AGAIN = "-again"
_UNITS = ("_mm", "_kg", "_nm", "_min", "_deg", "_percent")
_POSITIONS = frozenset({"lowest", "highest", "start", "smallest_step", "largest_step"})
_LARGEST_NUMBER = 999


def groups_of(part: str, typed: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Return the groups of figures that the form of a part shows: its own, and any that were typed."""
    shown = {"alignment": ALIGNMENT_NAMES, "build": BUILD_NAMES.get(part, ()), "service": SERVICE_NAMES}
    if part != "knee" and not any(typed.get(f"alignment-{n}", "") for n in ALIGNMENT_NAMES):
        del shown["alignment"]
    return {group: names for group, names in shown.items() if names}


def sorts_of(part: str, typed: Mapping[str, str]) -> list[str]:
    """Return the sorts of rows that the form of a part shows: what that part can have, and any that were typed."""
    lacks = ({"adjusters"} if part != "knee" else set()) | (set() if LEVELS_OF.get(part) else {"adapters"})
    return [sort for sort in ROWS if sort not in DRAWN and (sort not in lacks or rows_of(typed, sort))]


def typed_of(body: Mapping[str, Any]) -> dict[str, str]:
    """Return the form of a sheet's body, field by field, amounts as their reader writes them."""
    body = readable(body)
    typed = {name: _shown(body, name) for name in PLAIN} | _agains(body, "", PLAIN)
    typed["cautions"] = "\n".join(map(str, body.get("cautions", ())))
    for group in GROUPS:
        typed |= {f"{group}-{name}": figure_said(str(value)) for name, value in body.get(group, {}).items()}
    rows = rows_in(body)
    at = {f"{slot}/{row.get(column)}": f"{sort}-{number}"
          for slot, (sort, column) in SLOTS.items() for number, row in enumerate(rows[sort])}
    for sort, columns in ROWS.items():
        for number, row in enumerate(rows[sort]):
            before = f"{sort}-{number}-"
            typed |= {before + c: _shown(row, c) for c in columns if c != "over"} | _agains(row, before, columns)
            typed |= {f"{before}over-{at.get(str(place), place)}": "yes" for place in row.get("over", ())}
            for column, slot in (("opposes", f"screw/{row.get('opposes')}"), ("of", str(row.get("of")))):
                if row.get(column):
                    typed[before + column] = at.get(slot, str(row[column]))
    return typed


def rows_in(body: Mapping[str, Any]) -> dict[str, list[Mapping[str, Any]]]:
    """Return the rows of a body by sort, those of its drawing among them."""
    drawing = body.get("drawing") or {}
    return {sort: list((drawing if sort in DRAWN else body).get(sort, ())) for sort in ROWS}


def _shown(row: Mapping[str, Any], column: str) -> str:
    value = row.get(column, "")
    if column == "corners_mm":
        return "\n".join(" ".join(map(str, corner)) for corner in value)
    words = typed_words(row, column)
    figure = figure_said(str(value)) if is_amount(column) else str(value)
    return words or (f"{figure} N·m" if column in TORQUES and value != "" else figure)


def is_amount(column: str) -> bool:
    """Whether a figure of a sheet is an amount: a length, a mass, a torque, a time, an angle, a share, or a position of an adjuster."""
    return column.endswith(_UNITS) or column in _POSITIONS


def _agains(row: Mapping[str, Any], before: str, columns: Iterable[str]) -> dict[str, str]:
    """What was compared again, while the figure is still that one."""
    compared = row.get(COMPARED_AGAIN)
    held = compared if isinstance(compared, Mapping) else {}
    return {f"{before}{c}{AGAIN}": _shown(row, c) for c in columns if c in row and held.get(c) == str(row[c])}


def rows_of(typed: Mapping[str, str], sort: str) -> list[int]:
    """Return the numbers of the rows of a sort that the form has."""
    found = (re.match(rf"{sort}-(\d{{1,3}})-", name, re.ASCII) for name in typed)
    return sorted({int(m[1]) for m in found if m})


def is_empty(typed: Mapping[str, str], sort: str, number: int) -> bool:
    """Whether nothing is written in a row."""
    before = f"{sort}-{number}-"
    return not any(value.strip() for name, value in typed.items() if name.startswith(before))


def with_row(typed: Mapping[str, str], sort: str) -> tuple[dict[str, str], str]:
    """Return the form with an empty row more, and that row; the form as it is where there are as many as can be."""
    number = max(rows_of(typed, sort), default=-1) + 1
    if sort not in ROWS or number > _LARGEST_NUMBER:
        return dict(typed), ""
    row = f"{sort}-{number}"
    return {**typed, **{f"{row}-{column}": "" for column in ROWS[sort] if column != "over"}}, row


def without_row(typed: Mapping[str, str], row: str) -> dict[str, str]:
    """Return the form without a row, what names it emptied and its place in the drawing taken out."""
    drawn = {name.rpartition("-")[0] for name, value in typed.items() if name.startswith("places-") and name.endswith("-of") and value == row}
    gone = tuple(f"{each}-" for each in (row, *drawn))
    kept = {n: v for n, v in typed.items() if not n.startswith(gone) and not n.endswith(f"-over-{row}")}
    return {n: "" if n.endswith("-opposes") and v == row else v for n, v in kept.items()}


def moved_up(typed: Mapping[str, str], row: str) -> dict[str, str]:
    """Return the form with a row and the one before it changed over, and all that names them."""
    sort, _, number = row.partition("-")
    before = [n for n in rows_of(typed, sort) if str(n) != number and n < int(number or 0)] if number.isdigit() else []
    if not before:
        return dict(typed)
    other = f"{sort}-{before[-1]}"
    turned = {row: other, other: row}

    def renamed(name: str) -> str:
        for old, new in turned.items():
            if name.startswith(old + "-"):
                name = new + name[len(old):]
                break
        head, mark, ref = name.rpartition("-over-")
        return f"{head}{mark}{turned.get(ref, ref)}"

    refs = ("-opposes", "-of")
    return {renamed(n): turned.get(v, v) if n.endswith(refs) else v for n, v in typed.items()}


def names_of_rows(typed: Mapping[str, str]) -> dict[str, str]:
    """Return each adjuster, screw and cap of the form with what it is called so far."""
    return {
        f"{sort}-{number}": typed.get(f"{sort}-{number}-name", "").strip()
        for sort, _ in SLOTS.values() for number in rows_of(typed, sort) if not is_empty(typed, sort, number)
    }
